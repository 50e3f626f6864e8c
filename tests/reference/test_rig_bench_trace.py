"""Bench angles against rays: mount, tube, mirrors and focal plane as vectors in space, derived here on their own.

A star is set at a known position angle, its chief ray is followed through the optics of a telescope that hangs on a
mount, and the angle at which it lands is read off by somebody who stands behind. Nothing here uses a bench formula.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelight.ground.angles import turn_deg
from sidelight.rig import bench
from sidelight.rig.records import Mount, Rig, Sensor, Telescope

Vector = np.ndarray
POLE: Vector = np.array([0.0, 0.0, 1.0])
EAST_POINT: Vector = np.array([0.0, 1.0, 0.0])
SENSOR = Sensor(3000, 2000, 4.0)
FOCAL = 1000.0


@dataclass(frozen=True)
class Tube:
    """A telescope in space: where it points, its up (from the dovetail, or from the drive base), its left."""

    ahead: Vector
    up: Vector

    @property
    def left(self) -> Vector:
        """To the left of who stands behind it, head up, and looks ahead."""
        return np.cross(self.up, self.ahead)

    def at(self, bench_deg: float) -> Vector:
        """Return the direction on the back at an angle counter-clockwise from up."""
        angle = np.radians(bench_deg)
        return np.cos(angle) * self.up + np.sin(angle) * self.left


@dataclass(frozen=True)
class Landing:
    """Where a ray ends, and how the person looks at it who reads the bench angle."""

    place: Vector
    looking: Vector
    up: Vector

    @property
    def bench_deg(self) -> float:
        """The angle counter-clockwise from up, as that person sees it."""
        right = np.cross(self.looking, self.up)
        return float(np.degrees(np.arctan2(-self.place @ right, self.place @ self.up)))


def unit(vector: Vector) -> Vector:
    """Return a vector of length one."""
    return vector / np.linalg.norm(vector)


def mirrored(ray: Vector, normal: Vector) -> Vector:
    """Return a direction after a mirror."""
    return ray - 2 * (ray @ unit(normal)) * unit(normal)


def sky_direction(hour_angle_deg: float, dec_deg: float) -> Vector:
    """Return a direction: x to the meridian on the equator, y to the east point, z to the north pole."""
    h, d = np.radians(hour_angle_deg), np.radians(dec_deg)
    return np.array([np.cos(d) * np.cos(h), -np.cos(d) * np.sin(h), np.sin(d)])


def star_at(centre: Vector, angle_deg: float, distance_deg: float) -> Vector:
    """Return a star at a position angle from a centre: north towards the pole, east with the turning sky."""
    north = unit(POLE - (POLE @ centre) * centre)
    east = unit(np.cross(POLE, centre))
    angle, distance = np.radians(angle_deg), np.radians(distance_deg)
    aside = np.cos(angle) * north + np.sin(angle) * east
    return np.cos(distance) * centre + np.sin(distance) * aside


def on_german(target: Vector, side: str) -> Tube:
    """Hang the tube on the end of the declination axis: east of the pier for targets in the west."""
    axis = unit(np.cross(target, POLE))
    tube_is_east = axis @ EAST_POINT > 0
    return Tube(target, axis if tube_is_east == (side == "west") else -axis)


def on_fork(target: Vector, *, southern: bool) -> Tube:
    """Hang the tube between arms that reach from the drive base along the polar axis to the raised pole."""
    along_arms = -POLE if southern else POLE
    return Tube(target, unit(along_arms - (along_arms @ target) * target))


def through_lens(tube: Tube, star: Vector) -> Landing:
    """Follow the ray through a lens's middle to the focal plane, FOCAL behind it."""
    ray = -star
    reach = FOCAL / (ray @ -tube.ahead)
    return Landing(ray * reach + FOCAL * tube.ahead, tube.ahead, tube.up)


def through_cassegrain(tube: Tube, star: Vector) -> Landing:
    """Follow the ray from the primary's vertex to a hyperboloid between two foci and back through the hole."""
    prime, final = 400.0 * tube.ahead, -120.0 * tube.ahead
    apex = 300.0 * tube.ahead
    ray = mirrored(-star, tube.ahead)

    def beyond(length: float) -> float:
        point = ray * length
        foci = np.linalg.norm(point - final) - np.linalg.norm(point - prime)
        return float(foci - (np.linalg.norm(apex - final) - np.linalg.norm(apex - prime)))

    low, high = 200.0, 399.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if beyond(middle) < 0 else (low, middle)
    hit = ray * low
    normal = unit(hit - final) - unit(hit - prime)
    back = mirrored(ray, normal)
    reach = ((final - hit) @ tube.ahead) / (back @ tube.ahead)
    return Landing(hit + back * reach - final, tube.ahead, tube.up)


