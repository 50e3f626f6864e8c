"""One model held against one outside reference: the differences, and what is allowed."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Comparison:
    """Differences of a model from a reference, ours less theirs, in one unit.

    room : whose model it is. allowed : the largest difference that the model's own words allow. remark : what the
    difference is made of, when that is known.
    """

    room: str
    model: str
    reference: str
    unit: str
    differences: np.ndarray
    allowed: float
    remark: str = ""

    @property
    def cases(self) -> int:
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


def per_cent(ours: object, theirs: object) -> np.ndarray:
    """Return differences in per cent of the reference."""
    reference = np.asarray(theirs, dtype=np.float64)
    return 100.0 * (np.asarray(ours, dtype=np.float64) - reference) / reference
