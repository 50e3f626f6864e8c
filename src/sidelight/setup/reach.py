"""The stars around each target that the guider could catch at some angle, shift or stem radius; looked up once."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.rig.guider import GuideRectangle
from sidelight.rig.optics import plane_mm
from sidelight.setup.records import Want
from sidelight.stars.catalogue import Catalogue, Stars

ARCMIN_PER_RAD = math.degrees(1.0) * 60.0


class StarTable(NamedTuple):
    """Usable stars about one pointing: sky places, magnitudes and places in the focal plane, each (n,)."""

    ra_deg: FloatArray
    dec_deg: FloatArray
    mag: FloatArray
    x_mm: FloatArray
    y_mm: FloatArray


@dataclass(frozen=True)
class Reach:
    """One want with all stars about it, brightest first, as deep as the catalogue goes."""

    want: Want
    stars: Stars
    focal_mm: float

    @property
    def pointing_deg(self) -> tuple[float, float]:
        """The pointing before any shift: ra, dec."""
        return self.want.target.ra_deg, self.want.target.dec_deg

    def usable(
        self, faint_mag: float | None, bright_mag: float | None, pointing_deg: tuple[float, float] | None = None
    ) -> StarTable:
        """Return the stars between the two limits, projected about a pointing (the target's own if None)."""
        stars = self.stars
        start = 0 if bright_mag is None else int(np.searchsorted(stars.mag, bright_mag, side="left"))
        end = len(stars.mag) if faint_mag is None else int(np.searchsorted(stars.mag, faint_mag, side="right"))
        ra, dec, mag = (one[start:end] for one in (stars.ra_deg, stars.dec_deg, stars.mag))
        x_mm, y_mm = plane_mm(ra, dec, *(pointing_deg or self.pointing_deg), self.focal_mm)
        return StarTable(ra, dec, mag, x_mm, y_mm)


def reach_radius_deg(rectangle: GuideRectangle, focal_mm: float, spare_mm: float) -> float:
    """Return the radius of sky that holds every star the rectangle can catch, with `spare_mm` beyond its corner."""
    corner = math.hypot(rectangle.stem_radius_mm + rectangle.half_along_mm, rectangle.half_across_mm)
    return math.degrees(math.atan((max(corner, 0.0) + spare_mm) / focal_mm))


def load_reaches(
    wants: Sequence[Want], catalogue: Catalogue, rectangle: GuideRectangle, focal_mm: float, spare_mm: float
) -> tuple[Reach, ...]:
    """Look up the stars of every want; the only part of a solution that asks the catalogue."""
    radius_deg = reach_radius_deg(rectangle, focal_mm, spare_mm)
    return tuple(
        Reach(want, catalogue.cone(want.target.ra_deg, want.target.dec_deg, radius_deg), focal_mm) for want in wants
    )


def arcmin_to_mm(size_arcmin: float, focal_mm: float) -> float:
    """Return the length in the focal plane of a small angle at its centre."""
    return focal_mm * math.tan(size_arcmin / ARCMIN_PER_RAD)


def mm_to_arcmin(length_mm: float, focal_mm: float) -> float:
    """Return the angle at the field's centre that a length in the focal plane spans."""
    return math.atan(length_mm / focal_mm) * ARCMIN_PER_RAD
