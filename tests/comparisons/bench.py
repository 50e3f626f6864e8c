"""Bench: angles beside rays through the optics and vectors, the prism's shadow beside polygons and counted rays."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from tests.comparisons.records import Cases, Comparison, joined
from tests.reference.test_rig_bench_trace import (
    TELESCOPES,
    Tube,
    land,
    on_fork,
    on_german,
    rig_of,
    sky_direction,
    star_at,
)

from sidelight.ground.angles import turn_deg
from sidelight.ground.types import FloatArray
from sidelight.rig import bench, shadow
from sidelight.rig.guide_light import prism_light_fraction
from sidelight.rig.mount import turn_on_side_deg
from sidelight.rig.records import Mount, OffAxisGuider, Rig, Sensor, Telescope

TRACE = "rays traced as vectors through lens, mirrors and diagonal"
ROUNDING = "exact on both ways: rounding only"
RAYS = 1000


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of the bench."""
    yield from _angles()
    yield _gauge()
    yield _pole_of_date()
    yield _shadow_reach()
    yield _light_at_the_prism()


def _angles() -> Iterator[Comparison]:
    """Yield bench angles of stem and camera: German mount on both sides, forks of both hemispheres."""
    random = np.random.default_rng(5)
    stem, camera, declinations = [], [], []
    for kind in TELESCOPES:
        for _ in range(40):
            hour_angle, dec = float(random.uniform(1, 89)), float(random.uniform(-89, 89))
            guider, turned = random.uniform(0, 360, 2).tolist()
            rig = rig_of(kind, Mount(), turned)
            for side in ("east", "west"):
                centre = sky_direction(hour_angle if side == "west" else -hour_angle, dec)
                star = star_at(centre, guider + turn_on_side_deg(Mount(), side), 0.5)
                landed = land(kind, on_german(centre, side), star, turned).bench_deg
                stem.append(turn_deg(landed, bench.stem_bench_deg(guider, rig)))
                camera.append(turn_deg(landed + 180.0, bench.camera_bench_deg(guider, rig)))
            fork = rig_of(kind, Mount(kind="fork"), turned)
            for southern in (False, True):
                centre = sky_direction(hour_angle * 4 - 180.0, dec)
                landed = land(
                    kind, on_fork(centre, southern=southern), star_at(centre, guider, 0.5), turned
                ).bench_deg
                stem.append(turn_deg(landed, bench.stem_bench_deg(guider, fork, southern=southern)))
                camera.append(turn_deg(landed + 180.0, bench.camera_bench_deg(guider, fork, southern=southern)))
            declinations.append(dec)
    cases = Cases(declination_deg=np.array(declinations))
    remark = "German mount on both sides, forks of both hemispheres"
    for model, off in (("stem's bench angle", stem), ("camera's bench angle", camera)):
        yield Comparison("rig", "bench", model, TRACE, "°", joined(off), 1e-6, ROUNDING, cases, remark)


def _gauge() -> Comparison:
    """Return what the gauge shows on a face, upright and at a lying Newtonian's focuser, against its vector."""
    random = np.random.default_rng(6)
    tube, off = Tube(ahead=np.array([0.0, 1.0, 0.0]), up=np.array([0.0, 0.0, 1.0])), []
    for angle, focuser in random.uniform(0, 360, (200, 2)).tolist():
        off.append(bench.gauge_reading(angle).tilt_deg - _tilt_deg(tube.at(angle)))
        right = np.cross(-tube.at(focuser), tube.ahead)
        face = np.cos(np.radians(angle)) * tube.ahead - np.sin(np.radians(angle)) * right
        off.append(bench.gauge_reading_lying(angle, focuser).tilt_deg - _tilt_deg(face))
    return Comparison(
        "rig", "bench", "what the angle gauge shows", "vectors in space", "°", joined(off), 1e-6, ROUNDING
    )


def _tilt_deg(face: np.ndarray) -> float:
    """Return how far a face leans from level."""
    return float(np.degrees(np.arcsin(min(1.0, abs(face[2])))))


def _pole_of_date() -> Comparison:
    """Return the turn of position angles between J2000 and a year's pole."""
    from astropy import units as u
    from astropy.coordinates import FK5, SkyCoord
    from astropy.time import Time

    random = np.random.default_rng(7)
    off, declinations, times = [], [], []
    for year in np.linspace(2000.0, 2050.0, 11):
        ra, dec = random.uniform(0, 360, 40), random.uniform(-85, 85, 40)
        equinox = Time(year, format="jyear")
        pole = SkyCoord(0.0 * u.deg, 90.0 * u.deg, frame=FK5(equinox=equinox)).icrs
        theirs = -SkyCoord(ra * u.deg, dec * u.deg).position_angle(pole).deg
        off.append(turn_deg(theirs, bench.pole_of_date_turn_deg(ra, dec, year - 2000.0)))
        declinations.append(dec)
        times.append(equinox.mjd)
    cases = Cases(declination_deg=joined(declinations), mjd=np.array(times))
    reason = "the frames' tie of 0.023″ over the cosine of 85°"
    model = "turn of position angles since J2000"
    return Comparison("rig", "bench", model, "astropy, precession of FK5", "°", joined(off), 1e-4, reason, cases)


