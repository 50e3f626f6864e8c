"""Roots of functions that change sign inside a bracket, many at once, knowing nothing of the sky."""

from collections.abc import Callable

import numpy as np

from sidelight.ground.types import FloatArray


def bracketed_roots(
    function: Callable[[FloatArray], FloatArray],
    low: FloatArray,
    high: FloatArray,
    tolerance: float,
    max_steps: int = 60,
) -> FloatArray:
    """Return one root of `function` in each bracket [low, high], all brackets refined together.

    Parameters
    ----------
    function : takes an array of the brackets' shape and returns values of that shape; element i of the
        result may depend on element i of the input only.
    low, high : equal shapes; the function has opposite signs (or zero) at the two ends.
    tolerance : the answer is this near to a sign change, in the argument's unit.
    max_steps : a bound on the evaluations; bisection alone needs log2(width / tolerance).

    Returns
    -------
    Roots, same shape as `low`. Where the ends do not differ in sign the answer is the end with the smaller value.

    Notes
    -----
    Chandrupatla's method (1997, Advances in Engineering Software 28, 145): inverse quadratic interpolation where
    it is safe, bisection where it is not. Checked against roots of |x - r|^k, k from 0.3 to 3, in
    tests/property/test_ground_laws.py.
    """
    old = np.array(low, dtype=np.float64)
    new = np.array(high, dtype=np.float64)
    f_old = np.array(function(old), dtype=np.float64)
    f_new = np.array(function(new), dtype=np.float64)
    oldest, f_oldest = old, f_old
    fraction = np.full(old.shape, 0.5)
    for _ in range(max_steps):
        if not np.any((np.abs(new - old) > tolerance) & (f_new != 0) & (f_old != 0)):
            break
        point = new + fraction * (old - new)
        value = function(point)
        same_side = np.sign(value) == np.sign(f_new)
        oldest, f_oldest = np.where(same_side, new, old), np.where(same_side, f_new, f_old)
        old, f_old = np.where(same_side, old, new), np.where(same_side, f_old, f_new)
        new, f_new = point, value
        fraction = _next_fraction((old, new, oldest), (f_old, f_new, f_oldest), tolerance)
    return np.where(np.abs(f_old) < np.abs(f_new), old, new)


def _next_fraction(
    points: tuple[FloatArray, FloatArray, FloatArray],
    values: tuple[FloatArray, FloatArray, FloatArray],
    tolerance: float,
) -> FloatArray:
    """Return where between the newest point (0) and the other end of the bracket (1) to look next."""
    other, new, third = points
    f_other, f_new, f_third = values
    with np.errstate(divide="ignore", invalid="ignore"):
        xi = (new - other) / (third - other)
        phi = (f_new - f_other) / (f_third - f_other)
        interpolated = f_new / (f_other - f_new) * f_third / (f_other - f_third) + (third - new) / (
            other - new
        ) * f_new / (f_third - f_new) * f_other / (f_third - f_other)
        safe = (phi**2 < xi) & ((1 - phi) ** 2 < 1 - xi) & np.isfinite(interpolated)
        least = np.minimum(0.5, 0.5 * tolerance / np.abs(other - new))
    fraction = np.where(safe, interpolated, 0.5)
    least = np.where(np.isfinite(least), least, 0.5)
    return np.clip(fraction, least, 1 - least)
