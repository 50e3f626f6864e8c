"""One model held against one outside reference: the differences, where and when the cases lie, what is allowed."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from sidelight.sky.time import datetime_from_mjd

SUBJECTS = ("night", "target", "bench", "light", "odds")
"""What a person relies on, in the order of the page."""


@dataclass(frozen=True, eq=False)
class Cases:
    """Where and when cases lie, taken from the cases themselves; what does not matter for them stays empty.

    latitude_deg : of the sites. declination_deg : of the targets or pointings. mjd : the instants.
    """

    latitude_deg: np.ndarray = field(default_factory=lambda: np.empty(0))
    declination_deg: np.ndarray = field(default_factory=lambda: np.empty(0))
    mjd: np.ndarray = field(default_factory=lambda: np.empty(0))

    @property
    def words(self) -> str:
        """The spans as words: latitudes, declinations, years; empty where none matters."""
        parts = []
        if self.latitude_deg.size:
            parts.append(_latitudes(self.latitude_deg))
        if self.declination_deg.size:
            low, high = (_signed(float(edge)) for edge in (self.declination_deg.min(), self.declination_deg.max()))
            parts.append(f"declination {low}" if low == high else f"declinations {low} to {high}")
        if self.mjd.size:
            first, last = (datetime_from_mjd(float(edge)).year for edge in (self.mjd.min(), self.mjd.max()))
            parts.append(str(first) if first == last else f"{first} to {last}")
        return ", ".join(parts)


def _latitudes(latitude_deg: np.ndarray) -> str:
    """Return the span of latitudes, a single one alone."""
    low, high = float(latitude_deg.min()), float(latitude_deg.max())
    first, last = (f"{abs(edge):.0f}° {'S' if edge < -0.5 else 'N'}" for edge in (low, high))
    return first if first == last else f"{first} to {last}"


def _signed(declination_deg: float) -> str:
    """Return a declination with its sign."""
    return f"{'−' if declination_deg < -0.5 else '+'}{abs(declination_deg):.0f}°"


@dataclass(frozen=True, eq=False)
class Comparison:
    """Differences of a model from a reference, ours less theirs, in one unit.

    room : whose model it is. subject : what a person relies on, one of SUBJECTS. allowed : the largest difference
    that is allowed, and reason : why that much, from outside or from the model's own words, never from what was
    found. cases : where and when. remark : what the difference is made of, when that is known. rounding : half a unit
    of the reference's last figure, when that is not small against the difference.
    """

    room: str
    subject: str
    model: str
    reference: str
    unit: str
    differences: np.ndarray
    allowed: float
    reason: str
    cases: Cases = field(default_factory=Cases)
    remark: str = ""
    rounding: float = 0.0

    @property
    def count(self) -> int:
        """How many values were compared."""
        return int(np.size(self.differences))

    @property
    def largest(self) -> float:
        """The largest difference, without its sign."""
        return float(np.max(np.abs(self.differences)))

    @property
    def typical(self) -> float:
        """The median of the differences without their signs."""
        return float(np.median(np.abs(self.differences)))

    @property
    def within_rounding(self) -> int:
        """How many values lie within the reference's rounding."""
        return int(np.sum(np.abs(self.differences) <= self.rounding))


def per_cent(ours: object, theirs: object) -> np.ndarray:
    """Return differences in per cent of the reference."""
    reference = np.asarray(theirs, dtype=np.float64)
    return 100.0 * (np.asarray(ours, dtype=np.float64) - reference) / reference


def joined(parts: Iterable[object]) -> np.ndarray:
    """Return numbers and arrays as one flat array."""
    return np.concatenate([np.ravel(np.asarray(part, dtype=np.float64)) for part in parts])
