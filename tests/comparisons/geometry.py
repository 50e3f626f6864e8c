"""Geometry: ring arcs beside FITS-WCS pixels, bench angles beside rays through the optics."""

from collections.abc import Iterator

import numpy as np
from tests.comparisons.records import Comparison
from tests.reference.test_rig_bench_trace import (
    TELESCOPES,
    land,
    on_fork,
    on_german,
    rig_of,
    sky_direction,
    star_at,
)
from tests.reference.test_setup_rings import FIELDS, pixel_test
from tests.strategies.setup import scattered

from sidelight.ground.angles import turn_deg
from sidelight.rig import bench
from sidelight.rig.guider import GuideRectangle
from sidelight.rig.mount import turn_on_side_deg
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import Mount
from sidelight.setup.rings import side_arcs

SEARCH_DEG = 0.01
STEPS = 20


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of geometry."""
    yield _rings()
    yield _bench()


def _rings() -> Comparison:
    """Return the ends of arcs against where a star's FITS-WCS pixel leaves the guide sensor."""
    off = []
    for field, pointing in enumerate(FIELDS):
        random = np.random.default_rng(1000 + field)
        focal_mm = float(random.uniform(400.0, 3000.0))
        box = GuideRectangle(*random.uniform([14.0, 0.8, 0.8], [28.0, 4.0, 4.0]))
        reach = float(np.degrees(np.arctan((box.stem_radius_mm + 8.0) / focal_mm)))
        stars = np.array(scattered(random, pointing, 20, reach)[:2])
        rows, which = side_arcs(plane_mm(*stars, *pointing, focal_mm), "west", box)
        for (start, end), star in zip(rows, which, strict=True):
            one = stars[:, [star]]
            off += [_leaves_deg(one, pointing, focal_mm, box, edge, sign) for edge, sign in ((start, 1), (end, -1))]
    return Comparison("setup", "ends of a star's arc", "FITS-WCS pixels (astropy)", "°", np.array(off), 0.01)


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


def _bench() -> Comparison:
    """Return the stem's bench angle against where a star's ray lands."""
    random = np.random.default_rng(5)
    off = []
    for kind in TELESCOPES:
        for _ in range(40):
            hour_angle, dec = float(random.uniform(1, 89)), float(random.uniform(-85, 85))
            guider, turned = random.uniform(0, 360, 2).tolist()
            for side in ("east", "west"):
                centre = sky_direction(hour_angle if side == "west" else -hour_angle, dec)
                star = star_at(centre, guider + turn_on_side_deg(Mount(), side), 0.5)
                landed = land(kind, on_german(centre, side), star, turned)
                off.append(turn_deg(landed.bench_deg, bench.stem_bench_deg(guider, rig_of(kind, Mount(), turned))))
            centre = sky_direction(hour_angle * 4 - 180.0, dec)
            landed = land(kind, on_fork(centre, southern=False), star_at(centre, guider, 0.5), turned)
            rig = rig_of(kind, Mount(kind="fork"), turned)
            off.append(turn_deg(landed.bench_deg, bench.stem_bench_deg(guider, rig)))
    reference = "rays traced as vectors through lens, mirrors and diagonal"
    return Comparison("rig", "stem's bench angle", reference, "°", np.array(off, dtype=np.float64), 1e-6)
