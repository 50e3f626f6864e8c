"""Angles on the metal there and back on every kind of telescope, gauges at their edges, footprints as they lie."""

from dataclasses import replace

import numpy as np
import pytest

from sidelight.ground.angles import turn_deg
from sidelight.rig import bench, guider
from sidelight.rig.records import Mount, OffAxisGuider, Rig, Sensor, Telescope, Tolerances

GUIDER = OffAxisGuider(20.0, Sensor(1280, 960, 3.75))
RIG = Rig(Telescope(200, 1600), Sensor(4000, 3000, 3.8), GUIDER)
TELESCOPES = [
    Telescope(100, 600),
    Telescope(200, 1600, mirrors=1),
    Telescope(200, 1600, mirrors=2),
    Telescope(200, 1600, mirrors=3),
    Telescope(200, 1000, mirrors=2, newtonian=True, focuser_position_deg=37.0),
]


@pytest.mark.parametrize("telescope", TELESCOPES, ids=lambda one: f"{one.mirrors} mirrors, newtonian {one.newtonian}")
@pytest.mark.parametrize("mount", [Mount(), Mount(kind="fork")], ids=lambda one: one.kind)
@pytest.mark.parametrize("southern", [False, True])
def test_there_and_back(telescope: Telescope, mount: Mount, southern: bool) -> None:
    """A camera or stem set to the bench angle that was told is read back at the angle that was wanted."""
    rig = replace(RIG, telescope=telescope, mount=mount)
    for wanted in (0.0, 20.0, 133.0, 311.5):
        top = bench.camera_bench_deg(wanted, rig, southern=southern)
        stem = bench.stem_bench_deg(wanted, rig, southern=southern)
        assert abs(float(turn_deg(bench.camera_angle_deg(top, rig, southern=southern), wanted))) < 1e-9
        assert abs(float(turn_deg(bench.guider_angle_deg(stem, rig, southern=southern), wanted))) < 1e-9


def test_bench_directions_on_the_sky() -> None:
    """West of the meridian a German mount's up is east (90°); from there angles go with even mirrors, against odd."""
    for telescope, sense in zip(TELESCOPES[:4], (1, -1, 1, -1), strict=True):
        rig = replace(RIG, telescope=telescope)
        assert float(bench.sky_of_bench_deg(30.0, rig)) == pytest.approx(90 + sense * 30)
        assert float(bench.sky_of_bench_deg(30.0, rig, "east")) == pytest.approx(270 + sense * 30)
    newtonian = replace(RIG, telescope=TELESCOPES[4])
    assert float(bench.sky_of_bench_deg(0.0, newtonian)) == pytest.approx(90 + 37)
    fork = replace(RIG, mount=Mount(kind="fork"))
    assert float(bench.sky_of_bench_deg(30.0, fork)) == pytest.approx(30)
    assert float(bench.sky_of_bench_deg(30.0, fork, southern=True)) == pytest.approx(210)


def test_which_end_of_a_face_is_low() -> None:
    """Just before upright the right end is low, just after it the left one; and half a turn is the same face."""
    assert bench.gauge_reading(89.5).low_end == bench.gauge_reading(269.5).low_end == "right"
    assert bench.gauge_reading(90.5).low_end == bench.gauge_reading(270.5).low_end == "left"


@pytest.mark.parametrize("bench_deg", [0.5, 1.0, 1.7, 2.9, 40.0, 120.0, 179.0])
@pytest.mark.parametrize("focuser_deg", [60.0, 90.0, -75.0])
def test_a_face_lying_is_the_same_from_its_other_end(bench_deg: float, focuser_deg: float) -> None:
    """Turned by half or by whole turns, a face at a Newtonian's focuser reads the same."""
    one = bench.gauge_reading_lying(bench_deg, focuser_deg)
    for turned in (180.0, 360.0, -180.0, -360.0):
        other = bench.gauge_reading_lying(bench_deg + turned, focuser_deg)
        assert other.tilt_deg == pytest.approx(one.tilt_deg, abs=1e-9)
        assert other.low_end == one.low_end


def test_faces_within_a_twentieth_of_a_degree_have_no_low_end() -> None:
    """A gauge shows tenths: 0.04° off level or upright is neither end, 0.06° is one."""
    assert bench.gauge_reading(90.04).low_end == bench.gauge_reading(0.04).low_end == "neither"
    assert bench.gauge_reading(90.06).low_end == "left"
    assert bench.gauge_reading(0.06).low_end == "right"


def test_the_budget_names_its_parts() -> None:
    """Gauge and seat are told apart."""
    budget = bench.bench_budget(replace(RIG, tolerances=Tolerances(gauge_deg=0.2, seat_deg=0.7)))
    assert (budget.gauge_deg, budget.seat_deg) == (0.2, 0.7)


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 200.0])
def test_a_footprint_goes_round_its_rectangle(angle_deg: float) -> None:
    """Corners in order enclose 2 along times 2 across around the sensor's middle, at the stem's position angle."""
    corners = guider.footprint_mm(angle_deg, guider.GuideRectangle(20.0, 1.5, 2.5))
    g = np.radians(angle_deg)
    np.testing.assert_allclose(corners.mean(axis=0), 20.0 * np.array([np.sin(g), np.cos(g)]), atol=1e-12)
    after = np.roll(corners, -1, axis=0)
    area = np.sum(corners[:, 0] * after[:, 1] - after[:, 0] * corners[:, 1]) / 2.0
    assert abs(area) == pytest.approx(3.0 * 5.0)
    sides = np.hypot(*(after - corners).T)
    assert sorted(sides.round(9).tolist()) == [3.0, 3.0, 5.0, 5.0]
    # the two farthest corners out stand at the same distance along the stem
    along = corners @ np.array([np.sin(g), np.cos(g)])
    assert sorted(along.round(9).tolist()) == [18.5, 18.5, 21.5, 21.5]


def test_a_prism_short_along_the_stem_bounds_the_footprint() -> None:
    """Light that misses a face 2.4 mm long reaches no more than 1.2 mm either way."""
    short = replace(RIG, guider=replace(GUIDER, prism_along_mm=2.4), tolerances=Tolerances(0, 0, 0))
    assert guider.usable_rectangle(short).half_along_mm == pytest.approx(1.2)
