"""Which objects a set-up can guide on: hours with a guide star on the sensor, and the stars."""

from collections.abc import Iterator

import numpy as np

from sidelight.desk.setup import SetupReport
from sidelight.desk.starlight import guide_catalogue, guide_limits
from sidelight.desk.suggest_records import FreeSky
from sidelight.ground.types import BoolArray, FloatArray
from sidelight.notebook.read import Notebook
from sidelight.rig.guider import stem_coordinates_mm, usable_rectangle
from sidelight.rig.mount import sides, turn_on_side_deg
from sidelight.rig.optics import plane_mm, sky_deg
from sidelight.setup.records import GuideStar, Side

LEAST_HOURS = 1.0
MOST_TRIED = 3000


def served(
    notebook: Notebook,
    setup: SetupReport | None,
    sky: FreeSky,
    order: list[int],
    framing: tuple[BoolArray, FloatArray],
    count: int,
) -> Iterator[tuple[int, tuple[float, float], tuple[tuple[Side, GuideStar], ...]]]:
    """Yield objects with hours (east, west) and guide stars, in order, until there are enough to choose from."""
    fits, angles = framing
    given = 0
    for i in order[:MOST_TRIED]:
        if given >= 2 * count:
            return
        hours: tuple[float, float] = (float(sky.east_h[i]), float(sky.west_h[i]))
        stars: tuple[tuple[Side, GuideStar], ...] = ()
        if setup is not None and notebook.rig.guider is not None:
            tries = [_guided(notebook, setup, sky, i, float(p)) for p in angles[fits[i]]]
            hours, stars = max(tries, key=lambda one: sum(one[0]))
        if sum(hours) >= LEAST_HOURS:
            given += 1
            yield i, hours, stars


def _guided(
    notebook: Notebook, setup: SetupReport, sky: FreeSky, i: int, camera_angle_deg: float
) -> tuple[tuple[float, float], tuple[tuple[Side, GuideStar], ...]]:
    """Return the hours (east, west) in which an object has a guide star in the set-up, and the stars."""
    best = setup.best
    assert best is not None
    stem = best.stem_offset_deg or 0.0
    guider = best.guider_angle_deg if best.guider_angle_deg is not None else camera_angle_deg + stem
    stars: list[tuple[Side, GuideStar]] = []
    for side in sides(notebook.rig.mount):
        star = _guide_star(notebook, sky, i, guider + turn_on_side_deg(notebook.rig.mount, side))
        if star is not None:
            stars.append((side, star))
    lit = {side for side, _ in stars}
    east = float(sky.east_h[i]) if lit & {"east", "any"} else 0.0
    west = float(sky.west_h[i]) if lit & {"west", "any"} else 0.0
    return (east, west), tuple(stars)


def _guide_star(notebook: Notebook, sky: FreeSky, i: int, stands_deg: float) -> GuideStar | None:
    """Return the brightest usable star on the guide sensor that stands at a position angle, None for none."""
    focal = notebook.rig.telescope.effective_focal_length_mm
    rectangle = usable_rectangle(notebook.rig)
    ra, dec = float(sky.table.ra_deg[i]), float(sky.table.dec_deg[i])
    angle = np.radians(stands_deg)
    at = rectangle.stem_radius_mm * np.sin(angle), rectangle.stem_radius_mm * np.cos(angle)
    centre_ra, centre_dec = sky_deg(*at, ra, dec, focal)
    reach = float(np.degrees(np.hypot(rectangle.half_along_mm, rectangle.half_across_mm) / focal)) * 1.01
    faint, bright = guide_limits(notebook)
    found = guide_catalogue(notebook, sky.date).cone(float(centre_ra), float(centre_dec), reach, faint)
    u, v = stem_coordinates_mm(*plane_mm(found.ra_deg, found.dec_deg, ra, dec, focal), stands_deg)
    inside = (np.abs(u - rectangle.stem_radius_mm) <= rectangle.half_along_mm) & (
        np.abs(v) <= rectangle.half_across_mm
    )
    if bright is not None:
        inside &= found.mag >= bright
    if not inside.any():
        return None
    k = int(np.argmax(inside))
    return GuideStar(float(found.ra_deg[k]), float(found.dec_deg[k]), float(found.mag[k]))
