"""What is asked, of whom, and what comes back: plain records of the star fetch."""

from dataclasses import dataclass, field

import numpy as np

from sidelight.ground.angles import separation_deg
from sidelight.ground.errors import SidelightError
from sidelight.ground.types import FloatArray


class NoAnswer(SidelightError):
    """A service gave no usable answer; what had been fetched before is kept."""

    exit_code = 1


@dataclass(frozen=True)
class ColumnMap:
    """Which column is which, by name; None lets the column's UCD and the usual names decide.

    mag : the magnitude to use. blue_mag, red_mag : Gaia's BP and RP, for the way from G to V.
    pm_ra, pm_dec : proper motions, the first with the cosine of declination in it. epoch : year of the position.
    """

    ra: str | None = None
    dec: str | None = None
    mag: str | None = None
    blue_mag: str | None = None
    red_mag: str | None = None
    pm_ra: str | None = None
    pm_dec: str | None = None
    epoch: str | None = None


@dataclass(frozen=True)
class ConeService:
    """A service by the IVOA Simple Cone Search standard (1.03 and later), and how to read it.

    name : what the catalogue is called on charts. url : the base URL, with its "?" or "&" at the end.
    epoch_year : of the positions, where no column says it.
    extra : parameters beyond the standard; "{limit_mag}" in a value stands for the faint limit. A service that
    does not know them must ignore them (standard, section 2.1); one that refuses them is asked again without.
    largest_radius_deg, most_rows : the service's own limits, where it states them. pause_s : between two questions.
    timeout_s : how long to wait for each next piece of an answer.
    """

    name: str
    url: str
    columns: ColumnMap = field(default_factory=ColumnMap)
    epoch_year: float = 2000.0
    extra: tuple[tuple[str, str], ...] = ()
    largest_radius_deg: float | None = None
    most_rows: int | None = None
    pause_s: float = 1.0
    timeout_s: float = 60.0


GAIA_DR3 = ConeService(
    name="Gaia DR3",
    url="https://vizier.cds.unistra.fr/viz-bin/conesearch/I/355/gaiadr3?",
    epoch_year=2016.0,
    extra=(("Gmag", "<{limit_mag}"),),
    largest_radius_deg=1.0,
)
"""The default: Gaia Data Release 3 (Gaia Collaboration, Vallenari et al. 2023, A&A 674, A1) at the CDS."""


@dataclass(frozen=True)
class Cone:
    """A circle on the sky, ICRS."""

    ra_deg: float
    dec_deg: float
    radius_deg: float

    def holds(self, other: "Cone") -> bool:
        """Tell whether another circle lies wholly within this one."""
        away = float(separation_deg(self.ra_deg, self.dec_deg, other.ra_deg, other.dec_deg))
        return away + other.radius_deg <= self.radius_deg + 1e-9


@dataclass(frozen=True)
class SkyField:
    """What the guider can reach round one target, at any angle and shift: an annulus, or a disc when inner is 0."""

    name: str
    ra_deg: float
    dec_deg: float
    inner_deg: float
    outer_deg: float


@dataclass(frozen=True)
class StarTable:
    """Stars as a catalogue gives them, columns of length n.

    ra_deg, dec_deg : ICRS at epoch_year. pm_ra_mas_per_year has the cosine of declination in it; both motions are 0
    where the catalogue gives none. mag : V, or the nearest to it that there is.
    """

    ra_deg: FloatArray
    dec_deg: FloatArray
    mag: FloatArray
    pm_ra_mas_per_year: FloatArray
    pm_dec_mas_per_year: FloatArray
    epoch_year: FloatArray

    def __len__(self) -> int:
        """Return the number of stars."""
        return len(self.mag)

    def pick(self, rows: np.ndarray) -> "StarTable":
        """Return some of the rows, by mask or number."""
        return StarTable(*(column[rows] for column in vars(self).values()))


def no_stars() -> StarTable:
    """Return a table without rows."""
    return StarTable(*(np.empty(0) for _ in range(6)))


def together(tables: list[StarTable]) -> StarTable:
    """Return the rows of all tables one after the other."""
    if not tables:
        return no_stars()
    return StarTable(*(np.concatenate(columns) for columns in zip(*(vars(t).values() for t in tables), strict=True)))
