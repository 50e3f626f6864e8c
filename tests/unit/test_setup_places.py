"""A set-up described at chosen angles: its stars, slacks and frames against right triangles and brute force."""

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.strategies.setup import FewStars, framed_at, scattered, small_rig, want

from sidelight.rig.guide_light import GuideLight, guide_snr
from sidelight.rig.optics import sky_deg
from sidelight.rig.records import Rig
from sidelight.rig.shadow import shadow_free
from sidelight.setup.place import Pose, describe, shifted
from sidelight.setup.records import Constraints, SetUp, Want
from sidelight.setup.solve import ready_task, solve
from sidelight.setup.task import Task, reaches_for
from sidelight.targets.records import Outline

FOCAL_MM, STEM_MM = 1600.0, 18.0
HALF_ALONG_MM, HALF_ACROSS_MM = 976 * 0.00375 / 2, 1304 * 0.00375 / 2
HALF_ARC_DEG = math.degrees(math.asin(HALF_ACROSS_MM / STEM_MM))
ONE, OTHER = (80.0, 30.0), (200.0, -20.0)
RIG = small_rig(focal_mm=FOCAL_MM, stem_radius_mm=STEM_MM)


def star_losing(
    slack_deg: float, mag: float, place: tuple[float, float] = ONE, rho_mm: float = STEM_MM
) -> tuple[float, float, float]:
    """Return (ra, dec, mag) of a star that a west target's sensor at g = 0 loses when g grows by `slack_deg`.

    At a distance of the stem's radius |β| = |q − g| may be asin(h_v/ρ) at most.
    """
    q = math.radians(slack_deg - math.degrees(math.asin(HALF_ACROSS_MM / rho_mm)))
    ra, dec = sky_deg(rho_mm * math.sin(q), rho_mm * math.cos(q), *place, FOCAL_MM)
    return float(ra), float(dec), mag


def catalogue(*stars: tuple[float, float, float]) -> FewStars:
    """Return a catalogue of these stars."""
    return FewStars(*np.array(stars).T)


def task_of(wants: list[Want], stars: FewStars, rig: Rig = RIG, guiding: GuideLight | None = None) -> Task:
    """Make a question ready."""
    return ready_task(rig, wants, reaches_for(rig, wants, stars, guiding), Constraints(), None)


def line(place: tuple[float, float], half_arcmin: float) -> Outline:
    """Return a line through a pointing."""
    return Outline("line", *place, half_arcmin, 0.01, 20.0)


@pytest.mark.parametrize(("tolerance_deg", "mag"), [(0.2, 7.0), (0.5, 8.0), (1.0, 9.0), (10.0, 10.0)])
def test_the_brightest_star_that_stays_long_enough_serves(tolerance_deg: float, mag: float) -> None:
    """Of stars lost after 0.3, 0.6, 3 and 4 degrees, the brightest that stands the tolerance, else the longest.

    The fourth is the faintest, so that it serves only where none stands the tolerance.
    """
    lost_after = {7.0: 0.3, 8.0: 0.6, 9.0: 3.0, 10.0: 4.0}
    stars = catalogue(*(star_losing(slack, one) for one, slack in lost_after.items()))
    rig = replace(RIG, tolerances=replace(RIG.tolerances, angle_deg=tolerance_deg))
    task = task_of([want("one", ONE, sides="west")], stars, rig)
    place = next(one for one in describe(task, [Pose(0.0, 0.0)]).places if one.side == "west")
    assert place.star is not None
    assert place.star.mag == mag
    assert place.star_slack_deg == pytest.approx(lost_after[mag], abs=1e-9)


