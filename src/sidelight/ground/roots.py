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
    Regula falsi with the Illinois modification (Dowell & Jarratt 1971, BIT 11, 168), with a bisection step
    whenever a bracket did not halve in three steps; so it cannot stall.
    """
    a = np.array(low, dtype=np.float64)
    b = np.array(high, dtype=np.float64)
    fa = np.array(function(a), dtype=np.float64)
    fb = np.array(function(b), dtype=np.float64)
    checked_width = np.abs(b - a)
    for step in range(max_steps):
        width = np.abs(b - a)
        if not np.any((width > tolerance) & (fa != 0) & (fb != 0)):
            break
        denominator = fb - fa
        safe = np.where(denominator == 0, 1.0, denominator)
        x = np.where(denominator == 0, 0.5 * (a + b), b - fb * (b - a) / safe)
        # never nearer to an end than half the tolerance, so that the bracket closes from both sides
        inward = np.minimum(0.5 * tolerance, 0.5 * width)
        x = np.clip(x, np.minimum(a, b) + inward, np.maximum(a, b) - inward)
        if step % 3 == 2:
            x = np.where(width > 0.5 * checked_width, 0.5 * (a + b), x)
            checked_width = width
        fx = function(x)
        crossed = np.sign(fx) * np.sign(fb) <= 0
        a = np.where(crossed, b, a)
        fa = np.where(crossed, fb, 0.5 * fa)
        b, fb = x, fx
    return np.where(np.abs(fa) < np.abs(fb), a, b)
