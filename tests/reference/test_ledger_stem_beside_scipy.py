"""The fit of the stem beside SciPy's least squares on spherical triangles, with derivatives from differences.

Values, errors, correlations and misfits agree; what is said of them changes where SciPy's numbers reach the bounds
that the docstring names.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq
from tests.strategies.stem import FOCAL_MM, Least, Spot, Stem, Supposed, least, sightings_of

from sidelight.ground.angles import wrap_180
from sidelight.ledger.stem_fit import StemFit, fit_stem

MISREAD = (
    Spot(1.4, 2.0, 0.02, (0.012, -0.02)),
    Spot(-0.9, 1.1, 0.03, (-0.03, 0.01)),
    Spot(0.3, -2.4, 0.015, (0.01, 0.02)),
    Spot(-1.2, -0.7, 0.04, (0.02, 0.05)),
)
STEM = Stem(21.3, 318.0, 0.8)
CORNERS = (Spot(1.0, 2.0), Spot(-1.0, -1.5))


def fitted(spots: tuple[Spot, ...], supposed: Supposed, stem: Stem = STEM, *, known: bool = True) -> StemFit:
    """Fit what a stem's spots show."""
    told = {"focal_error_mm": supposed.focal_error_mm, "seat_deg": supposed.seat_deg}
    return fit_stem(sightings_of(stem, spots), FOCAL_MM, **told, seating_known=known)


def near_the_bound(
    value_of: Callable[[float], float], bound: float, span: tuple[float, float]
) -> tuple[float, float]:
    """Return where a value lies half a hundredth below a bound, and where as much above it."""
    low, high = (float(brentq(lambda x, at=at: value_of(x) - bound * at, *span, rtol=1e-6)) for at in (0.995, 1.005))
    return low, high


@pytest.mark.parametrize("count", [1, 2, 4])
@pytest.mark.parametrize("seat_deg", [0.3, 2.0])
@pytest.mark.parametrize(("focal_error_mm", "focal_mm"), [(0.0, FOCAL_MM), (5.0, FOCAL_MM + 3.0)])
def test_values_errors_and_correlation(count: int, seat_deg: float, focal_error_mm: float, focal_mm: float) -> None:
    """Radius, offset, tilt, their errors, the correlation and the misfit are SciPy's."""
    stem, spots = replace(STEM, focal_mm=focal_mm), MISREAD[:count]
    supposed = Supposed(seat_deg, focal_error_mm)
    fit, best = fitted(spots, supposed, stem), least(sightings_of(stem, spots), supposed, stem)
    # what is left over is up to 0.004 of the radius: errors depend on the axes it is taken along by so little
    for index, ours in enumerate((fit.stem_radius_mm, fit.stem_offset_deg, fit.tilt_deg)):
        assert ours.error == pytest.approx(best.errors[index], rel=1e-3)
        assert abs(float(wrap_180(ours.value - best.values[index]))) < 1e-3 * best.errors[index]
    assert fit.correlation == pytest.approx(best.correlations[0, 1], abs=1e-3)
    assert fit.misfit_mm == pytest.approx(best.misfit_mm, rel=1e-4, abs=1e-6)


def test_when_the_tilt_counts_as_measured() -> None:
    """The fit is determined, and says so, just when the stars bring the tilt's error below half the assumed one."""

    def spots(error_mm: float) -> tuple[Spot, ...]:
        return tuple(replace(spot, error_mm=error_mm) for spot in CORNERS)

    supposed = Supposed(seat_deg=0.7)
    measured, assumed = near_the_bound(
        lambda error_mm: least(sightings_of(STEM, spots(error_mm)), supposed, STEM).errors[2] / 0.7, 0.5, (0.001, 0.2)
    )
    for error_mm, known in ((measured, True), (assumed, False)):
        fit = fitted(spots(error_mm), supposed)
        parts = (
            fit.determined,
            fit.tilt_deg.determined,
            fit.stem_radius_mm.determined,
            fit.stem_offset_deg.determined,
        )
        assert parts == (known,) * 4
        assert [note for note in fit.notes if "to 0.7°, is assumed" in note] == ([] if known else list(fit.notes))


