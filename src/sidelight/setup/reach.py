"""The stars around each target that the guider could catch at some angle, shift or stem radius; looked up once."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.rig.guide_light import GuideLight, judge_guide_stars
from sidelight.rig.guider import GuideRectangle
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import Rig
from sidelight.setup.records import GuideStar, StarFault, Want
from sidelight.stars.cone import Catalogue, Stars

ARCMIN_PER_RAD = math.degrees(1.0) * 60.0


FAULTS: tuple[StarFault, ...] = ("too_faint", "saturates", "companion", "in_outline")
"""What may speak against a star, in the order of the bits of `StarTable.faults`."""


class StarTable(NamedTuple):
    """Usable stars about one pointing: sky places, magnitudes and places in the focal plane, each (n,).

    snr : signal-to-noise in one guide exposure, NaN when nobody judged. faults : bits, see `FAULTS`.
    """

    ra_deg: FloatArray
    dec_deg: FloatArray
    mag: FloatArray
    x_mm: FloatArray
    y_mm: FloatArray
    snr: FloatArray
    faults: IntArray

    def star(self, row: int) -> GuideStar:
        """Return one star as a record."""
        snr, bits = float(self.snr[row]), int(self.faults[row])
        return GuideStar(
            float(self.ra_deg[row]),
            float(self.dec_deg[row]),
            float(self.mag[row]),
            None if math.isnan(snr) else snr,
            tuple(fault for n, fault in enumerate(FAULTS) if bits >> n & 1),
        )


class Judged(NamedTuple):
    """What the guide camera makes of a reach's stars, each (n,); refused ones are never used."""

    snr: FloatArray
    faults: IntArray
    refused: BoolArray


@dataclass(frozen=True)
class Reach:
    """One want with all stars about it, brightest first, as deep as the catalogue goes; judged or not."""

    want: Want
    stars: Stars
    focal_mm: float
    judged: Judged | None = None

    @property
    def pointing_deg(self) -> tuple[float, float]:
        """The pointing before any shift: ra, dec."""
        return self.want.target.ra_deg, self.want.target.dec_deg

    def usable(
        self, faint_mag: float | None, bright_mag: float | None, pointing_deg: tuple[float, float] | None = None
    ) -> StarTable:
        """Return the stars between the two limits, projected about a pointing (the target's own if None)."""
        stars, rows = self.stars, self.usable_rows(faint_mag, bright_mag)
        snr, faults = np.full(len(rows), np.nan), np.zeros(len(rows), dtype=np.int64)
        if self.judged is not None:
            snr, faults = self.judged.snr[rows], self.judged.faults[rows]
        ra, dec, mag = (one[rows] for one in (stars.ra_deg, stars.dec_deg, stars.mag))
        x_mm, y_mm = plane_mm(ra, dec, *(pointing_deg or self.pointing_deg), self.focal_mm)
        return StarTable(ra, dec, mag, x_mm, y_mm, snr, faults)

    def usable_rows(self, faint_mag: float | None, bright_mag: float | None) -> IntArray:
        """Return the rows of the stars between the two limits that are not refused, brightest first."""
        mag = self.stars.mag
        start = 0 if bright_mag is None else int(np.searchsorted(mag, bright_mag, side="left"))
        end = len(mag) if faint_mag is None else int(np.searchsorted(mag, faint_mag, side="right"))
        rows = np.arange(start, max(start, end))
        return rows if self.judged is None else rows[~self.judged.refused[rows]]

    def judged_by(self, rig: Rig, light: GuideLight) -> "Reach":
        """Return the reach with each star's signal-to-noise and what speaks against it.

        Companions are looked for among all stars of the catalogue, as places in the focal plane about the target.
        """
        stars = self.stars
        x_mm, y_mm = plane_mm(stars.ra_deg, stars.dec_deg, *self.pointing_deg, self.focal_mm)
        found = judge_guide_stars(rig, light, x_mm, y_mm, stars.mag)
        bits = found.too_faint + 2 * found.saturates.astype(np.int64) + 4 * found.has_companion
        bits = bits + 8 * self._in_outline(x_mm, y_mm)
        refused = (found.saturates & light.refuse_saturating) | (found.has_companion & light.refuse_companions)
        return replace(self, judged=Judged(found.snr, bits.astype(np.int64), refused))

    def _in_outline(self, x_mm: FloatArray, y_mm: FloatArray) -> BoolArray:
        """Tell which stars stand within an outline of the target or of a neighbour whose size is known."""
        inside = np.zeros(np.shape(x_mm), dtype=np.bool_)
        for one in self.want.target.outlines:
            major = arcmin_to_mm(one.semi_major_arcmin, self.focal_mm)
            minor = arcmin_to_mm(one.semi_minor_arcmin, self.focal_mm) or major
            if major <= 0:
                continue
            cx, cy = plane_mm(one.ra_deg, one.dec_deg, *self.pointing_deg, self.focal_mm)
            angle = math.radians(one.position_angle_deg or 0.0)
            minor = major if one.position_angle_deg is None else minor
            along = (x_mm - cx) * math.sin(angle) + (y_mm - cy) * math.cos(angle)
            across = (x_mm - cx) * math.cos(angle) - (y_mm - cy) * math.sin(angle)
            inside |= (along / major) ** 2 + (across / minor) ** 2 <= 1.0
        return inside


def reach_radius_deg(rectangle: GuideRectangle, focal_mm: float, spare_mm: float) -> float:
    """Return the radius of sky that holds every star the rectangle can catch, with `spare_mm` beyond its corner."""
    corner = math.hypot(rectangle.stem_radius_mm + rectangle.half_along_mm, rectangle.half_across_mm)
    return math.degrees(math.atan((corner + spare_mm) / focal_mm))


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
