"""What is wrong with a rig is said with its key; what is right passes."""

from dataclasses import replace

import numpy as np
import pytest

from sidelight.ground.errors import BadInput
from sidelight.rig import bench, guider, mount, optics, shadow
from sidelight.rig.check import check_rig, rig_doubts
from sidelight.rig.records import Mount, OffAxisGuider, Rig, Sensor, Telescope, Tolerances

GOOD = Rig(Telescope(200, 1600, mirrors=2), Sensor(4000, 3000, 3.8), OffAxisGuider(20.0, Sensor(1280, 960, 3.75)))
UNGUIDED = replace(GOOD, guider=None)


def keys(rig: Rig) -> list[str | None]:
    """Return the keys of a rig's problems."""
    return [problem.key for problem in check_rig(rig)]


def guided(**changes: object) -> Rig:
    """Return the good rig with a changed guider."""
    assert GOOD.guider is not None
    return replace(GOOD, guider=replace(GOOD.guider, **changes))  # type: ignore[arg-type]


def test_a_good_rig_has_no_problem() -> None:
    """A common rig passes, with and without a guider, and raises no doubt."""
    assert check_rig(GOOD) == ()
    assert check_rig(UNGUIDED) == ()
    assert rig_doubts(GOOD) == ()


@pytest.mark.parametrize(
    ("rig", "key"),
    [
        (replace(GOOD, camera=Sensor(0, 3000, 3.8)), "camera.width_px"),
        (replace(GOOD, camera=Sensor(4000, 3000, 0.0)), "camera.pixel_um"),
        (replace(GOOD, camera=Sensor(4000, 3000, 3.8, quantum_efficiency=80.0)), "camera.quantum_efficiency"),
        (replace(GOOD, camera=Sensor(4000, 3000, 3.8, read_noise_e=-1.0)), "camera.read_noise_e"),
        (guided(sensor=Sensor(1280, 0, 3.75)), "guider.sensor.height_px"),
        (guided(stem_radius_mm=0.0), "guider.stem_radius_mm"),
        (guided(stem_radius_mm=float("nan")), "guider.stem_radius_mm"),
        (guided(stem_radius_mm=7.0), "guider.stem_radius_mm"),
        (guided(prism_along_mm=0.0), "guider.prism_along_mm"),
        (guided(long_side="upright"), "guider.long_side"),
        (replace(GOOD, telescope=Telescope(200, float("inf"))), "telescope.focal_length_mm"),
        (replace(GOOD, telescope=Telescope(200, 1600, mirrors=-1)), "telescope.mirrors"),
        (replace(GOOD, telescope=Telescope(200, 1600, obstruction_mm=200)), "telescope.obstruction_mm"),
        (replace(GOOD, telescope=Telescope(200, 1000, newtonian=True, mirrors=1)), "telescope.mirrors"),
        (replace(GOOD, mount=Mount(flip_past_meridian_min=1e9)), "mount.flip_past_meridian_min"),
        (replace(GOOD, mount=Mount(kind="dobson")), "mount.kind"),  # type: ignore[arg-type]
        (replace(GOOD, tolerances=Tolerances(guide_box_px=2000.0)), "tolerances.guide_box_px"),
        (replace(GOOD, tolerances=Tolerances(frame_border_arcmin=60.0)), "tolerances.frame_border_arcmin"),
        (replace(GOOD, tolerances=Tolerances(angle_deg=float("nan"))), "tolerances.angle_deg"),
        (replace(GOOD, guide_limit_mag=9.0, guide_bright_mag=10.0), "guide_bright_mag"),
    ],
)
def test_each_mistake_is_named_by_its_key(rig: Rig, key: str) -> None:
    """One mistake gives one problem, with its key and with what is expected."""
    assert keys(rig) == [key]
    assert check_rig(rig)[0].expected


def test_whole_numbers_must_be_whole() -> None:
    """Half a pixel, a text and a truth value are no pixel counts."""
    for value in (1000.5, "1000", True):
        assert keys(replace(GOOD, camera=Sensor(value, 3000, 3.8))) == ["camera.width_px"]  # type: ignore[arg-type]


def test_many_mistakes_are_reported_at_once() -> None:
    """Mistakes in telescope, camera and guider come together."""
    bad = replace(GOOD, telescope=Telescope(0, 1600), camera=Sensor(0, 0, 3.8))
    assert keys(bad) == ["telescope.aperture_mm", "camera.width_px", "camera.height_px"]


def test_a_stem_off_the_long_side_may_stand_nearer_than_off_the_short_one() -> None:
    """A radius inside half the longer side passes while the shorter side leaves room."""
    long_camera = replace(guided(stem_radius_mm=14.0), camera=Sensor(9000, 3000, 3.8))
    assert check_rig(long_camera) == ()
    assert check_rig(replace(long_camera, camera=Sensor(9000, 9000, 3.8)))[0].key == "guider.stem_radius_mm"


def test_doubts_are_sentences() -> None:
    """Centimetres for millimetres, a huge pixel and a prism that always shades raise doubts, not problems."""
    odd = replace(GOOD, telescope=Telescope(20, 1600), camera=Sensor(4000, 3000, 3.8))
    assert any("focal ratio" in doubt for doubt in rig_doubts(odd))
    assert any("pixel covers" in doubt for doubt in rig_doubts(replace(GOOD, telescope=Telescope(10, 30))))
    assert any("every stem offset" in doubt for doubt in rig_doubts(guided(stem_radius_mm=10.5)))
    assert any("from the axis" in doubt for doubt in rig_doubts(guided(stem_radius_mm=45.0)))


