"""Which set-ups are named and in which order, from arcs alone: the edge, twins, ranks, frames without stars."""

from dataclasses import replace

import pytest
from tests.strategies.arc_tasks import EVERY, Asked, Rows, arc_task

from sidelight.setup.candidates import rank, resting_setups, share, without_twins
from sidelight.setup.records import Constraints, SetUp

FRAME: Rows = [[10.0, 20.0], [190.0, 200.0]]
STEM: Rows = [[0.0, 4.0], [180.0, 184.0]]
BASE = resting_setups(arc_task([Asked(FRAME, [[14.0, 40.0]]), Asked(EVERY, [[10.0, 60.0]])], STEM))[0]
WORSE: list[dict[str, float | bool]] = [
    {"rings_served": 1, "slack_deg": 90.0},
    {"frames_served": 1, "slack_deg": 90.0},
    {"recommended": False, "slack_deg": 90.0},
    {"doubtful_stars_count": 1, "slack_deg": 90.0},
    {"slack_deg": BASE.slack_deg - 0.2, "largest_shift_arcmin": -1.0},
    {"largest_shift_arcmin": 1.0, "faintest_star_mag": 5.0},
    {"faintest_star_mag": 10.0},
    {"faintest_star_mag": None},
    {"slack_deg": BASE.slack_deg + 0.04, "faintest_star_mag": 9.5},
]


@pytest.mark.parametrize("change", WORSE)
def test_what_ranks_lower(change: dict[str, float | bool]) -> None:
    """Rings count before frames, the tolerance, sound stars, slack as a gauge shows it, shifts and magnitudes."""
    assert BASE.recommended
    assert rank(BASE) < rank(replace(BASE, **change))


@pytest.mark.parametrize("field", ["slack_deg", "frame_slack_deg", "shadow_slack_deg"])
def test_what_is_tight_counts_by_its_tightest(field: str) -> None:
    """Of set-ups without the tolerance the one with the larger least slack is better, whichever slack it is."""
    tight = replace(BASE, recommended=False, slack_deg=0.6, frame_slack_deg=0.7, shadow_slack_deg=0.8)
    assert rank(tight) < rank(replace(tight, **{field: 0.3}))
    assert rank(BASE) < rank(replace(BASE, slack_deg=0.5))
    assert rank(BASE) == rank(replace(BASE, frame_slack_deg=1.5, shadow_slack_deg=2.5))


def served(setups: list[SetUp]) -> list[tuple[int, float]]:
    """Return rings served and slack of set-ups."""
    return [(one.rings_served, round(one.slack_deg, 5)) for one in setups]


def test_the_tolerance_is_kept_where_it_can_be() -> None:
    """Lit at 14 to 40, framed at 10 to 20, the stem at 0 to 4: g = 24 were the best, with 1 degree kept it is 22."""
    best = resting_setups(arc_task([Asked(FRAME, [[14.0, 40.0]])], STEM))[0]
    assert (best.guider_angle_deg, best.camera_angle_deg, best.stem_offset_deg) == pytest.approx((22.0, 19.0, 3.0))
    assert (best.slack_deg, best.frame_slack_deg, best.shadow_slack_deg) == pytest.approx((8.0, 1.0, 1.0))
    assert best.recommended


def test_on_the_edge_where_that_serves_more() -> None:
    """Framed at 10 to 11 only nothing keeps 1 degree: the edge serves, at g = 15; else one ring of two at most."""
    narrow: Rows = [[10.0, 11.0], [190.0, 191.0]]
    assert served(resting_setups(arc_task([Asked(narrow, [[14.0, 40.0]])], STEM))) == [(1, 1.0)]
    both = [Asked(narrow, [[14.0, 40.0]]), Asked(EVERY, [[10.0, 60.0]])]
    assert served(resting_setups(arc_task(both, STEM)))[0] == (2, pytest.approx(1.0, abs=1e-4))
    assert [one for one, _ in served(resting_setups(arc_task(both, STEM)))][1:] == [1]


def test_no_edge_where_it_serves_no_more() -> None:
    """At most two of three rings are lit together, and are with the tolerance: nothing on the edge is named too."""
    asked = [Asked(FRAME, [[14.0, 40.0]], [[14.0, 40.0]]), Asked(EVERY, [[100.0, 130.0]])]
    assert served(resting_setups(arc_task(asked, STEM))) == [(2, 8.0), (1, 15.0)]


