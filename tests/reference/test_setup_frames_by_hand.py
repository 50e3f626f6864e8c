"""Frames worked by hand: points, lines and circles have closed forms; a grid of shifts has them all."""

import math

import numpy as np
import pytest
from tests.strategies.setup import framed_at, outline_points, plane_of, small_rig

from sidelight.ground import spans
from sidelight.rig.optics import sky_deg
from sidelight.rig.records import Rig
from sidelight.setup.framing import ShiftRectangle, frame, frame_arcs, least_shift_mm, plane_outlines, room_mm
from sidelight.targets.records import Outline, Target

PLACE = (80.0, 30.0)
THIN = 1e-9
"""A line is an ellipse so thin; 0 would stand for a width that is not known."""


def half_frame_mm(rig: Rig) -> tuple[float, float]:
    """Return half the width and half the height of the frame without its border, by a right triangle."""
    border_mm = rig.telescope.effective_focal_length_mm * math.tan(
        math.radians(rig.tolerances.frame_border_arcmin / 60)
    )
    return rig.camera.width_mm / 2 - border_mm, rig.camera.height_mm / 2 - border_mm


def arcmin(length_mm: float, rig: Rig) -> float:
    """Return the angle that a length from the middle of the frame spans on the sky."""
    return 60 * math.degrees(math.atan(length_mm / rig.telescope.effective_focal_length_mm))


def at(rho_mm: float, q_deg: float, rig: Rig) -> tuple[float, float]:
    """Return the sky place that falls on a point of the focal plane."""
    q = math.radians(q_deg)
    ra, dec = sky_deg(rho_mm * math.sin(q), rho_mm * math.cos(q), *PLACE, rig.telescope.effective_focal_length_mm)
    return float(ra), float(dec)


def line(half_mm: float, along_deg: float, rig: Rig) -> Target:
    """Return a target that is a line through the pointing."""
    return Target("line", *PLACE, (Outline("line", *PLACE, arcmin(half_mm, rig), THIN, along_deg),))


def circle(radius_mm: float, rho_mm: float, rig: Rig) -> Target:
    """Return a target that is a circle north of the pointing; its size in the frame is right to 1 part in 10,000."""
    return Target("disc", *PLACE, (Outline("disc", *at(rho_mm, 0.0, rig), arcmin(radius_mm, rig)),))


@pytest.mark.parametrize("seed", range(12))
def test_frames_of_points_are_what_arccosines_leave(seed: int) -> None:
    """A point at (ρ, q) is cut off while p is within acos(H/ρ) of q or q ± 180°, or acos(W/ρ) of q ± 90°."""
    rig, random = small_rig(), np.random.default_rng(seed)
    width, height = half_frame_mm(rig)
    number = 3 + seed % 3
    rho = random.uniform(height + 0.02, width + 0.1, number)
    q = random.uniform(0.0, 360.0, number)
    if seed % 2:
        q[0] = 5.0 * (seed - 6)  # the gap about it holds 0°, for the others an arc may
    target = Target("points", *PLACE, tuple(Outline("a point", *at(*one, rig)) for one in zip(rho, q, strict=True)))
    gaps = []
    for one, turn in zip(rho, q, strict=True):
        upright = math.degrees(math.acos(height / one))
        lying = math.degrees(math.acos(min(1.0, width / one)))
        gaps += [(turn + k - upright, turn + k + upright) for k in (0, 180)]
        gaps += [(turn + k - lying, turn + k + lying) for k in (90, 270)]
    expected = spans.arcs_complement(spans.arcs_union(*[spans.arcs([gap]) for gap in gaps if gap[1] > gap[0]]))
    found = frame_arcs(plane_outlines(target, rig))
    assert found == pytest.approx(expected, abs=2e-7)


def test_several_arcs_of_a_half_turn_are_all_found() -> None:
    """Three points leave three arcs a half turn, whether 0° lies in one of them or between two."""
    rig = small_rig()
    width, height = half_frame_mm(rig)
    rho = height + 0.15 * (width - height)
    half_gap = math.degrees(math.acos(height / rho))
    for first in (5.0, 90.0):
        points = [(rho, first + k) for k in (0.0, 59.0, 123.0)]
        target = Target("points", *PLACE, tuple(Outline("a point", *at(*one, rig)) for one in points))
        found = frame_arcs(plane_outlines(target, rig))
        assert len(found) == 6
        assert spans.total(found) == pytest.approx(360.0 - 12 * half_gap, abs=1e-5)
        assert not spans.arcs_contain(found, [q for _, q in points]).any()


