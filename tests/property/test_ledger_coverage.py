"""Calibration from synthetic images with noise: offsets come out, and the errors cover the truth as often as claimed.

Bounds follow from the binomial distribution: a right claim falls outside them once in 100,000 runs, and the seeds are
fixed.
"""

import erfa
import numpy as np
import pytest
from scipy import stats

from sidelight.ground.angles import wrap_180
from sidelight.ledger.calibration import MeasuredAngle, MeasuredPointing, flip_pointing, rotation_offset
from sidelight.ledger.estimate import Estimate
from sidelight.ledger.stem_fit import GuideSighting, fit_stem

RUNS = 200
CLAIMS = (0.5, 0.68, 0.95)
FOCAL_MM = 1600.0


def covers(estimate: Estimate, truth: float, circle_deg: float | None = None) -> list[bool]:
    """Tell for each claim whether the interval covers the truth."""
    hits = []
    for claim in CLAIMS:
        low, high = estimate.interval(claim) or (np.inf, np.inf)
        middle, half = (low + high) / 2, (high - low) / 2
        away = middle - truth if circle_deg is None else float(wrap_180(middle - truth))
        hits.append(abs(away) <= half)
    return hits


def check(hits: list[list[bool]]) -> None:
    """Hold the share of covered truths against each claim."""
    for claim, covered in zip(CLAIMS, np.sum(hits, axis=0), strict=True):
        low, high = stats.binom.interval(1 - 1e-5, len(hits), claim)
        assert low <= covered <= high, (claim, covered / len(hits))


@pytest.mark.parametrize(("count", "known"), [(1, True), (3, True), (3, False), (8, False)])
def test_the_rotation_offset(count: int, known: bool) -> None:
    """From images of both sides, with errors given or taken from the scatter."""
    random = np.random.default_rng(count)
    hits = []
    for _ in range(RUNS):
        truth = random.uniform(-180, 180)
        errors = random.uniform(0.05, 0.5, count) if known else np.full(count, 0.3)
        angles = []
        for error in errors:
            side, planned = random.choice(["east", "west"]), random.uniform(0, 360)
            up = planned + truth + random.normal(0, error) + (180 if side == "east" else 0)
            angles.append(MeasuredAngle(up % 360, planned, side, error if known else None))
        hits.append(covers(rotation_offset(angles).offset_deg, truth, 360.0))
    check(hits)


@pytest.mark.parametrize("known", [True, False])
def test_the_cone_error(known: bool) -> None:
    """From six images of both sides at several declinations, against a zero of the hour-angle circle."""
    random = np.random.default_rng(11)
    hits = []
    for _ in range(RUNS):
        cone, sync, dec_zero = random.normal(0, 5, 3)
        images = []
        for side, sign in (("west", 1), ("east", -1)) * 3:
            ra, dec = random.uniform(0, 360), random.uniform(-60, 70)
            east = sync * np.cos(np.radians(dec)) + sign * cone + random.normal(0, 0.5)
            north = sign * dec_zero + random.normal(0, 0.5)
            true_ra = (ra + east / 60 / np.cos(np.radians(dec))) % 360
            images.append(MeasuredPointing(ra, dec, true_ra, dec + north / 60, side, 0.5 if known else None))
        answer = flip_pointing(images)
        assert answer.cone_arcmin.determined
        hits.append(covers(answer.cone_arcmin, cone))
    check(hits)


def turned(vector: np.ndarray, angle: float) -> np.ndarray:
    """Turn (x, y) counter-clockwise."""
    cos, sin = np.cos(angle), np.sin(angle)
    return np.array([cos * vector[0] - sin * vector[1], sin * vector[0] + cos * vector[1]])


class Bench:
    """A telescope whose stem and guide camera stand somewhere, and the stars that they see.

    Built from rotations of vectors in the focal plane and ERFA's gnomonic projection, not from the fit's equations.
    """

    def __init__(self, random: np.random.Generator, quarter: int = 0, *, mirrored: bool = False) -> None:
        self.random = random
        self.radius_mm = random.uniform(12, 40)
        self.offset_deg = random.uniform(0, 360)
        self.tilt_deg = random.normal(0, 1.0)
        self.quarter, self.mirrored = quarter, mirrored

    def star(self, side: str, error_mm: float) -> GuideSighting:
        """Return one star somewhere on the guide sensor, with noise in its place there."""
        on_sensor = self.random.uniform([-1.6, -2.8], [1.6, 2.8])
        up = np.radians(self.random.uniform(0, 360) + (180 if side == "east" else 0))
        plane = turned(
            np.array([self.radius_mm, 0.0]) + turned(on_sensor, np.radians(self.tilt_deg)),
            np.radians(self.offset_deg),
        )
        # along up and towards greater position angle, then north and east
        north, east = turned(plane, up)
        ra, dec = self.random.uniform(0, 2 * np.pi), self.random.uniform(-1.2, 1.2)
        star = erfa.tpsts(east / FOCAL_MM, north / FOCAL_MM, ra, dec)
        seen = turned(on_sensor, -self.quarter * np.pi / 2) * ([1, -1] if self.mirrored else [1, 1])
        seen = seen + self.random.normal(0, error_mm, 2)
        return GuideSighting(*np.degrees([up, ra, dec, *star]).tolist(), *seen.tolist(), error_mm)


@pytest.mark.parametrize(("count", "error_mm"), [(1, 0.02), (2, 0.02), (5, 0.05)])
def test_the_stem(count: int, error_mm: float) -> None:
    """Radius and offset from stars of both sides, whether the seat's squareness is measured or assumed."""
    random = np.random.default_rng(count)
    radius_hits, offset_hits = [], []
    for _ in range(RUNS):
        bench = Bench(random)
        stars = [bench.star(random.choice(["east", "west"]), error_mm) for _ in range(count)]
        answer = fit_stem(stars, FOCAL_MM, seat_deg=1.0)
        radius_hits.append(covers(answer.stem_radius_mm, bench.radius_mm))
        offset_hits.append(covers(answer.stem_offset_deg, bench.offset_deg, 360.0))
        assert not (count == 1 and answer.determined)
    check(radius_hits)
    check(offset_hits)


def test_an_uncertain_focal_length_counts() -> None:
    """The error of the focal length, too, is in the error of the radius."""
    random = np.random.default_rng(21)
    hits = []
    for _ in range(RUNS):
        bench = Bench(random)
        stars = [bench.star("west", 0.02) for _ in range(3)]
        answer = fit_stem(stars, FOCAL_MM + random.normal(0, 4.0), focal_error_mm=4.0)
        hits.append(covers(answer.stem_radius_mm, bench.radius_mm))
    check(hits)


@pytest.mark.parametrize("quarter", range(4))
@pytest.mark.parametrize("mirrored", [False, True])
def test_the_guide_cameras_seating_is_found(quarter: int, mirrored: bool) -> None:
    """Four stars tell how the guide camera's picture is turned and whether it is mirrored."""
    random = np.random.default_rng(quarter)
    for _ in range(10):
        bench = Bench(random, quarter, mirrored=mirrored)
        answer = fit_stem([bench.star("west", 0.01) for _ in range(4)], FOCAL_MM)
        assert (answer.quarter_turns, answer.mirrored, answer.seating_settled) == (quarter, mirrored, True)
        assert answer.stem_radius_mm.value == pytest.approx(bench.radius_mm, abs=0.1)
        assert ("against what the rig says" in " ".join(answer.notes)) == bool(quarter or mirrored)
