"""A measured value with what is known of its error, and the weighted means it comes from."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import FloatArray


@dataclass(frozen=True)
class Estimate:
    """A value, one standard error, and whether the measurements settle it.

    error : None when nothing says how far off the value may be. degrees_of_freedom : of an error that was estimated
    from scatter; None when it follows from the errors of the measurements.
    determined : False when the value rests on an assumption; the record it stands in says which.
    """

    value: float
    error: float | None
    degrees_of_freedom: int | None = None
    determined: bool = True

    def interval(self, confidence: float = 0.95) -> tuple[float, float] | None:
        """Return the range that covers the truth in so many of a hundred cases; None without an error.

        Normal distribution, or Student's when the error comes from scatter.
        """
        if self.error is None:
            return None
        from scipy import stats

        tail = 0.5 + confidence / 2
        freedom = self.degrees_of_freedom
        times = float(stats.norm.ppf(tail) if freedom is None else stats.t.ppf(tail, freedom))
        return self.value - times * self.error, self.value + times * self.error


@dataclass(frozen=True, eq=False)
class Fitted:
    """Parameters of a linear fit, their covariance, and how well it fits.

    shares : whether each parameter is settled by the measurements. chance : probability of a misfit as bad as this
    one if the errors are right; None without spare measurements or without errors.
    """

    values: FloatArray
    covariance: FloatArray | None
    degrees_of_freedom: int | None
    determined: tuple[bool, ...]
    chance: float | None = None

    def estimate(self, index: int) -> Estimate:
        """Return one parameter."""
        error = None if self.covariance is None else float(np.sqrt(self.covariance[index, index]))
        settled = self.determined[index]
        return Estimate(float(self.values[index]), error if settled else None, self.degrees_of_freedom, settled)


def fit_linear(design: FloatArray, measured: FloatArray, errors: Sequence[float | None]) -> Fitted:
    """Return the least-squares solution of design @ values = measured.

    With an error for each measurement these are the weights and give the covariance; when one is missing all weigh
    the same and the scatter gives it. Parameters that the measurements do not settle are 0 or the least they can be.
    """
    known = [error for error in errors if error is not None]
    weighted = len(known) == len(errors)
    scale = 1.0 / np.array(known) if weighted else np.ones(len(errors))
    rows = design * scale[:, None]
    solved, _, rank, _ = np.linalg.lstsq(rows, measured * scale, rcond=None)
    values: FloatArray = np.asarray(solved, dtype=np.float64)
    inverse: FloatArray = np.asarray(np.linalg.pinv(rows.T @ rows), dtype=np.float64)
    # a parameter is settled when no direction in which nothing is known has a part of it
    resolution = np.diag(np.linalg.pinv(rows) @ rows)
    determined = tuple(bool(part > 1 - 1e-9) for part in resolution)
    spare = len(errors) - int(rank)
    misfit = float(np.sum((rows @ values - measured * scale) ** 2))
    if weighted:
        return Fitted(values, inverse, None, determined, chance_of(misfit, spare))
    covariance = inverse * misfit / spare if spare > 0 else None
    return Fitted(values, covariance, spare if spare > 0 else None, determined)


def chance_of(misfit: float, spare: int) -> float | None:
    """Return how often chance alone gives a sum of squares, in units of the errors, as large as this."""
    if spare <= 0:
        return None
    from scipy import stats

    return float(stats.chi2.sf(misfit, spare))


UNLIKELY = 0.01
"""Misfits rarer than this are reported: the errors are larger than stated, or something moved between the images."""