def test_tolerances_come_off_each_side() -> None:
    """Half the box, the pointing error and the edge come off each side; the width lies across the stem."""
    rig = replace(GOOD, tolerances=Tolerances(guide_box_px=40, pointing_arcmin=1.0, guide_edge_mm=0.1))
    lost = 20 * 0.00375 + 1600 * np.tan(np.radians(1 / 60)) + 0.1
    usable = guider.usable_rectangle(rig)
    assert usable.half_along_mm == pytest.approx(960 * 0.00375 / 2 - lost)
    assert usable.half_across_mm == pytest.approx(1280 * 0.00375 / 2 - lost)
    assert usable.stem_radius_mm == 20.0


def test_the_sensor_can_lie_along_the_stem() -> None:
    """With the width along the stem the half-sizes change places."""
    across, along = (guider.usable_rectangle(guided(long_side=side)) for side in ("across", "along"))
    assert (across.half_along_mm, across.half_across_mm) == (along.half_across_mm, along.half_along_mm)


def test_a_small_prism_bounds_the_footprint() -> None:
    """Light that misses the prism's face reaches no guide sensor."""
    rig = replace(guided(prism_across_mm=3.0), tolerances=Tolerances(guide_box_px=0, pointing_arcmin=0))
    assert guider.usable_rectangle(rig).half_across_mm == pytest.approx(1.5)


def test_a_rig_without_guider_says_so() -> None:
    """Guide questions to a rig without a guider are refused with what to do; its stem never shades."""
    with pytest.raises(BadInput, match="no off-axis guider"):
        guider.usable_rectangle(UNGUIDED)
    with pytest.raises(BadInput, match="no off-axis guider"):
        bench.bench_budget(UNGUIDED)
    assert shadow.shadow_free_arcs(UNGUIDED).tolist() == [[0.0, 360.0]]
    assert bool(shadow.shadow_free(33.0, UNGUIDED))
    assert float(shadow.shadow_depth_mm(33.0, UNGUIDED)) == 0.0


def test_the_flip_in_degrees() -> None:
    """Ten minutes past the meridian are 2.5° of hour angle; a fork never flips and has one side."""
    assert mount.flip_hour_angle_deg(Mount(flip_past_meridian_min=10)) == 2.5
    assert mount.flip_hour_angle_deg(Mount(kind="fork")) is None
    assert mount.sides(Mount(kind="fork")) == ("any",)
    assert mount.sides(Mount()) == ("east", "west")


def test_the_stem_of_a_german_mount_stands_a_quarter_on() -> None:
    """West, even mirrors: the stem at g + 90°, the camera's top at p − 90°, its width at p (mod 180)."""
    assert float(bench.stem_bench_deg(300.0, GOOD)) == pytest.approx(30.0)
    assert float(bench.camera_bench_deg(300.0, GOOD)) == pytest.approx(210.0)
    assert float(bench.camera_width_bench_deg(300.0, GOOD)) == pytest.approx(120.0)


@pytest.mark.parametrize(
    ("bench_deg", "clock"), [(0, "12:00"), (-90, "3:00"), (90, "9:00"), (45, "10:30"), (0.2, "12:00")]
)
def test_clock_positions(bench_deg: float, clock: str) -> None:
    """Bench angles run counter-clockwise, clocks do not; what rounds to twelve is twelve."""
    assert bench.clock_position(bench_deg) == clock


@pytest.mark.parametrize(
    ("bench_deg", "tilt", "low"),
    [(0, 90, "neither"), (90, 0, "neither"), (60, 30, "right"), (120, 30, "left"), (240, 30, "right")],
)
def test_gauge_readings(bench_deg: float, tilt: float, low: str) -> None:
    """A face reads |90° − (b mod 180)|; its lower end is to the right up to 90°, then to the left."""
    reading = bench.gauge_reading(bench_deg)
    assert reading.tilt_deg == pytest.approx(tilt)
    assert reading.low_end == low


def test_a_gauge_tells_nothing_at_a_focuser_that_points_up() -> None:
    """On a lying Newtonian whose focuser points straight up every face is level."""
    assert bench.gauge_reading_lying(37.0, 0.0) == bench.GaugeReading(0.0, "neither")


def test_what_gauge_seat_and_pointing_use_up() -> None:
    """The budget adds the three as squares; pointing is the error's arc at the stem's radius."""
    budget = bench.bench_budget(GOOD)
    pointing = np.degrees(np.arctan(1600 * np.tan(np.radians(0.5 / 60)) / 20.0))
    assert budget.pointing_deg == pytest.approx(pointing)
    assert budget.total_deg == pytest.approx(np.sqrt(0.1**2 + 0.5**2 + pointing**2))


def test_what_lies_behind_never_falls_on_the_plane() -> None:
    """A direction 90° or more from the pointing is infinitely far, without a warning."""
    x, y = optics.plane_mm([10.0, 180.0, 90.0], [0.0, 0.0, 0.0], 0.0, 0.0, 1000.0)
    assert np.isfinite(x[0])
    assert np.all(np.isinf(x[1:]))
    assert np.all(np.isinf(y[1:]))


def test_mirrored_guide_pictures_turn_the_axis_across_the_stem() -> None:
    """The prism's reflection leaves the way outwards and turns the other axis about."""
    guide = GOOD.guider
    assert guide is not None
    plain, turned = (guider.place_on_sensor(1.0, 21.0, 0.0, guide, mirrored=one) for one in (False, True))
    assert plain[1] == turned[1] == pytest.approx(1.0)
    assert float(plain[0]) == pytest.approx(-1.0)
    assert float(turned[0]) == pytest.approx(1.0)
