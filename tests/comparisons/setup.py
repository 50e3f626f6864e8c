"""Set-up: ring arcs, places on the guide sensor and framing beside FITS-WCS pixels."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from tests.comparisons.records import Cases, Comparison, joined
from tests.reference.test_setup_framing import camera_wcs, walked
from tests.reference.test_setup_rings import FIELDS, pixel_test, sensor_wcs
from tests.strategies.setup import scattered, small_rig

from sidelight.rig.guider import GuideRectangle, guider_of, place_on_sensor_px
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import Rig
from sidelight.setup.framing import frame_arcs, plane_outlines
from sidelight.setup.rings import side_arcs, side_turn_deg
from sidelight.targets.records import Outline, Target

SEARCH_DEG = 0.01
STEPS = 26
POINTINGS = [*FIELDS, (45.0, 62.0), (123.0, -61.0), (359.999, 48.0), (83.8, -5.4), (0.001, -85.0), (180.0, 33.0)]
WCS = "FITS-WCS pixels (astropy)"
ROUNDING = "the same geometry by another way: rounding only"


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of the set-up."""
    yield _rings()
    yield _places()
    yield _frames()


def _rings() -> Comparison:
    """Return the ends of arcs against where a star's FITS-WCS pixel leaves the guide sensor, on any side."""
    off, declinations = [], []
    for number, pointing in enumerate(POINTINGS):
        random = np.random.default_rng(1000 + number)
        focal_mm = float(random.uniform(400.0, 3000.0))
        box = GuideRectangle(*random.uniform([14.0, 0.8, 0.8], [28.0, 4.0, 4.0]))
        reach = float(np.degrees(np.arctan((box.stem_radius_mm + 8.0) / focal_mm)))
        stars = np.array(scattered(random, pointing, 40, reach)[:2])
        for side in ("west", "east", "any"):
            rows, which = side_arcs(plane_mm(*stars, *pointing, focal_mm), side, box)
            turn = side_turn_deg(side)
            for (start, end), star in zip(rows + turn, which, strict=True):
                one = stars[:, [star]]
                off += [
                    _leaves_deg(one, pointing, focal_mm, box, edge, sign) for edge, sign in ((start, 1), (end, -1))
                ]
                declinations += [pointing[1]] * 2
    cases, reason = Cases(declination_deg=np.array(declinations)), f"{ROUNDING}, and the search to 10⁻⁹°"
    return Comparison("setup", "bench", "ends of a star's arc", WCS, "°", np.array(off), 1e-6, reason, cases)


def _leaves_deg(
    star: np.ndarray, pointing: tuple[float, float], focal_mm: float, box: GuideRectangle, edge_deg: float, sign: int
) -> float:
    """Return how far inside the arc its end by pixels lies, by halving; a whole step where there is none near."""
    inside, outside = SEARCH_DEG, -SEARCH_DEG
    ends = [pixel_test(star, pointing, focal_mm, edge_deg + sign * at, box)[0] for at in (inside, outside)]
    if ends != [True, False]:
        return 2 * SEARCH_DEG
    for _ in range(STEPS):
        middle = (inside + outside) / 2
        if pixel_test(star, pointing, focal_mm, edge_deg + sign * middle, box)[0]:
            inside = middle
        else:
            outside = middle
    return (inside + outside) / 2


