"""Several catalogues as one: who wins where, what is said, and what is kept on disk."""

from pathlib import Path

import numpy as np
import pytest

from sidelight.ground.angles import separation_deg
from sidelight.stars import cache
from sidelight.stars.catalogue import embedded
from sidelight.stars.merged import MERGED_FILE, MergedCatalogue, catalogue_for, merge
from sidelight.stars.service import Cone, StarTable

RA, DEC = 10.6847, 41.269
HERE = Cone(RA, DEC, 0.5)
MJD_2050 = 51544.5 + 50 * 365.25


def table(ra: list[float], dec: list[float], mag: list[float], pm_dec: float = 0.0) -> StarTable:
    """Return a small table with one proper motion for all."""
    count = len(ra)
    return StarTable(
        np.array(ra), np.array(dec), np.array(mag), np.zeros(count), np.full(count, pm_dec), np.full(count, 2016.0)
    )


def piece(
    stars: StarTable, covers: tuple[Cone, ...] = (HERE,), depth: float = 15.0, name: str = "Deep"
) -> cache.Piece:
    """Return a piece of a catalogue."""
    return cache.Piece(name, f"http://{name}/?", covers, depth, depth, stars)


def deep_copy_of_the_field(shift_arcsec: float = 0.5) -> StarTable:
    """Return the shipped stars of the field, a little shifted, magnitudes changed, and three fainter ones."""
    base = embedded().cone(RA, DEC, 0.5)
    faint = [RA + 0.1, RA + 0.2, RA - 0.1]
    return table(
        [*base.ra_deg, *faint],
        [*(base.dec_deg + shift_arcsec / 3600.0), DEC, DEC + 0.1, DEC - 0.2],
        [*(base.mag + 0.01), 13.0, 13.5, 14.0],
    )


def test_without_pieces_it_is_the_shipped_catalogue(tmp_path: Path) -> None:
    """No folder, an empty one, and one that does not exist give the catalogue that ships."""
    assert catalogue_for(None) is embedded()
    assert catalogue_for(tmp_path) is embedded()
    assert catalogue_for(tmp_path / "none") is embedded()


def test_the_deeper_catalogue_wins_where_it_covers() -> None:
    """Within the cover each star comes once, from the deeper catalogue; outside the shipped ones stand."""
    merged = MergedCatalogue(merge([piece(deep_copy_of_the_field())], embedded()), embedded(), 2016.0)
    stars = merged.cone(RA, DEC, 1.0)
    inside = separation_deg(RA, DEC, stars.ra_deg, stars.dec_deg) < 0.4999
    assert stars.origin is not None
    assert set(stars.origin[inside].tolist()) == {1}
    assert set(stars.origin[~inside].tolist()) == {0}
    assert stars.catalogue_of(int(np.flatnonzero(inside)[0])) == "Deep"
    assert int(inside.sum()) == len(embedded().cone(RA, DEC, 0.4999)) + 3
    assert np.all(np.diff(stars.mag) >= 0)
    assert stars.catalogue == "Deep to 15 mag, elsewhere Tycho-2 (VT)"


def test_depth_is_said_by_place() -> None:
    """Depth is the deep catalogue's where it covers, the shipped one's elsewhere, and the shallowest for a cone."""
    merged = MergedCatalogue(merge([piece(deep_copy_of_the_field())], embedded()), embedded(), 2016.0)
    assert merged.depth_at([RA, RA], [DEC, DEC + 5.0]).tolist() == [15.0, 11.5]
    assert merged.cone(RA, DEC, 0.4).depth_mag == 15.0
    assert merged.cone(RA, DEC, 0.4).catalogue == "Deep to 15 mag"
    assert merged.cone(RA, DEC, 1.0).depth_mag <= 11.5
    assert merged.cone(RA, DEC + 10.0, 0.4).catalogue == embedded().name
    assert merged.covered([RA, RA], [DEC, DEC + 5.0]).tolist() == [True, False]


def test_a_bright_star_that_the_deep_catalogue_lacks_stays() -> None:
    """Deep surveys miss bright stars; those that ship stand in for them."""
    base = embedded().cone(RA, DEC, 0.5)
    only_faint = table([RA], [DEC], [14.0])
    merged = MergedCatalogue(merge([piece(only_faint)], embedded()), embedded(), 2016.0)
    stars = merged.cone(RA, DEC, 0.5)
    assert len(stars) == len(base) + 1
    assert stars.mag[0] == base.mag[0]


def test_a_table_without_coverage_adds_only_what_is_new() -> None:
    """Stars of a table that promises no coverage are added; nothing is replaced, and no depth is claimed."""
    merged = MergedCatalogue(merge([piece(deep_copy_of_the_field(), covers=())], embedded()), embedded(), 2016.0)
    stars = merged.cone(RA, DEC, 0.5)
    assert stars.origin is not None
    assert int(np.sum(stars.origin == 1)) == 3
    assert len(stars) == len(embedded().cone(RA, DEC, 0.5)) + 3
    assert stars.depth_mag <= 11.5
    assert "Deep" in stars.catalogue


