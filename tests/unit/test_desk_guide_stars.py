"""Guide stars at the desk: the guider's reach, signal-to-noise, what speaks against a star, and refusing it."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sidelight.desk.live import live_dial
from sidelight.desk.setup import Refusal, SetupQuestion, setup_report
from sidelight.desk.starlight import DEFAULT_FAINT_MAG, guide_catalogue, guide_limits, reach_of, stars_folder
from sidelight.light.reach import guider_reach
from sidelight.notebook.read import Notebook
from sidelight.stars import cache
from sidelight.stars.service import Cone, StarTable

DATE = dt.date(2027, 3, 6)


def test_the_reach_holds_until_a_limit_is_typed(book: Notebook) -> None:
    """A typed limit stands; without one the guider's reach is the limit; without a guider the catalogue's depth."""
    assert guide_limits(book) == (12.0, None)
    untyped = replace(book, rig=replace(book.rig, guide_limit_mag=None))
    expected = guider_reach(book.rig, book.light.sky, book.guiding)
    assert guide_limits(untyped)[0] == expected.limit_mag
    report = setup_report(untyped, SetupQuestion(DATE, 5))
    assert report.limit_mag == expected.limit_mag
    assert report.guider is not None
    assert not report.guider.limit_is_typed
    bare = replace(book, rig=replace(book.rig, guider=None, guide_limit_mag=None))
    assert reach_of(bare) is None
    assert guide_limits(bare)[0] == DEFAULT_FAINT_MAG


def test_brighter_stars_have_more_signal(book: Notebook) -> None:
    """Every star on the dial has a signal-to-noise; it falls with magnitude, and is the wanted one at the reach."""
    report = setup_report(book, SetupQuestion(DATE, 5))
    stars = sorted({(arc.star.mag, arc.star.snr) for ring in report.rings for arc in ring.arcs})
    snr = [one for _, one in stars]
    assert all(one is not None and one > report.guider.least_snr for one in snr if report.guider)
    assert snr == sorted(snr, reverse=True)
    assert report.best is not None
    assert report.best.least_snr == min(ring.star.snr for ring in report.rings if ring.star and ring.needed)


def test_a_saturating_star_is_said_avoided_and_refused(book: Notebook) -> None:
    """With long guide exposures bright stars are marked; none is chosen beside a sound one; refused they are gone."""
    long = replace(book, guiding=replace(book.guiding, exposure_s=30.0))
    assert long.guiding.exposure_s == 30.0
    said = setup_report(long, SetupQuestion(DATE, 5))
    marked = [arc.star for ring in said.rings for arc in ring.arcs if "saturates" in arc.star.faults]
    assert marked
    refused = setup_report(long, SetupQuestion(DATE, 5, refuse=("saturating",)))
    left = [arc.star for ring in refused.rings for arc in ring.arcs]
    assert not [star for star in left if "saturates" in star.faults]
    assert max(star.mag for star in marked) <= min(star.mag for star in left)
    by_file = replace(long, guiding=replace(long.guiding, refuse_saturating=True))
    again = setup_report(by_file, SetupQuestion(DATE, 5))
    assert [ring.arcs for ring in again.rings] == [ring.arcs for ring in refused.rings]


def test_what_speaks_against_a_chosen_star_is_said(book: Notebook) -> None:
    """Each needed ring whose chosen star has a fault has its note; the count of them is the set-up's."""
    long = replace(book, guiding=replace(book.guiding, exposure_s=60.0))
    report = setup_report(long, SetupQuestion(DATE, 5))
    assert report.best is not None
    doubtful = [ring for ring in report.rings if ring.needed and ring.star and ring.star.faults]
    assert len(doubtful) == report.best.doubtful_stars_count > 0
    for ring in doubtful:
        assert any(f"guide star of {ring.target} {ring.side}" in note for note in report.notes)


def test_a_star_near_the_edge_is_said(book: Notebook) -> None:
    """Within one guiding box of the sensor's edge a star is marked, its distance given."""
    close = replace(
        book,
        rig=replace(book.rig, tolerances=replace(book.rig.tolerances, pointing_arcmin=0.0, guide_box_px=200.0)),
    )
    report = setup_report(close, SetupQuestion(DATE, 5))
    for ring in report.rings:
        if ring.star is not None:
            assert ring.edge_distance_px is not None
            assert ring.edge_distance_px >= 99.0
            assert ring.near_edge == (ring.edge_distance_px < 200.0)
    near = [ring for ring in report.rings if ring.near_edge and ring.needed]
    assert all(any("from the sensor's edge" in note for note in report.notes) for _ in near)


@pytest.mark.parametrize("refuse", [("saturating",), ("companions",), ("saturating", "companions")])
def test_the_live_dial_offers_what_the_solver_offers(book: Notebook, refuse: tuple[Refusal, ...]) -> None:
    """The stars that the page may put on the guider are the solver's own, with what is refused left out."""
    long = replace(book, guiding=replace(book.guiding, exposure_s=30.0))
    question = SetupQuestion(DATE, 5, refuse=refuse)
    everything, refused = (live_dial(long, replace(question, refuse=one)) for one in ((), refuse))
    report = setup_report(long, question)
    for target in refused.targets:
        offered = {float(target.star_ra_deg[n]) for n in target.usable}
        lit = {
            float(np.round(arc.star.ra_deg, 6))
            for ring in report.rings
            if ring.target == target.target
            for arc in ring.arcs
        }
        assert lit
        assert lit <= offered
    assert sum(len(one.usable) for one in refused.targets) < sum(len(one.usable) for one in everything.targets)


def test_stars_stand_where_they_will_stand_on_the_date(book: Notebook, tmp_path: Path) -> None:
    """A star of 1 arcsecond a year stands 20 arcseconds further north in 2047 than in 2027."""
    here, one = Cone(10.6847, 41.269, 0.5), np.ones(1)
    star = StarTable(10.6847 * one, 41.269 * one, 12.5 * one, 0.0 * one, 1000.0 * one, 2016.0 * one)
    garden = replace(book, folder=tmp_path)
    cache.save(stars_folder(garden), cache.Piece("Deep", "http://deep/?", (here,), 15.0, 15.0, star))
    dec = [
        guide_catalogue(garden, dt.date(year, 3, 6)).cone(10.6847, 41.269, 0.02).dec_deg[0] for year in (2027, 2047)
    ]
    assert (dec[1] - dec[0]) * 3600.0 == pytest.approx(20.0, abs=0.11)