def _places() -> Comparison:
    """Return where stars fall on the guide sensor, either way round, against their FITS-WCS pixels."""
    off, declinations = [], []
    for number, pointing in enumerate(POINTINGS):
        random = np.random.default_rng(2000 + number)
        rig = small_rig(
            focal_mm=float(random.uniform(400.0, 3000.0)), stem_radius_mm=float(random.uniform(14.0, 28.0))
        )
        focal_mm = rig.telescope.effective_focal_length_mm
        reach = float(np.degrees(np.arctan(30.0 / focal_mm)))
        ra, dec = np.array(scattered(random, pointing, 20, reach)[:2])
        stands_deg = float(random.uniform(0, 360))
        wcs = sensor_wcs(pointing, focal_mm, stands_deg, guider_of(rig).stem_radius_mm)
        clockwise, outwards = wcs.wcs_world2pix(ra, dec, 0)
        scale = 0.01 / (guider_of(rig).sensor.pixel_um / 1000.0)
        for long_side, theirs in (("across", (clockwise, outwards)), ("along", (outwards, -clockwise))):
            guider = replace(guider_of(rig), long_side=long_side)
            ours = place_on_sensor_px(*plane_mm(ra, dec, *pointing, focal_mm), stands_deg, guider)
            off.append(np.hypot(ours[0] - theirs[0] * scale, ours[1] - theirs[1] * scale))
            declinations.append(np.full(len(ra), pointing[1]))
    cases = Cases(declination_deg=joined(declinations))
    return Comparison(
        "rig", "bench", "a star's place on the guide sensor", WCS, "px", joined(off), 1e-3, ROUNDING, cases
    )


def _frames() -> Comparison:
    """Return by how much an outline crosses the picture's border at the ends of the camera angles that hold it."""
    off, declinations = [], []
    rig = small_rig()
    for number in range(120):
        random = np.random.default_rng(3000 + number)
        pointing = POINTINGS[number % len(POINTINGS)]
        if abs(pointing[1]) == 90.0:
            continue
        target = Target("target", *pointing, tuple(_outlines(random, pointing)))
        arcs = frame_arcs(plane_outlines(target, rig))
        if not 0.0 < float(np.sum(arcs[:, 1] - arcs[:, 0])) < 360.0:
            continue
        points = [walked(one) for one in target.outlines]
        ra, dec = (np.concatenate([getattr(one, axis).deg for one in points]) for axis in ("ra", "dec"))
        ends = arcs.ravel()
        off += [_sticks_out_arcsec(target, rig, float(p), ra, dec) for p in ends]
        declinations += [pointing[1]] * len(ends)
    reason = (
        "ellipses in the tangent plane at their own centre there, in the pointing's here: 1 part in 10 000 of 30′"
    )
    model, cases = "ends of the camera angles that frame a target", Cases(declination_deg=np.array(declinations))
    remark = "as what an outline sticks out there"
    return Comparison("setup", "bench", model, WCS, "″", np.array(off), 0.2, reason, cases, remark)


def _outlines(random: np.random.Generator, pointing: tuple[float, float]) -> Iterator[Outline]:
    """Yield one to three ellipses about a pointing, some of them without a position angle."""
    places = scattered(random, pointing, int(random.integers(1, 4)), 0.12)
    for number, (ra, dec) in enumerate(zip(*places[:2], strict=True)):
        major = float(random.uniform(4.0, 17.0))
        angle = None if random.random() < 0.2 else float(random.uniform(0, 180))
        if angle is None:
            major = min(major, 8.0)
        yield Outline(
            f"outline {number}", float(ra) % 360.0, float(dec), major, float(random.uniform(0.2, 1.0)) * major, angle
        )


def _sticks_out_arcsec(target: Target, rig: Rig, camera_angle_deg: float, ra: np.ndarray, dec: np.ndarray) -> float:
    """Return how far the outermost point lies beyond the border's inside, negative within, arcseconds."""
    x, y = camera_wcs(target, rig, camera_angle_deg).wcs_world2pix(ra, dec, 1)
    focal_mm, pixel_mm = rig.telescope.effective_focal_length_mm, rig.camera.pixel_um / 1000.0
    border = focal_mm * np.tan(np.radians(rig.tolerances.frame_border_arcmin / 60)) / pixel_mm
    beyond_x = np.max(np.abs(x - (rig.camera.width_px + 1) / 2)) - (rig.camera.width_px / 2 - border)
    beyond_y = np.max(np.abs(y - (rig.camera.height_px + 1) / 2)) - (rig.camera.height_px / 2 - border)
    return float(max(beyond_x, beyond_y) * np.degrees(pixel_mm / focal_mm) * 3600.0)
