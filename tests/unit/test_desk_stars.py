"""Deeper stars as a person asks for them: show, import, fetch without a network."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from sidelight.cli.main import sidelight
from sidelight.desk.open import open_notebook
from sidelight.desk.stars import reachable_fields, star_service, stars_report
from sidelight.ground.errors import BadInput
from sidelight.notebook.edit import set_values
from sidelight.stars.service import GAIA_DR3


def test_the_annulus_is_that_of_the_guide_sensor(garden: Path) -> None:
    """Inner and outer radius are those of the sensor's near edge and far corner, by hand, plus room for shifts."""
    field = reachable_fields(open_notebook(garden))[0]
    # stem 19 mm, sensor 1216 x 1936 pixels of 2.9 um across the stem, 1624 mm
    half_along, half_across = 1216 * 0.0029 / 2, 1936 * 0.0029 / 2
    assert field.inner_deg == pytest.approx((19 - half_along) / 1624 * 57.29578, rel=1e-3)
    assert field.outer_deg - 0.25 == pytest.approx(
        ((19 + half_along) ** 2 + half_across**2) ** 0.5 / 1624 * 57.29578, rel=1e-3
    )
    assert [one.name for one in reachable_fields(open_notebook(garden), ["M 51"])][-1] == "M 51"
    with pytest.raises(BadInput, match="There is no object"):
        reachable_fields(open_notebook(garden), ["NGC 99999"])


def test_the_service_keeps_what_is_known_and_takes_what_is_said(garden: Path) -> None:
    """The default address keeps its parameters; pause and patience are the person's; another address is plain."""
    set_values(garden, "stars.toml", {"service.pause_s": 3.0, "service.timeout_s": 7.0})
    service = star_service(open_notebook(garden))
    assert (service.pause_s, service.timeout_s, service.extra) == (3.0, 7.0, GAIA_DR3.extra)
    set_values(garden, "stars.toml", {"service.url": "http://127.0.0.1:9/scs?", "columns.mag": "Vmag"})
    other = star_service(open_notebook(garden))
    assert (other.extra, other.columns.mag, other.epoch_year) == ((), "Vmag", 2000.0)


def test_a_table_that_is_complete_deepens_every_field(garden: Path, tmp_path: Path) -> None:
    """Imported with its depth, a table counts round every target; without it, nowhere."""
    table = tmp_path / "deep.csv"
    table.write_text("RA,Dec,V\n143.0,21.5,13.0\n", encoding="utf-8")
    words = ["stars", "import", str(garden), str(table), "--ra", "RA", "--dec", "Dec", "--mag", "V"]
    assert CliRunner().invoke(sidelight, words).exit_code == 0
    assert stars_report(open_notebook(garden)).fields[0].depth_mag < 12
    assert CliRunner().invoke(sidelight, [*words, "--name", "again", "--complete-to", "14"]).exit_code == 0
    assert all(field.depth_mag == pytest.approx(14.0) for field in stars_report(open_notebook(garden)).fields)


def test_show_answers_programs(garden: Path) -> None:
    """The JSON names catalogue, reach and each target's depth."""
    answer = CliRunner().invoke(sidelight, ["stars", "show", str(garden), "--json"])
    assert answer.exit_code == 0
    got = json.loads(answer.stdout)
    assert {"catalogue", "limit_mag", "wanted_mag", "fields", "sentence"} <= set(got)
    assert len(got["fields"]) == 5


def test_without_a_network_a_file_to_carry(garden: Path) -> None:
    """A service that cannot be reached ends in a plain sentence, exit code 1, and a program for another machine."""
    set_values(garden, "stars.toml", {"service.url": "http://127.0.0.1:9/scs?", "service.timeout_s": 1.0})
    answer = CliRunner().invoke(sidelight, ["stars", "fetch", str(garden), "--limit", "13"])
    assert answer.exception is not None
    assert getattr(answer.exception, "exit_code", None) == 1
    assert "carry to a machine with a network" in str(answer.exception)
    assert (garden / "stars" / "star-errand.py").is_file()