def test_overlapping_pieces_count_each_star_once() -> None:
    """Two answers that overlap, and a shallower catalogue beneath, give each star once."""
    stars = deep_copy_of_the_field()
    shallow = piece(deep_copy_of_the_field(1.0), depth=13.0, name="Middle")
    once = MergedCatalogue(merge([piece(stars)], embedded()), embedded(), 2016.0).cone(RA, DEC, 0.45)
    twice = MergedCatalogue(merge([shallow, piece(stars), piece(stars)], embedded()), embedded(), 2016.0)
    np.testing.assert_array_equal(twice.cone(RA, DEC, 0.45).ra_deg, once.ra_deg)
    assert twice.cone(RA, DEC, 0.45).depth_mag == 15.0


def test_two_deep_stars_close_together_both_stay() -> None:
    """A double star that one catalogue resolves is not merged away by the match with itself."""
    double = table([RA, RA], [DEC, DEC + 2.0 / 3600.0], [12.5, 13.0])
    merged = MergedCatalogue(merge([piece(double)], embedded()), embedded(), 2016.0)
    assert len(merged.cone(RA, DEC, 0.002)) == 2


def test_proper_motion_to_the_date(tmp_path: Path) -> None:
    """A star that moves 1 arcsecond a year is 34 arcseconds further north in 2050 than in 2016."""
    cache.save(tmp_path, piece(table([RA], [DEC], [12.5], pm_dec=1000.0)))
    then = catalogue_for(tmp_path, MJD_2050).cone(RA, DEC, 0.02)
    assert len(then) == 1
    assert (then.dec_deg[0] - DEC) * 3600.0 == pytest.approx(34.0, abs=0.01)


def test_a_moving_star_is_matched_where_it_was() -> None:
    """A star that moved since 2000 is recognised as the shipped one at its place of 2000."""
    base = embedded().cone(RA, DEC, 0.5)
    moved = table(
        [float(base.ra_deg[0])], [float(base.dec_deg[0]) + 32.0 / 3600.0], [float(base.mag[0])], pm_dec=2000.0
    )
    merged = MergedCatalogue(merge([piece(moved)], embedded()), embedded(), 2016.0)
    assert len(merged.cone(RA, DEC, 0.5)) == len(base)


def test_faint_limit_and_empty_cones() -> None:
    """The faint limit holds for all catalogues, and a cone without stars is an answer."""
    merged = MergedCatalogue(merge([piece(deep_copy_of_the_field())], embedded()), embedded(), 2016.0)
    assert merged.cone(RA, DEC, 1.0, faint_mag=10.0).mag.max() <= 10.0
    assert len(merged.cone(RA, DEC, 1.0, faint_mag=-5.0)) == 0
    assert len(merged.cone(RA, DEC, 0.0)) == 0


def test_the_merge_is_kept_and_made_again_when_a_file_changes(tmp_path: Path) -> None:
    """A second start reads the merged stars from disk; a new piece makes them anew; a damaged file is no harm."""
    cache.save(tmp_path, piece(table([RA], [DEC], [12.5])))
    first = len(catalogue_for(tmp_path).cone(RA, DEC, 0.3))
    kept = (tmp_path / MERGED_FILE).read_bytes()
    cache.save(tmp_path, piece(table([RA], [DEC + 0.1], [12.6]), covers=(Cone(RA, DEC, 0.6),)))
    assert len(catalogue_for(tmp_path).cone(RA, DEC, 0.3)) == first + 1
    assert (tmp_path / MERGED_FILE).read_bytes() != kept
    (tmp_path / MERGED_FILE).write_bytes(b"PK damaged")
    cache.save(tmp_path, piece(table([RA], [DEC + 0.2], [12.6]), covers=(Cone(RA, DEC, 0.7),)))
    assert len(catalogue_for(tmp_path).cone(RA, DEC, 0.3)) == first + 2


def test_the_match_radius_is_the_persons(tmp_path: Path) -> None:
    """Entries 4 arcsec apart are two stars by a match radius of 2, and one by 6, whatever was kept before."""
    base = embedded().cone(RA, DEC, 0.5)
    beside = table([float(base.ra_deg[0])], [float(base.dec_deg[0]) + 4.0 / 3600.0], [float(base.mag[0])])
    cache.save(tmp_path, piece(beside))
    assert len(catalogue_for(tmp_path, match_arcsec=2.0).cone(RA, DEC, 0.5)) == len(base) + 1
    assert len(catalogue_for(tmp_path, match_arcsec=6.0).cone(RA, DEC, 0.5)) == len(base)