@pytest.mark.parametrize(("side", "g"), [("west", 0.0), ("east", 180.0)])
@pytest.mark.parametrize(
    ("out_mm", "aside_mm", "edge_mm"),
    [(0.0, 0.0, HALF_ALONG_MM), (1.7, 0.0, 0.13), (0.0, 2.3, 0.145), (-1.2, 0.5, 0.63)],
)
def test_the_edge_of_the_sensor_is_near_within_a_box(
    side: str, g: float, out_mm: float, aside_mm: float, edge_mm: float
) -> None:
    """Place, distance from the nearest edge and whether that is less than a box of 64 px (0.24 mm), west and east."""
    rig = replace(RIG, tolerances=replace(RIG.tolerances, guide_box_px=64.0))
    ra, dec = sky_deg(aside_mm, STEM_MM + out_mm, *ONE, FOCAL_MM)
    task = task_of([want("one", ONE, sides=side)], catalogue((float(ra), float(dec), 9.0)), rig)
    place = next(one for one in describe(task, [Pose(0.0, g)]).places if one.side == side)
    assert place.place_on_sensor_px == pytest.approx((-aside_mm / 0.00375, out_mm / 0.00375), abs=1e-6)
    assert place.edge_distance_px == pytest.approx(edge_mm / 0.00375, abs=1e-6)
    assert place.near_edge is (edge_mm < 64.0 * 0.00375)


def both(slacks_deg: tuple[float, float], guiding: GuideLight | None = None) -> Task:
    """Return the question of two lines with a star each: the first one's 7.5 mag, the second one's 9 mag."""
    wants = [want("one", ONE, line(ONE, 17.0), sides="west"), want("other", OTHER, line(OTHER, 19.0), sides="west")]
    stars = catalogue(star_losing(slacks_deg[0], 7.5), star_losing(slacks_deg[1], 9.0, OTHER))
    return task_of(wants, stars, guiding=guiding)


@pytest.mark.parametrize("slacks_deg", [(2.0, 3.0), (3.0, 2.0)])
def test_a_set_up_is_as_good_as_its_worst(slacks_deg: tuple[float, float]) -> None:
    """Slack and frame are the smallest of two targets', the star the faintest, the signal-to-noise the lowest."""
    light = GuideLight()
    setup = describe(both(slacks_deg, light), [Pose(80.0, 0.0)] * 2)
    assert (setup.rings_served, setup.frames_served) == (2, 2)
    assert setup.slack_deg == pytest.approx(2.0, abs=1e-9)
    assert setup.faintest_star_mag == 9.0
    assert setup.least_snr == pytest.approx(float(guide_snr(9.0, RIG, light)))
    assert setup.least_snr < float(guide_snr(7.5, RIG, light))
    slack = setup.frame_slack_deg
    assert slack == min(one.frame_slack_deg for one in setup.targets)
    assert slack < max(one.frame_slack_deg for one in setup.targets) - 1.0
    wants = [want("one", ONE, line(ONE, 17.0)), want("other", OTHER, line(OTHER, 19.0))]
    for spare_deg, all_framed in ((-0.01, True), (0.01, False)):
        turned = 80.0 + np.array([-1.0, 1.0]) * (slack + spare_deg)
        framed = [framed_at(one.target, place, turned, RIG) for one, place in zip(wants, (ONE, OTHER), strict=True)]
        assert np.all(framed) == all_framed


def slacks_of(setup: SetUp) -> tuple[float, float, float]:
    """Return ring, frame and shadow slack."""
    return setup.slack_deg, setup.frame_slack_deg, setup.shadow_slack_deg


def test_each_slack_alone_can_spoil_a_set_up() -> None:
    """Recommended is what keeps 1 degree on ring, frame and shadow; each is taken below while the others keep it."""
    good = describe(both((3.0, 2.0)), [Pose(80.0, 0.0)] * 2)
    assert good.recommended
    assert min(slacks_of(good)) > 1.0
    frame_from_deg = 80.0 - good.frame_slack_deg
    stems = np.arange(0.0, 90.0, 0.01)
    shadow_from_deg = float(stems[np.argmin(shadow_free(stems, RIG))])
    dot = task_of([want("one", ONE, sides="west")], catalogue(star_losing(3.0, 7.5)))
    for kept_deg in (0.9, 1.1):
        setups = (
            describe(both((3.0, kept_deg)), [Pose(80.0, 0.0)] * 2),
            describe(both((3.0, 2.0)), [Pose(frame_from_deg + kept_deg, 0.0)] * 2),
            describe(dot, [Pose(kept_deg - shadow_from_deg, 0.0)]),
        )
        for number, setup in enumerate(setups):
            slacks = slacks_of(setup)
            assert int(np.argmin(slacks)) == number
            assert slacks[number] == pytest.approx(kept_deg, abs=0.02)
            assert sorted(slacks)[1] > 1.5
            assert setup.recommended is (kept_deg > 1.0)