def _rigs(random: np.random.Generator, count: int) -> Iterator[Rig]:
    """Yield rigs of many sizes."""
    for _ in range(count):
        width, height = random.integers(1000, 6000, 2).tolist()
        telescope = Telescope(float(random.uniform(60, 300)), float(random.uniform(300, 2500)))
        along, across = random.uniform(4, 16, 2).tolist()
        guider = OffAxisGuider(
            float(random.uniform(14, 30)),
            Sensor(1280, 960, 3.75),
            prism_along_mm=along,
            prism_across_mm=across,
            prism_distance_mm=float(random.uniform(15, 80)),
        )
        yield Rig(telescope, Sensor(width, height, 4.0), guider)


def _shadow_reach() -> Comparison:
    """Return how far the camera's sensor reaches towards the prism, against the sensor cut to the prism's width."""
    random, off = np.random.default_rng(8), []
    for rig in _rigs(random, 100):
        assert rig.guider is not None
        for offset_deg in random.uniform(0, 360, 8):
            theirs = _farthest_mm(rig, float(offset_deg), rig.guider.prism_across_mm / 2)
            off.append(float(shadow.sensor_reach_mm(offset_deg, rig)) - theirs)
    model, reference = "how far the sensor reaches towards the prism", "the sensor's polygon cut to the prism's width"
    return Comparison("rig", "bench", model, reference, "mm", np.array(off), 1e-6, ROUNDING)


def _farthest_mm(rig: Rig, offset_deg: float, half_width_mm: float) -> float:
    """Return the farthest point along the stem of the sensor's polygon between the lines along the prism's sides."""
    a, h = rig.camera.width_mm / 2, rig.camera.height_mm / 2
    corners = np.array([[a, h], [-a, h], [-a, -h], [a, -h]])
    theta = np.radians(offset_deg)
    stem, across = np.array([np.sin(theta), np.cos(theta)]), np.array([np.cos(theta), -np.sin(theta)])
    for direction in (across, -across):
        corners = _cut(corners, direction, half_width_mm)
    return float(np.max(corners @ stem))


def _cut(polygon: np.ndarray, direction: np.ndarray, limit: float) -> np.ndarray:
    """Return the part of a polygon that reaches no further than a limit along a direction (Sutherland & Hodgman)."""
    kept = []
    for one, following in zip(polygon, np.roll(polygon, -1, axis=0), strict=True):
        here, there = one @ direction - limit, following @ direction - limit
        if here <= 0:
            kept.append(one)
        if (here < 0) != (there < 0) and here != there:
            kept.append(one + (following - one) * here / (here - there))
    return np.array(kept)


def _light_at_the_prism() -> Comparison:
    """Return the light that the prism takes of the worst point, and gives to the guide sensor, by counted rays."""
    middles = (np.arange(RAYS) + 0.5) / RAYS * 2.0 - 1.0
    # askew, so that no edge runs along a row of rays
    x, y = np.einsum(
        "ij,jkl->ikl", [[np.cos(0.5), -np.sin(0.5)], [np.sin(0.5), np.cos(0.5)]], np.meshgrid(middles, middles)
    )
    beam = np.hypot(x, y) <= 1.0
    random, off = np.random.default_rng(9), []
    for rig in _rigs(random, 25):
        assert rig.guider is not None
        radius = shadow.beam_radius_mm(rig)
        caught = (np.abs(x) * radius <= rig.guider.prism_across_mm / 2) & (
            np.abs(y) * radius <= rig.guider.prism_along_mm / 2
        )
        off.append(prism_light_fraction(rig) - _share(caught, beam))
        narrow = replace(rig, guider=replace(rig.guider, stem_radius_mm=float(random.uniform(12, 18))))
        offset_deg = float(random.uniform(0, 360))
        cut = 1.0 - float(shadow.shadow_depth_mm(offset_deg, narrow)) / radius
        off.append(float(shadow.shadow_light_loss_fraction(offset_deg, narrow)) - _share(y >= cut, beam))
    model, reference = (
        "light that the prism catches, and takes from the picture",
        "a million rays of the beam, counted",
    )
    reason = "counting in a grid of 500 rays to the beam's radius is good to 0.1 % of it"
    return Comparison("rig", "bench", model, reference, "%", 100.0 * np.array(off), 0.1, reason)


def _share(which: np.ndarray, beam: np.ndarray) -> FloatArray:
    """Return the share of a beam's rays."""
    return np.sum(which & beam) / np.sum(beam)
