"""Stars in a cone, whatever catalogue they come from."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray, Floats, IntArray

LARGEST_CONE_DEG = 180.0


@dataclass(frozen=True)
class Stars:
    """Stars found in a cone, brightest first. The arrays are not to be changed.

    ra_deg, dec_deg : (n,) ICRS. mag : (n,) V or near it, as the catalogue says.
    catalogue : what the answer rests on, for people.
    depth_mag : complete to this magnitude at every place of the cone; fainter stars may exist.
    typical_depth_mag : the same at half of the places; None where the catalogue knows one depth only.
    catalogues, origin : where several catalogues answered, their names and, for each star, which one it is from.
    """

    ra_deg: FloatArray
    dec_deg: FloatArray
    mag: FloatArray
    catalogue: str
    depth_mag: float
    typical_depth_mag: float | None = None
    catalogues: tuple[str, ...] = ()
    origin: IntArray | None = None

    def __len__(self) -> int:
        """Return the number of stars."""
        return len(self.mag)

    def catalogue_of(self, row: int) -> str:
        """Return the name of the catalogue that one star comes from."""
        return self.catalogue if self.origin is None else self.catalogues[int(self.origin[row])]


class Catalogue(Protocol):
    """Anything that finds stars in a cone."""

    @property
    def name(self) -> str:
        """The catalogue's name and band, for people."""

    @property
    def depth_mag(self) -> float:
        """The magnitude to which the catalogue is nominally complete."""

    def cone(self, ra_deg: float, dec_deg: float, radius_deg: float, faint_mag: float | None = None) -> Stars:
        """Return the stars not farther than the radius from a direction (ICRS) and not fainter than asked."""

    def depth_at(self, ra_deg: Floats, dec_deg: Floats) -> FloatArray:
        """Return the magnitude to which the catalogue is complete at each place; broadcasts."""


def check_cone(ra_deg: float, dec_deg: float, radius_deg: float) -> None:
    """Raise BadInput when a cone is not finite or out of range: |dec| <= 90, 0 <= radius <= 180."""
    if not np.all(np.isfinite([ra_deg, dec_deg, radius_deg])):
        raise BadInput(Problem("A cone on the sky needs finite numbers.", expected="degrees"))
    if abs(dec_deg) > 90.0:
        raise BadInput(Problem(f"Declination {dec_deg} is out of range.", expected="-90 to 90 degrees"))
    if not 0.0 <= radius_deg <= LARGEST_CONE_DEG:
        raise BadInput(Problem(f"Radius {radius_deg} is out of range.", expected="0 to 180 degrees"))