def through_newtonian(tube: Tube, star: Vector, focuser_deg: float) -> Landing:
    """Follow the ray from the primary's vertex to a flat at 45° and out to the focuser; look in from outside."""
    out = tube.at(focuser_deg)
    ray, flat = mirrored(-star, tube.ahead), 800.0 * tube.ahead
    normal = tube.ahead - out
    hit = ray * ((flat @ normal) / (ray @ normal))
    side = mirrored(ray, normal)
    focus = flat + 200.0 * out
    reach = ((focus - hit) @ out) / (side @ out)
    return Landing(hit + side * reach - focus, -out, tube.ahead)


def through_diagonal(tube: Tube, star: Vector, turned_to_deg: float) -> Landing:
    """Follow the ray through a lens and a star diagonal; look into it, up being where it sends the tube's up side."""
    out = tube.at(turned_to_deg)
    ray, normal = -star, -tube.ahead - out
    flat = -800.0 * tube.ahead
    hit = ray * ((flat @ normal) / (ray @ normal))
    side = mirrored(ray, normal)
    focus = flat + 200.0 * out
    reach = ((focus - hit) @ out) / (side @ out)
    return Landing(hit + side * reach - focus, -out, mirrored(tube.up, normal))


TELESCOPES = {
    "lens": Telescope(100, 1000),
    "cassegrain": Telescope(200, 1600, mirrors=2),
    "newtonian": Telescope(200, 1000, mirrors=2, newtonian=True),
    "diagonal": Telescope(100, 1000, mirrors=1),
}


def land(kind: str, tube: Tube, star: Vector, turned_deg: float) -> Landing:
    """Follow a star through one kind of telescope; turned_deg: the focuser's or the diagonal's place."""
    if kind == "newtonian":
        return through_newtonian(tube, star, turned_deg)
    if kind == "diagonal":
        return through_diagonal(tube, star, turned_deg)
    return through_lens(tube, star) if kind == "lens" else through_cassegrain(tube, star)


angles = st.floats(0.0, 360.0)
targets = st.tuples(st.floats(1.0, 89.0), st.floats(-85.0, 85.0))


def rig_of(kind: str, mount: Mount, turned_deg: float) -> Rig:
    """Return the rig whose telescope is of one kind."""
    telescope = TELESCOPES[kind]
    if telescope.newtonian:
        telescope = replace(telescope, focuser_position_deg=turned_deg)
    return Rig(telescope, SENSOR, mount=mount)


@pytest.mark.parametrize("kind", TELESCOPES)
@pytest.mark.parametrize("side", ["east", "west"])
@given(target=targets, guider_deg=angles, turned_deg=angles)
@settings(max_examples=40, deadline=None)
def test_a_star_lands_on_the_stem_of_a_german_mount(
    kind: str, side: str, target: tuple[float, float], guider_deg: float, turned_deg: float
) -> None:
    """A star at g (west) or g + 180° (east) lands at the stem's bench angle, for targets of either hemisphere."""
    hour_angle, dec = target
    centre = sky_direction(hour_angle if side == "west" else -hour_angle, dec)
    star = star_at(centre, guider_deg + (0.0 if side == "west" else 180.0), 0.5)
    landed = land(kind, on_german(centre, side), star, turned_deg)
    expected = bench.stem_bench_deg(guider_deg, rig_of(kind, Mount(), turned_deg))
    assert abs(turn_deg(landed.bench_deg, expected)) < 1e-6


@pytest.mark.parametrize("kind", TELESCOPES)
@pytest.mark.parametrize("southern", [False, True])
@given(target=targets, guider_deg=angles, turned_deg=angles)
@settings(max_examples=30, deadline=None)
def test_a_star_lands_on_the_stem_of_a_fork(
    kind: str, southern: bool, target: tuple[float, float], guider_deg: float, turned_deg: float
) -> None:
    """On a fork a star at g lands at the stem's bench angle, wherever the fork has turned, at either pole."""
    centre = sky_direction(target[0] * 4 - 180.0, target[1])
    star = star_at(centre, guider_deg, 0.5)
    landed = land(kind, on_fork(centre, southern=southern), star, turned_deg)
    rig = rig_of(kind, Mount(kind="fork"), turned_deg)
    assert abs(turn_deg(landed.bench_deg, bench.stem_bench_deg(guider_deg, rig, southern=southern))) < 1e-6


