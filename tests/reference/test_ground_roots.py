"""The root finder beside SciPy's own writing of the same published method."""

from collections.abc import Callable

import numpy as np
import pytest

from sidelight.ground.roots import bracketed_roots

TOLERANCE = 1e-6
CASES: dict[str, tuple[Callable[[np.ndarray], np.ndarray], float, float]] = {
    "cubic": (lambda x: x**3 - 2.0 * x - 5.0, 2.0, 3.0),
    "cosine": (lambda x: np.cos(x) - x, 0.0, 1.5),
    "decay": (lambda x: np.exp(-5.0 * x) - 0.02 * x - 0.001, -3.0, 2.0),
    "Kepler": (lambda x: x - 0.9 * np.sin(x) - 0.3, 0.0, 3.0),
    "triple": (lambda x: (x - 0.3) ** 3, -1.0, 2.2),
    "step": (lambda x: np.tanh(30.0 * (x - 0.123)), -1.0, 1.7),
}


@pytest.mark.parametrize("name", CASES)
def test_points_looked_at_are_scipys(name: str) -> None:
    """Chandrupatla's method looks at the same points in the same order as SciPy's elementwise.find_root."""
    elementwise = pytest.importorskip("scipy.optimize.elementwise", reason="SciPy has it since 1.15")
    function, low, high = CASES[name]
    ours: list[float] = []
    theirs: list[float] = []

    def noted(seen: list[float]) -> Callable[[np.ndarray], np.ndarray]:
        def value(x: np.ndarray) -> np.ndarray:
            seen.append(float(np.ravel(x)[0]))
            return function(x)

        return value

    found = bracketed_roots(noted(ours), np.array([low]), np.array([high]), TOLERANCE)
    exact = {"xatol": TOLERANCE, "xrtol": 0.0, "fatol": 0.0, "frtol": 0.0}
    beside = elementwise.find_root(noted(theirs), (low, high), tolerances=exact)
    assert ours == pytest.approx(theirs, abs=1e-12)
    assert float(found[0]) == pytest.approx(float(beside.x), abs=1e-12)
