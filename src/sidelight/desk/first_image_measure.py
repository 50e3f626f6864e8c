"""Solved images beside the plan: angles, scale, focal length, and what the two sides of the meridian say together."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.desk.bench import bench_report
from sidelight.desk.first_image_records import ImageReport
from sidelight.desk.first_image_words import image_notes
from sidelight.desk.setup import SetupReport
from sidelight.desk.solved import SolvedFrame
from sidelight.ground.angles import separation_deg, wrap_360
from sidelight.ground.errors import BadInput, Problem
from sidelight.ledger.calibration import (
    FlipPointing,
    MeasuredAngle,
    MeasuredPointing,
    RotationOffset,
    flip_pointing,
    rotation_offset,
)
from sidelight.ledger.turns import as_in_west_deg
from sidelight.notebook.read import Notebook
from sidelight.rig.bench import pole_of_date_turn_deg

_SCALE_SHARE = 1e-4
"""What a plate solver's scale is good to (common practice, no source); focus moves the focal length by as much."""
_REWRITTEN_ARCSEC = 2.0
"""A header's place this near to the solved middle was written by the solver, not by the mount."""


@dataclass(frozen=True, eq=False)
class MeasuredAngles:
    """All that the images give, before the set-up is looked at again."""

    frames: tuple[SolvedFrame, ...]
    images: tuple[ImageReport, ...]
    planned_deg: float
    offset: RotationOffset
    flip: FlipPointing | None
    focal_mm: float
    focal_error_mm: float
    notes: tuple[str, ...]

    @property
    def difference_deg(self) -> float:
        """The camera less its plan, half a turn taken off."""
        return half_turn_off_deg(self.offset.offset_deg.value)

    @property
    def half_turn(self) -> bool:
        """Whether the picture stands on its head against the plan."""
        return abs(self.offset.offset_deg.value) > 90.0

    @property
    def apart_deg(self) -> float:
        """How far the images' differences from the plan lie apart, those of sound images where there are any."""
        sound = [one.difference_deg for one in self.images if one.sound] or [
            one.difference_deg for one in self.images
        ]
        return max(sound) - min(sound)

    @property
    def focal_known(self) -> bool:
        """Whether the images show the whole sensor, so that their scale proves the focal length."""
        return all(frame.whole for frame in self.frames)


def half_turn_off_deg(angle_deg: float) -> float:
    """Return an angle in [-90, 90): a frame repeats after half a turn."""
    return float(np.mod(angle_deg + 90.0, 180.0) - 90.0)


def measure(notebook: Notebook, plan: SetupReport, frames: tuple[SolvedFrame, ...], night: dt.date) -> MeasuredAngles:
    """Compare each image with the plan, and take them together."""
    bench = bench_report(notebook, plan)
    years = (night - dt.date(2000, 1, 1)).days / 365.25
    images = tuple(_image(notebook, plan, frame, bench.mean_pole_turn_deg, years) for frame in frames)
    sound = [image for image in images if image.sound] or list(images)
    offset = rotation_offset([MeasuredAngle(one.up_deg, one.expected_deg, one.side) for one in sound])
    focal, focal_error = _focal(frames)
    flip, notes = _flip(frames)
    planned = plan.camera_angle_deg
    if planned is None:
        planned = sound[0].expected_deg
    return MeasuredAngles(frames, images, planned, offset, flip, focal, focal_error, notes)


def _image(
    notebook: Notebook, plan: SetupReport, frame: SolvedFrame, mean_turn_deg: float, since_2000_years: float
) -> ImageReport:
    """Compare one image with the plan at its own place on the sky."""
    image = frame.image
    planned = plan.camera_angle_deg
    if planned is None:
        planned = next((one.camera_angle_deg for one in plan.targets if one.target == frame.target), None)
        if planned is None:
            message = "The rotator gives each target its own angle, and this image shows none of them."
            raise BadInput(Problem(message, frame.file, suggestion="Take an image of a target on the list."))
    turn = float(pole_of_date_turn_deg(image.centre_ra_deg, image.centre_dec_deg, since_2000_years))
    # what the metal holds is an angle against the pole of date, the same at every place
    expected = float(wrap_360(planned - (turn - mean_turn_deg)))
    camera = as_in_west_deg(image.up_deg, frame.side)
    return ImageReport(
        file=frame.file,
        middle_utc=frame.start_utc,
        night=frame.night,
        side=frame.side,
        target=frame.target,
        centre_ra_deg=image.centre_ra_deg,
        centre_dec_deg=image.centre_dec_deg,
        up_deg=image.up_deg,
        camera_angle_deg=camera,
        expected_deg=expected,
        difference_deg=half_turn_off_deg(camera - expected),
        scale_arcsec_per_px=image.scale_arcsec_per_px,
        focal_length_mm=frame.focal_length_mm,
        width_deg=image.width_deg,
        height_deg=image.height_deg,
        mirrored=image.mirrored,
        skew_deg=image.skew_deg,
        sound=image.sound,
        written_as=image.form,
        notes=image_notes(notebook, frame),
    )


def _focal(frames: Sequence[SolvedFrame]) -> tuple[float, float]:
    """Return the focal length by all images, and its error: their scatter, and what a solver's scale is good to."""
    each = np.array([frame.focal_length_mm for frame in frames])
    scatter = each.std(ddof=1) / np.sqrt(len(each)) if len(each) > 1 else 0.0
    return float(each.mean()), float(np.hypot(scatter, _SCALE_SHARE * each.mean()))


def _flip(frames: Sequence[SolvedFrame]) -> tuple[FlipPointing | None, tuple[str, ...]]:
    """Return the cone error and its companion, None where nothing can be said, with the reason."""
    if not {"east", "west"} <= {frame.side for frame in frames}:
        return None, ()
    pointings = [
        MeasuredPointing(
            frame.asked_ra_deg,
            frame.asked_dec_deg,
            frame.image.centre_ra_deg,
            frame.image.centre_dec_deg,
            frame.side,
        )
        for frame in frames
        if frame.asked_ra_deg is not None and frame.asked_dec_deg is not None
    ]
    if not {"east", "west"} <= {one.side for one in pointings}:
        return None, ("The headers do not say where the mount was sent, so the cone error stays unknown.",)
    off = [
        float(separation_deg(one.asked_ra_deg, one.asked_dec_deg, one.true_ra_deg, one.true_dec_deg)) * 3600.0
        for one in pointings
    ]
    if max(off) < _REWRITTEN_ARCSEC:
        why = (
            "The headers place the mount exactly where the images are: the solver wrote that, or the target was "
            "centred first. So the cone error stays unknown."
        )
        return None, (why,)
    return flip_pointing(pointings), ()
