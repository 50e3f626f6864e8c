"""Suggestions at the desk: what is given fits, is up in the free hours, and has guide stars where it says."""

import dataclasses
import json

import numpy as np
import pytest

from sidelight.campaign.suggest import fits_frame, hours_in, rank
from sidelight.desk.demo import DATE
from sidelight.desk.kept import setup_in_use
from sidelight.desk.suggest import fitting_name, suggest_report
from sidelight.desk.suggest_records import SuggestReport
from sidelight.ground import spans
from sidelight.ground.errors import BadInput
from sidelight.ground.plain import to_plain
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.season.night import targets_tonight
from sidelight.season.windows import target_windows
from sidelight.setup.framing import frame_arcs, plane_outlines
from sidelight.targets.names import target_from_name


@pytest.fixture(scope="module")
def as_it_stands(book: Notebook) -> SuggestReport:
    """Return suggestions for the set-up as it stands, every dark hour."""
    return suggest_report(book, DATE, 14, 12, any_hour=True)


def test_every_suggestion_fits_the_frame(book: Notebook, as_it_stands: SuggestReport) -> None:
    """By the exact framing of the set-up room, each object given is in the frame at the camera angle."""
    assert as_it_stands.mode == "set_up"
    assert len(as_it_stands.suggestions) == 12
    for one in as_it_stands.suggestions:
        arcs = frame_arcs(plane_outlines(target_from_name(one.name), book.rig))
        assert spans.arcs_contain(arcs, as_it_stands.camera_angle_deg)


def test_every_guide_star_is_the_solvers_too(book: Notebook, as_it_stands: SuggestReport) -> None:
    """Asked with camera and stem held fixed, the set-up room finds a guide star on the same sides."""
    from sidelight.desk.setup import SetupQuestion, solve_wants
    from sidelight.setup.records import SideNeed, Want

    setup = setup_in_use(book, DATE)
    for one in as_it_stands.suggestions[:5]:
        want = Want(target_from_name(one.name), (SideNeed("east"), SideNeed("west")))
        question = SetupQuestion(DATE, camera_angle_deg=setup.camera_angle_deg, stem_offset_deg=setup.stem_offset_deg)
        best = solve_wants(book, (want,), question).best
        assert best is not None
        lit = {place.side for place in best.places if place.star is not None}
        assert {side for side, _ in one.guide_stars} == lit
        assert one.hours_east == 0 or "east" in lit
        assert one.hours_west == 0 or "west" in lit


def test_free_hours_by_hand(book: Notebook) -> None:
    """Hours shared with free spans, by side, equal those of each night's windows intersected one by one."""
    names = ("NGC 2903", "M 81", "NGC 5907", "NGC 7000")
    targets = [target_from_name(name) for name in names]
    ra, dec = [t.ra_deg for t in targets], [t.dec_deg for t in targets]
    flip = flip_hour_angle_deg(book.rig.mount) or 0.0
    table = target_windows(book.site, ra, dec, DATE, 3, flip)
    night = table.darkness.dark.of(1)
    free = np.array([[night[0, 0] + 0.05, night[0, 0] + 0.2], [night[0, 1] - 0.1, night[0, 1]]])
    east, west = hours_in(table, book.site, ra, dec, free, flip)
    tonight = targets_tonight(book.site, ra, dec, table.dates[1], flip)
    for k, seen in enumerate(tonight):
        both = spans.intersect(seen.windows, free)
        assert east[k] == pytest.approx(spans.total(spans.intersect(both, seen.east_spans)) * 24, abs=0.01)
        assert west[k] == pytest.approx(spans.total(spans.intersect(both, seen.west_spans)) * 24, abs=0.01)


def test_a_fresh_start_asks_for_no_angles(book: Notebook) -> None:
    """No guide stars, a longer span, no object that is a target already; best first."""
    report = suggest_report(book, DATE, count=10, fresh=True)
    assert (report.mode, report.nights_count, report.camera_angle_deg) == ("fresh", 90, None)
    assert {one.name for one in report.suggestions}.isdisjoint({"NGC 2903", "M 96", "M 81"})
    scores = [one.score for one in report.suggestions]
    assert scores == sorted(scores, reverse=True)
    assert json.loads(json.dumps(to_plain(report), allow_nan=False))["suggestions"][0]["hours"] > 1


def test_no_free_hour_is_no_dead_end(book: Notebook) -> None:
    """Where targets fill every night all dark hours count, and the sentence says so."""
    report = suggest_report(book, DATE, 5, 5)
    assert len(report.suggestions) == 5
    assert "none is free" in report.sentence
    assert report.suggestions == suggest_report(book, DATE, 5, 5, any_hour=True).suggestions
    done = tuple(dataclasses.replace(one, hours_wanted_h=0.001) for one in book.targets[:1])
    some = suggest_report(dataclasses.replace(book, targets=done), DATE, 5, 5)
    assert some.free_hours > 0
    assert "none is free" not in some.sentence
    with pytest.raises(BadInput):
        suggest_report(book, DATE, 5, 0)


def test_a_summer_without_darkness_suggests_nothing(book: Notebook) -> None:
    """Where no night gets dark there is no hour, and the sentence says where to look."""
    north = dataclasses.replace(book, site=dataclasses.replace(book.site, latitude_deg=68.0))
    report = suggest_report(north, DATE.replace(month=6, day=15), 5, 5)
    assert (report.suggestions, report.free_hours) == ((), 0.0)
    assert "later date" in report.sentence


def test_the_frame_by_hand() -> None:
    """An ellipse of 30′ by 10′ in a frame of 32′ by 20′: along the long side it fits, across it does not."""
    frame = (32.0, 20.0)
    assert fits_frame(30.0, 10.0, 90.0, 0.0, frame)
    assert not fits_frame(30.0, 10.0, 0.0, 0.0, frame)
    assert fits_frame(30.0, 10.0, 0.0, 90.0, frame)
    assert not fits_frame(30.0, np.nan, 90.0, 0.0, frame)
    assert not fits_frame(np.nan, np.nan, np.nan, 0.0, frame)
    assert rank(10.0, 6.0, 10.0, 18.0) == pytest.approx(0.25)


def test_the_name_that_people_use_leads(book: Notebook) -> None:
    """A Messier object goes by its number, the catalogue's name beside it; star clusters are named, not ranked."""
    report = suggest_report(book, DATE, count=60, fresh=True)
    named = [one for one in report.suggestions if one.messier]
    assert named
    assert all(one.name == one.messier and one.catalogue_name != one.messier for one in named)
    assert not any("cluster" in one.kind.lower() and "nebula" not in one.kind.lower() for one in report.suggestions)
    (about,) = [note for note in report.notes if note.startswith("Star clusters are not ranked")]
    assert "M 13" in about
    assert report.formula.startswith("Bright for your hours, and large in your frame")


@pytest.mark.parametrize(
    ("kind", "names", "chosen"),
    [
        ("G", ("Sculptor Filament", "Silver Coin"), "Silver Coin"),
        ("G", ("Sombrero", "Sombrero Galaxy"), "Sombrero Galaxy"),
        ("HII", ("North America Nebula",), "North America Nebula"),
        ("G", ("Sculptor Filament",), "Sculptor Filament"),
        ("PN", (), None),
    ],
)
def test_a_common_name_says_what_the_object_is(kind: str, names: tuple[str, ...], chosen: str | None) -> None:
    """Of several names the one of the object's kind is taken, and one of something else only for want of another."""
    assert fitting_name(kind, names) == chosen