@pytest.mark.parametrize("count", [2, 3, 4])
@pytest.mark.parametrize("focal_error_mm", [0.0, 5.0])
def test_when_a_misfit_is_reported(count: int, focal_error_mm: float) -> None:
    """Just when chi-square with 2n − 2 spare measurements (2n places and the seat, less three) is rarer than 1 %."""

    def spots(times: float) -> tuple[Spot, ...]:
        x, y = (np.multiply(times, [spot.wrong_mm for spot in MISREAD])).T
        return tuple(replace(spot, wrong_mm=(x[k], y[k])) for k, spot in enumerate(MISREAD[:count]))

    supposed = Supposed(focal_error_mm=focal_error_mm)
    silent, told = near_the_bound(
        lambda times: least(sightings_of(STEM, spots(times)), supposed, STEM).squares,
        float(stats.chi2.isf(0.01, 2 * count - 2)),
        (1.0, 40.0),
    )
    assert "do not fit together" not in " ".join(fitted(spots(silent), supposed).notes)
    assert "do not fit together" in " ".join(fitted(spots(told), supposed).notes)


def test_one_in_a_hundred_right_fits_is_reported() -> None:
    """Noise as large as stated, and a seat as square as stated, are called a misfit once in a hundred times.

    Bounds from the binomial distribution, as wide as to be left once in 100,000 runs; the seed is fixed.
    """
    random, runs = np.random.default_rng(3), 1000
    reported = 0
    for _ in range(runs):
        wrong = random.normal(0, 0.01, (2, 2))
        spots = tuple(replace(spot, wrong_mm=(x, y)) for spot, (x, y) in zip(CORNERS, wrong, strict=True))
        fit = fitted(spots, Supposed(), replace(STEM, tilt_deg=random.normal(0, 1.0)))
        reported += "do not fit together" in " ".join(fit.notes)
    low, high = stats.binom.interval(1 - 1e-5, runs, 0.01)
    assert low <= reported <= high


def between_ways(narrow_mm: float) -> tuple[Spot, ...]:
    """Return three stars that leave little between a picture as it is and one turned half and mirrored."""
    return (
        Spot(narrow_mm, 2.0, 0.02, (0.0, 0.03)),
        Spot(-narrow_mm, -2.0, 0.02, (0.0, -0.03)),
        Spot(0.0, 0.0, 0.02, (0.02, 0.01)),
    )


WAYS = [Supposed(quarters=quarters, mirrored=mirrored) for mirrored in (False, True) for quarters in range(4)]
DRAWN, OTHER = WAYS[0], WAYS[6]


@pytest.mark.parametrize("true", [DRAWN, OTHER], ids=["as drawn", "half a turn, mirrored"])
def test_when_another_seating_is_out(true: Supposed) -> None:
    """A seating is out when it fits worse by nine squared errors; else that of the rig is kept, as not settled."""
    stem = Stem(20.0, 41.0, 0.0, true.quarters, true.mirrored)

    def ways(narrow_mm: float) -> dict[Supposed, Least]:
        stars = sightings_of(stem, between_ways(narrow_mm))
        return {way: least(stars, way, stem) for way in (DRAWN, OTHER)}

    def gap(narrow_mm: float) -> float:
        found = ways(narrow_mm)
        return sum(found[way].squares * (-1 if way == true else 1) for way in (DRAWN, OTHER))

    open_mm, settled_mm = near_the_bound(gap, 9.0, (0.0, 0.3))
    assert ways(open_mm)[true].squares > 2.0, "the better one does not fit perfectly"
    stars = sightings_of(stem, between_ways(settled_mm))
    assert all(least(stars, way, stem).squares > 1000.0 for way in WAYS if way not in (DRAWN, OTHER))
    for narrow_mm, settled in ((open_mm, False), (settled_mm, True)):
        fit = fitted(between_ways(narrow_mm), Supposed(), stem, known=False)
        taken = true if settled else DRAWN
        assert (fit.quarter_turns, fit.mirrored, fit.seating_settled) == (taken.quarters, taken.mirrored, settled)
        best = ways(narrow_mm)[taken]
        assert fit.stem_radius_mm.value == pytest.approx(best.values[0], abs=1e-3 * best.errors[0])