@pytest.mark.parametrize(("short_deg", "enough"), [(0.0, True), (1.9e-3, True), (2.1e-3, False)])
def test_what_rounding_takes_is_not_missed(short_deg: float, enough: bool) -> None:
    """A slack short of the tolerance by less than what keeping a set-up rounds away, 0.002°, reaches it."""
    task = task_of([want("one", ONE, sides="west")], catalogue(star_losing(1.0, 9.0)))
    setup = describe(task, [Pose(0.0, short_deg)])
    assert setup.slack_deg == pytest.approx(1.0 - short_deg, abs=1e-9)
    assert setup.recommended is enough


def test_no_angle_of_the_stem_is_minus_nothing() -> None:
    """A stem a hair to the left of the picture's top stands at 0, which prints without a sign."""
    task = task_of([want("one", ONE, sides="west")], catalogue(star_losing(3.0, 9.0)))
    stem = describe(task, [Pose(1e-9, 0.0)]).stem_offset_deg
    assert repr(stem) == "0.0"


def test_where_nothing_limits_half_a_turn_is_said() -> None:
    """180 degrees stand for no limit: of the shadow without a guider, of frames of what is too large or tiny."""
    unguided = small_rig(guided=False)
    small = solve(unguided, [want("dot", ONE)], catalogue(star_losing(3.0, 9.0)))
    assert small.best is not None
    assert slacks_of(small.best) == (180.0, 180.0, 180.0)
    assert "at every camera angle" in small.sentence
    huge = task_of([want("huge", ONE, line(ONE, 90.0), sides="west")], catalogue(star_losing(3.0, 9.0)))
    setup = describe(huge, [Pose(0.0, 0.0)])
    assert setup.targets[0].frame_waived
    assert setup.frame_slack_deg == 180.0


@pytest.mark.parametrize("shift_mm", [(3.0, -2.0), (-4.5, 0.0)])
def test_a_shifted_pointing_is_a_pointing(shift_mm: tuple[float, float]) -> None:
    """Stars between the limits, rings and frame about a moved pointing are those of a target that points there."""
    rig = replace(RIG, guide_limit_mag=10.0, guide_bright_mag=7.5)
    stars = FewStars(*scattered(np.random.default_rng(5), ONE, 200, 1.4))
    task = task_of([want("one", ONE, line(ONE, 9.0))], stars, rig)
    there = tuple(float(one) for one in sky_deg(*shift_mm, *ONE, FOCAL_MM))
    moved = want("one", (there[0], there[1]), line(ONE, 9.0))
    aimed = ready_task(rig, [moved], tuple(replace(one, want=moved) for one in task.reaches), Constraints(), None)
    subject, rings = shifted(task, 0, shift_mm)
    expected = aimed.subjects[0]
    assert subject.stars is not None
    assert expected.stars is not None
    assert 20 < len(subject.stars.mag) < 200
    assert subject.stars.mag.min() >= 7.5
    assert subject.stars.mag.max() <= 10.0
    assert subject.pointing_deg == expected.pointing_deg
    for got, wanted in zip(subject.stars, expected.stars, strict=True):
        assert np.array_equal(got, wanted, equal_nan=True)
    assert subject.free_arcs == pytest.approx(expected.free_arcs)
    for got_ring, wanted_ring in zip(rings, aimed.rings, strict=True):
        assert got_ring.side == wanted_ring.side
        assert got_ring.rows == pytest.approx(wanted_ring.rows)