def test_a_line_fits_between_two_right_triangles() -> None:
    """A line of half-length a fits from acos(H/a) to asin(W/a) off its own direction; the share is said."""
    rig, along = small_rig(), 25.0
    width, height = half_frame_mm(rig)
    half = 1.05 * width
    near, far = math.degrees(math.acos(height / half)), math.degrees(math.asin(width / half))
    result, arcs = frame(line(half, along, rig), rig, needed=True, shift_arcmin=0.0)
    expected = spans.arcs(
        [(along + k * 180 + a, along + k * 180 + b) for k in (0, 1) for a, b in ((near, far), (-far, -near))]
    )
    assert arcs == pytest.approx(expected, abs=2e-7)
    assert result.fits
    assert result.short_by_arcmin == 0.0
    assert result.arcs == tuple(map(tuple, arcs.tolist()))
    assert result.sentence == f"line fits at {(far - near) / 0.9:.1f} % of the camera angles."


def test_what_is_small_fits_at_every_angle() -> None:
    """A circle within the frame's short side fits all round; one a hair wider than it does not."""
    rig = small_rig()
    height = half_frame_mm(rig)[1]
    for factor, said in ((0.999, "fits at every camera angle"), (1.001, "does not fit at any camera angle")):
        result, arcs = frame(circle(factor * height, 0.0, rig), rig, needed=True, shift_arcmin=0.0)
        assert f"disc {said}" in result.sentence
        assert spans.total(arcs) == (360.0 if factor < 1 else 0.0)


def test_a_target_without_an_outline_is_its_pointing() -> None:
    """With nothing but a place, the place stands in the middle, has no size and fits at every angle."""
    rig = small_rig()
    plane = plane_outlines(Target("a place", *PLACE), rig, shift_arcmin=7.0)
    assert np.hypot(*plane.centre_mm.T) == pytest.approx([0.0], abs=1e-9)
    assert np.hypot(*plane.major_mm.T) + np.hypot(*plane.minor_mm.T) == pytest.approx([0.0], abs=1e-9)
    assert arcmin(plane.shift_mm, rig) == pytest.approx(7.0, rel=1e-12)
    moved = plane_outlines(Target("a place", *PLACE), rig, (PLACE[0], PLACE[1] - 0.1))
    assert arcmin(float(moved.centre_mm[0, 1]), rig) == pytest.approx(6.0, rel=1e-9)


def test_a_line_too_long_says_its_excess_and_what_would_hold_it() -> None:
    """At best it sticks out alike over both sides; the focal length that holds it solves a quadratic."""
    rig = small_rig(guided=False)
    width, height = half_frame_mm(rig)
    half = 1.3 * math.hypot(width, height)
    result, arcs = frame(line(half, 130.0, rig), rig, needed=True, shift_arcmin=0.0)
    # a sin t − W = a cos t − H
    t = math.radians(45.0) + math.asin((width - height) / (math.sqrt(2) * half))
    excess = arcmin(2 * (half * math.sin(t) - width), rig)
    # (w s − b)² + (h s − b)² = a² with the sides w, h and the border b, for the factor 1/s of the focal length
    w, h = rig.camera.width_mm / 2, rig.camera.height_mm / 2
    b = w - width
    s = max(np.roots([w**2 + h**2, -2 * b * (w + h), 2 * b**2 - half**2]).real)
    longest = rig.telescope.effective_focal_length_mm / s
    assert len(arcs) == 0
    assert not result.fits
    assert result.short_by_arcmin == pytest.approx(excess, abs=0.02)
    assert excess > 10
    assert f"too large by {result.short_by_arcmin:.1f}′ with the border. A focal length" in result.sentence
    said = int(result.sentence.split("focal length of ")[1].split(" mm")[0])
    assert longest - 1.5 < said <= longest


def test_a_disc_off_the_middle_says_the_shift_that_frames_it() -> None:
    """The shortest shift brings the disc along the diagonal of the room that the frame leaves to its centre."""
    rig = small_rig(guided=False)
    width, height = half_frame_mm(rig)
    radius, away = 2.5, 14.0
    room = width - radius, height - radius
    target = circle(radius, away, rig)
    shift = arcmin(away - math.hypot(*room), rig)
    # as it is pointed it is at best cut off alike on two sides: D sin t − A = D cos t − B
    t = math.radians(45.0) + math.asin((room[0] - room[1]) / (math.sqrt(2) * away))
    at_rest = arcmin(away * math.sin(t) - room[0], rig)
    for granted, cut, pointed in (
        (0.0, at_rest, "as it is pointed now"),
        (2.0, shift - 2.0, "even with a shift of the granted 2.0′"),
    ):
        result, arcs = frame(target, rig, needed=True, shift_arcmin=granted)
        assert len(arcs) == 0
        assert result.short_by_arcmin == pytest.approx(cut, abs=0.02)
        words = f"disc is cut off at every camera angle {pointed} (by {result.short_by_arcmin:.1f}′ at best)"
        assert words in result.sentence
        said = float(result.sentence.split("moved by ")[1].split("′ it fits")[0])
        assert shift - 0.005 < said <= shift + 0.11
    # it does fit with what is said, and not with a tenth less, at the angles beside the best
    focal, best = rig.telescope.effective_focal_length_mm, math.degrees(math.atan2(room[0], room[1]))
    for length, fits in ((said, True), (said - 0.12, False)):
        north = focal * math.tan(math.radians(length / 60))
        ra, dec = sky_deg(0.0, north, *PLACE, focal)
        seen = framed_at(target, (float(ra), float(dec)), best + np.linspace(-1, 1, 41), rig, -1e-3)
        assert seen.any() == fits


