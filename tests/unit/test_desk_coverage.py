"""Partial coverage by deeper stars shows on the dial, and nowhere else."""

from pathlib import Path

import pytest

from sidelight.cards.drawings import dial_picture
from sidelight.desk.demo import DATE
from sidelight.desk.kept import setup_in_use
from sidelight.desk.open import open_notebook
from sidelight.ground import spans
from sidelight.stars.importing import import_stars
from sidelight.stars.service import Cone


def test_shipped_stars_alone_draw_no_dots(garden: Path) -> None:
    """Where nothing is deeper anywhere, a note says it and no ring is dotted."""
    report = setup_in_use(open_notebook(garden), DATE)
    assert all(ring.shallow_arcs_deg == () for ring in report.rings)
    assert "faint stars not known" not in dial_picture(report, "day")


def test_a_cover_to_the_east_leaves_the_west_dotted(garden: Path, tmp_path: Path) -> None:
    """Deeper stars east of the first target: its ring is dotted on the western half, the others all round."""
    book = open_notebook(garden)
    target = book.targets[0]
    table = tmp_path / "deep.csv"
    table.write_text(f"ra,dec,mag\n{target.ra_deg},{target.dec_deg},12.5\n", encoding="utf-8")
    import_stars(table, garden / "stars", covers=[Cone(target.ra_deg + 0.6, target.dec_deg, 0.6)], depth_mag=16.0)
    report = setup_in_use(open_notebook(garden), DATE)
    first = next(r for r in report.rings if (r.target, r.side) == (target.key, "west"))
    assert spans.arcs_contain(first.shallow_arcs_deg, [270.0]).all()
    assert not spans.arcs_contain(first.shallow_arcs_deg, [90.0]).any()
    east = next(r for r in report.rings if (r.target, r.side) == (target.key, "east"))
    assert spans.arcs_contain(east.shallow_arcs_deg, [90.0]).all()
    assert not spans.arcs_contain(east.shallow_arcs_deg, [270.0]).any()
    other = next(r for r in report.rings if r.target != target.key)
    assert spans.total(other.shallow_arcs_deg) == pytest.approx(360.0)
    assert "faint stars not known" in dial_picture(report, "day")
