"""Laws of the rig: there and back, sides of the meridian, the prism's shadow against its definition."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.ground import declinations, right_ascensions
from tests.strategies.rig import position_angles, rigs

from sidelight.ground import spans
from sidelight.ground.angles import turn_deg
from sidelight.rig import bench, guider, mount, optics, shadow
from sidelight.rig.records import Rig

places = st.floats(-60.0, 60.0)


@given(ra0=right_ascensions, dec0=declinations, x=places, y=places, focal=st.floats(300.0, 4000.0))
@settings(max_examples=50, deadline=None)
def test_plane_and_sky_are_inverse(ra0: float, dec0: float, x: float, y: float, focal: float) -> None:
    """From the plane to the sky and back is where one was, the poles included."""
    back = optics.plane_mm(*optics.sky_deg(x, y, ra0, dec0, focal), ra0, dec0, focal)
    np.testing.assert_allclose(np.array(back), [x, y], atol=1e-8)


@given(rig=rigs(), angle=position_angles, southern=st.booleans())
@settings(max_examples=50, deadline=None)
def test_bench_angles_there_and_back(rig: Rig, angle: float, southern: bool) -> None:
    """Guider and camera angles survive the way to the metal and back, on every kind of rig."""
    stem = bench.stem_bench_deg(angle, rig, southern=southern)
    top = bench.camera_bench_deg(angle, rig, southern=southern)
    assert abs(turn_deg(bench.guider_angle_deg(stem, rig, southern=southern), angle)) < 1e-9
    assert abs(turn_deg(bench.camera_angle_deg(top, rig, southern=southern), angle)) < 1e-9


@given(rig=rigs(), bench_deg=position_angles)
@settings(max_examples=50, deadline=None)
def test_the_metal_is_turned_by_half_a_circle_at_the_flip(rig: Rig, bench_deg: float) -> None:
    """What stands at one bench angle differs by 180° on the sky between east and west, and not at all on a fork."""
    east, west = (bench.sky_of_bench_deg(bench_deg, rig, side) for side in ("east", "west"))
    turned = abs(float(turn_deg(west, east)))
    assert turned == pytest.approx(180.0 if rig.mount.flips else 0.0, abs=1e-9)
    assert mount.turn_on_side_deg(rig.mount, "east") == pytest.approx(turned, abs=1e-9)


@given(rig=rigs(), camera=position_angles, stem_offset=position_angles)
@settings(max_examples=50, deadline=None)
def test_camera_and_stem_keep_their_offset_on_the_metal(rig: Rig, camera: float, stem_offset: float) -> None:
    """On the metal the stem stands θ + 180° from the camera's top, in the sense that the mirrors leave."""
    apart = turn_deg(bench.camera_bench_deg(camera, rig), bench.stem_bench_deg(camera + stem_offset, rig))
    sense = -1.0 if rig.telescope.mirrors % 2 else 1.0
    assert abs(turn_deg(apart, sense * (stem_offset + 180.0))) < 1e-9


@given(bench_deg=st.floats(-720, 720))
@settings(max_examples=50, deadline=None)
def test_clock_positions_are_good_to_a_minute(bench_deg: float) -> None:
    """A clock position read back is within a quarter of a degree of the bench angle, and has no hour 0."""
    hours, minutes = (int(part) for part in bench.clock_position(bench_deg).split(":"))
    assert 1 <= hours <= 12
    assert 0 <= minutes < 60
    assert abs(turn_deg(bench.bench_of_clock_deg(hours, minutes), bench_deg)) <= 0.25 + 1e-9


@given(rig=rigs(), angle=position_angles)
@settings(max_examples=50, deadline=None)
def test_the_usable_rectangle_lies_inside_the_footprint(rig: Rig, angle: float) -> None:
    """Tolerances only take away, and the corners of a footprint lie where its coordinates along the stem say."""
    assert rig.guider is not None
    whole, usable = guider.whole_rectangle(rig.guider), guider.usable_rectangle(rig)
    assert usable.half_along_mm <= whole.half_along_mm
    assert usable.half_across_mm <= whole.half_across_mm
    corners = guider.footprint_mm(angle, usable)
    u, v = guider.stem_coordinates_mm(corners[:, 0], corners[:, 1], angle)
    np.testing.assert_allclose(np.abs(u - usable.stem_radius_mm), usable.half_along_mm, atol=1e-9)
    np.testing.assert_allclose(np.abs(v), usable.half_across_mm, atol=1e-9)


def reach_by_cutting(rig: Rig, theta_deg: float) -> float:
    """Return how far the sensor reaches along the stem inside the prism's width, by cutting its rectangle in two."""
    assert rig.guider is not None
    theta = np.radians(theta_deg)
    along, across = np.array([np.sin(theta), np.cos(theta)]), np.array([np.cos(theta), -np.sin(theta)])
    a, h, w = rig.camera.width_mm / 2, rig.camera.height_mm / 2, rig.guider.prism_across_mm / 2
    corners = [np.array(one) for one in ((a, h), (a, -h), (-a, -h), (-a, h))]
    for normal in (across, -across):
        kept = []
        for one, other in zip(corners, [*corners[1:], corners[0]], strict=True):
            here, there = w - one @ normal, w - other @ normal
            kept += [one] if here >= 0 else []
            kept += [one + (other - one) * here / (here - there)] if here * there < 0 else []
        corners = kept
    return max(float(one @ along) for one in corners)


@given(rig=rigs(), theta=position_angles)
@settings(max_examples=50, deadline=None)
def test_the_reach_of_the_sensor_is_that_of_the_cut_rectangle(rig: Rig, theta: float) -> None:
    """The closed form agrees with cutting the sensor's rectangle to the prism's width."""
    assert float(shadow.sensor_reach_mm(theta, rig)) == pytest.approx(reach_by_cutting(rig, theta), abs=1e-9)


@given(rig=rigs())
@settings(max_examples=50, deadline=None)
def test_the_arcs_without_shadow_are_those_of_the_definition(rig: Rig) -> None:
    """The arcs hold exactly the angles at which nothing is shaded, but for those within 1e-7° of an edge."""
    arcs = shadow.shadow_free_arcs(rig)
    theta = np.concatenate([np.arange(0.0, 360.0, 0.37), arcs.ravel() - 1e-6, arcs.ravel() + 1e-6])
    free = shadow.shadow_free(theta, rig)
    away = np.all(np.abs(turn_deg(theta[:, None], arcs.ravel()[None, :])) > 1e-7, axis=1)
    # between 360° and 0° the full circle has no edge, whatever the array's ends say
    away |= spans.total(arcs) >= 360.0
    np.testing.assert_array_equal(spans.arcs_contain(arcs, theta)[away], free[away])


@given(rig=rigs(), theta=position_angles)
@settings(max_examples=50, deadline=None)
def test_shadow_depth_and_loss_start_where_the_free_angles_end(rig: Rig, theta: float) -> None:
    """There is a depth and a loss exactly where there is a shadow; the loss stays a fraction."""
    free = bool(shadow.shadow_free(theta, rig))
    depth, loss = float(shadow.shadow_depth_mm(theta, rig)), float(shadow.shadow_light_loss_fraction(theta, rig))
    assert (depth == 0.0) == free or depth < 1e-12
    assert 0.0 <= loss <= 1.0
    assert (loss == 0.0) or not free