def test_a_disc_that_no_grant_holds_says_its_whole_excess() -> None:
    """What is larger than the frame is too large by the same, whatever shift is granted."""
    rig = small_rig()
    height = half_frame_mm(rig)[1]
    for granted in (0.0, 9.0):
        result, _ = frame(circle(height + 2.0, 1.0, rig), rig, needed=True, shift_arcmin=granted)
        assert result.short_by_arcmin == pytest.approx(arcmin(4.0, rig), rel=0.001)
        assert "does not fit at any camera angle" in result.sentence


SHIFTED = {
    "longer than the frame is high": ((4.0, [(2.0, 20.0, 15.0, 3.0, 70.0)])),
    "a disc beyond the edge": ((5.0, [(9.5, 310.0, 4.0, 4.0, None)])),
    "two apart": ((3.0, [(4.0, 0.0, 7.0, 2.0, 15.0), (7.0, 160.0, 3.0, 1.0, 90.0)])),
    "wider than the frame at most angles": ((6.0, [(3.0, 200.0, 19.5, 2.0, 100.0)])),
}


@pytest.mark.parametrize("name", SHIFTED)
def test_frames_with_a_shift_are_what_a_grid_of_shifts_finds(name: str) -> None:
    """Where some shift of a grid frames all, p is in the arcs; where none does with a grid step to spare, not."""
    granted, rows = SHIFTED[name]
    rig, step_mm = small_rig(), 0.03
    width, height = half_frame_mm(rig)
    outlines = tuple(Outline("outline", *at(rho, q, rig), *shape) for rho, q, *shape in rows)
    target = Target("target", *PLACE, outlines)
    plane = plane_outlines(target, rig, shift_arcmin=granted)
    arcs = frame_arcs(plane)
    assert 0.0 < spans.total(arcs) < 360.0
    points = plane_of(outline_points(target, 720), PLACE, rig.telescope.effective_focal_length_mm) @ [1.0, 1j]
    radius_mm = rig.telescope.effective_focal_length_mm * math.tan(math.radians(granted / 60))
    steps = np.arange(-radius_mm, radius_mm + step_mm, step_mm)
    shifts = (steps[:, None] + 1j * steps).ravel()
    angles = np.arange(0.2, 180.0, 1.3)
    for p, fits, room in zip(angles, spans.arcs_contain(arcs, angles), room_mm(plane, angles), strict=True):
        turn = np.exp(1j * math.radians(p))
        seen, moved = points * turn, shifts * turn
        outside = np.maximum.reduce(
            [
                np.max(seen.real) - moved.real - width,
                moved.real - np.min(seen.real) - width,
                np.max(seen.imag) - moved.imag - height,
                moved.imag - np.min(seen.imag) - height,
                np.abs(shifts) - radius_mm,
            ]
        )
        least = float(np.min(outside))
        if least <= -0.001:
            assert fits
        elif least > step_mm + 0.001:
            assert not fits
        assert fits == (room >= 0)


def test_room_is_the_distance_from_the_outline_to_the_border() -> None:
    """Without a shift the room is the least distance of thousands of outline points from the sides of the frame."""
    rig = small_rig()
    width, height = half_frame_mm(rig)
    outlines = (
        Outline("one", *at(2.0, 20.0, rig), 9.0, 3.0, 70.0),
        Outline("two", *at(5.0, 170.0, rig), 4.0, 2.0, 10.0),
    )
    target = Target("target", *PLACE, outlines)
    points = plane_of(outline_points(target, 5000), PLACE, rig.telescope.effective_focal_length_mm) @ [1.0, 1j]
    angles = np.arange(0.0, 360.0, 7.0)
    seen = points * np.exp(1j * np.radians(angles))[:, None]
    least = np.minimum(width - np.max(np.abs(seen.real), axis=1), height - np.max(np.abs(seen.imag), axis=1))
    assert room_mm(plane_outlines(target, rig), angles) == pytest.approx(least, abs=1e-4)
    assert np.min(least) < 0 < np.max(least)


def test_the_least_shift_ends_at_the_rectangle_s_nearest_point() -> None:
    """Of a rectangle of shifts the nearest to none is 0 held within its sides on either axis."""
    random = np.random.default_rng(3)
    low = random.uniform(-3.0, 2.0, (2, 400))
    high = low + random.uniform(0.0, 3.0, (2, 400))
    nearest = np.clip(0.0, low, high)
    found = least_shift_mm(ShiftRectangle(low[0], high[0], low[1], high[1]))
    assert found == pytest.approx(np.hypot(*nearest), abs=1e-12)
    assert np.min(found) == 0
    assert np.all(np.sum(nearest != 0, axis=0)[found > 0] >= 1)