def test_as_many_as_asked_for() -> None:
    """Of three arcs of one ring one, two or all are named, with a rotator too."""
    for rotator in (False, True):
        task = arc_task([Asked(EVERY, [[0.0, 20.0], [60.0, 90.0], [120.0, 160.0]])], rotator=rotator)
        found = [served(resting_setups(task, most)) for most in (1, 2, 6)]
        assert found[0] == [(1, pytest.approx(20.0, abs=1e-3))]
        if not rotator:
            assert found[1:] == [[(1, 20.0), (1, 15.0)], [(1, 20.0), (1, 15.0), (1, 10.0)]]


def test_without_any_star_the_frame_is_chosen() -> None:
    """No ring is lit: the camera frames, and the stem stands in the middle of what the shadow leaves."""
    setups = resting_setups(arc_task([Asked(FRAME, [[0.0, 0.0]])], STEM))
    assert served(setups) == [(0, 0.0)]
    assert (setups[0].camera_angle_deg, setups[0].stem_offset_deg) == pytest.approx((15.0, 2.0))
    assert setups[0].frames_served == 1


@pytest.mark.parametrize("rotator", [False, True])
def test_without_a_guider_the_share_is_that_of_frames(rotator: bool) -> None:
    """With a rotator either all fit at some angle each or not; without one it is the part of the circle."""
    fits = arc_task([Asked(FRAME), Asked(EVERY)], rotator=rotator, guided=False)
    assert share(fits) == (1.0 if rotator else pytest.approx(20.0 / 360.0))
    assert share(arc_task([Asked(FRAME), Asked([])], rotator=rotator, guided=False)) == 0.0
    held = arc_task([Asked(FRAME)], STEM, Constraints(camera_angle_deg=15.0), rotator=rotator, guided=False)
    assert share(held) == pytest.approx(0.0, abs=1e-9)


def turned(setup: SetUp, guider_deg: float, camera_deg: float, **change: float) -> SetUp:
    """Return a set-up with every angle turned."""
    targets = tuple(
        replace(
            one,
            guider_angle_deg=((one.guider_angle_deg or 0.0) + guider_deg) % 360.0,
            camera_angle_deg=(one.camera_angle_deg + camera_deg) % 360.0,
        )
        for one in setup.targets
    )
    return replace(setup, targets=targets, **change)


@pytest.mark.parametrize(
    ("guider_deg", "camera_deg", "change", "same"),
    [
        (0.0, 0.0, {}, True),
        (180.0, 180.0, {}, True),
        (180.0, 0.0, {}, True),
        (0.0, 180.0, {}, True),
        (179.9995, 180.0005, {}, True),
        (-180.0, 0.0005, {"slack_deg": BASE.slack_deg + 0.0005, "largest_shift_arcmin": 0.0005}, True),
        (0.0015, 0.0, {}, False),
        (-0.0015, 0.0, {}, False),
        (180.0015, 180.0, {}, False),
        (0.0, 0.0015, {}, False),
        (180.0, 179.9985, {}, False),
        (90.0, 0.0, {}, False),
        (0.0, 90.0, {}, False),
        (0.0, 0.0, {"slack_deg": BASE.slack_deg + 0.002}, False),
        (0.0, 0.0, {"slack_deg": BASE.slack_deg - 0.002}, False),
        (0.0, 0.0, {"largest_shift_arcmin": 0.002}, False),
        (0.0, 0.0, {"rings_served": 1}, False),
        (0.0, 0.0, {"frames_served": 1}, False),
    ],
)
def test_twins(guider_deg: float, camera_deg: float, change: dict[str, float], same: bool) -> None:
    """The same within a thousandth of a degree, or turned by half a turn, is named once, and the first stays."""
    other = turned(BASE, guider_deg, camera_deg, **change)
    assert without_twins([BASE, other]) == ([BASE] if same else [BASE, other])
    assert without_twins([other, BASE]) == ([other] if same else [other, BASE])
    shifted = (
        replace(BASE, largest_shift_arcmin=3.0),
        replace(other, largest_shift_arcmin=other.largest_shift_arcmin + 3),
    )
    assert without_twins(list(shifted)) == ([shifted[0]] if same else list(shifted))