@pytest.mark.parametrize("kind", TELESCOPES)
@given(target=targets, camera_deg=angles, turned_deg=angles)
@settings(max_examples=30, deadline=None)
def test_what_is_up_in_the_picture_lands_at_the_foot_of_the_camera(
    kind: str, target: tuple[float, float], camera_deg: float, turned_deg: float
) -> None:
    """A star at the camera angle p lands opposite to the camera's top, as a camera shows it upright."""
    centre = sky_direction(*target)
    landed = land(kind, on_german(centre, "west"), star_at(centre, camera_deg, 0.2), turned_deg)
    top = bench.camera_bench_deg(camera_deg, rig_of(kind, Mount(), turned_deg))
    assert abs(turn_deg(landed.bench_deg + 180.0, top)) < 1e-6


@pytest.mark.parametrize("kind", ["lens", "cassegrain"])
def test_the_scale_of_the_trace_is_the_focal_length(kind: str) -> None:
    """A lens puts a star at f tan ρ, and both telescopes put opposite stars on opposite sides."""
    centre = sky_direction(20.0, 30.0)
    tube = on_german(centre, "west")
    one, other = (land(kind, tube, star_at(centre, angle, 0.4), 0.0).place for angle in (70.0, 250.0))
    np.testing.assert_allclose(one, -other, atol=1e-6)
    if kind == "lens":
        assert np.linalg.norm(one) == pytest.approx(FOCAL * np.tan(np.radians(0.4)), rel=1e-9)


@given(bench_deg=angles)
@settings(max_examples=50, deadline=None)
def test_the_gauge_shows_how_a_face_leans_on_a_level_table(bench_deg: float) -> None:
    """With the tube level and up straight up, a face's lean and its low end are those of the vector along it."""
    tube = Tube(ahead=np.array([0.0, 1.0, 0.0]), up=np.array([0.0, 0.0, 1.0]))
    check_gauge(tube.at(bench_deg), -tube.left, bench.gauge_reading(bench_deg))


@given(bench_deg=angles, focuser_deg=angles)
@settings(max_examples=50, deadline=None)
def test_the_gauge_at_a_lying_newtonian(bench_deg: float, focuser_deg: float) -> None:
    """With a Newtonian level on its dovetail, lean and low end are those of the vector, seen by who looks in."""
    tube = Tube(ahead=np.array([0.0, 1.0, 0.0]), up=np.array([0.0, 0.0, 1.0]))
    looking = -tube.at(focuser_deg)
    right = np.cross(looking, tube.ahead)
    angle = np.radians(bench_deg)
    face = np.cos(angle) * tube.ahead - np.sin(angle) * right
    check_gauge(face, right, bench.gauge_reading_lying(bench_deg, focuser_deg))


@pytest.mark.parametrize("southern", [False, True])
@given(bench_deg=angles, latitude_deg=st.floats(1.0, 89.0))
@settings(max_examples=30, deadline=None)
def test_the_gauge_on_a_fork_holds_with_the_tube_level(southern: bool, bench_deg: float, latitude_deg: float) -> None:
    """Level on the meridian, away from the raised pole, a fork's up is the vertical, and the gauge reads as said."""
    latitude = np.radians(-latitude_deg if southern else latitude_deg)
    zenith = np.array([np.cos(latitude), 0.0, np.sin(latitude)])
    north_point = np.array([-np.sin(latitude), 0.0, np.cos(latitude)])
    tube = on_fork(north_point if southern else -north_point, southern=southern)
    np.testing.assert_allclose(tube.up, zenith, atol=1e-9)
    to_table = np.array([EAST_POINT, -north_point, zenith])  # z is the vertical there
    check_gauge(to_table @ tube.at(bench_deg), to_table @ -tube.left, bench.gauge_reading(bench_deg))


def test_the_gauge_on_a_fork_does_not_hold_at_other_altitudes() -> None:
    """Pointing at the equator from 47 degrees north, a face at bench angle 30 leans less than the rule says."""
    latitude = np.radians(47.0)
    zenith = np.array([np.cos(latitude), 0.0, np.sin(latitude)])
    face = on_fork(np.array([1.0, 0.0, 0.0]), southern=False).at(30.0)
    leans_deg = float(np.degrees(np.arcsin(face @ zenith)))
    assert leans_deg < bench.gauge_reading(30.0).tilt_deg - 15.0


def check_gauge(face: Vector, right: Vector, reading: bench.GaugeReading) -> None:
    """Hold a reading against a face's direction in a frame whose z is the vertical."""
    assert reading.tilt_deg == pytest.approx(np.degrees(np.arcsin(min(1.0, abs(face[2])))), abs=1e-6)
    if reading.low_end != "neither":
        low = face if face[2] < 0 else -face
        assert reading.low_end == ("right" if low @ right > 0 else "left")
    else:
        assert reading.tilt_deg < 0.05 or reading.tilt_deg > 89.95
