"""What the first image says: where camera and guider really stand, and whether to turn them or to leave them."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sidelight.desk.clock import tonight
from sidelight.desk.first_image_measure import MeasuredAngles, measure
from sidelight.desk.first_image_records import (
    CheckQuestion,
    FirstImageReport,
)
from sidelight.desk.first_image_report import first_image_report, focal_usable, guider_angle_now_deg
from sidelight.desk.kept import pointed_as_kept, question_for
from sidelight.desk.learning import InForce, as_learned, in_force, learn, set_error_deg
from sidelight.desk.setup import SetupReport, setup_report
from sidelight.desk.sightings import Believed, GuideSpot, Recognised, recognise, stem_fit
from sidelight.desk.solved import read_solved
from sidelight.ground.angles import wrap_180, wrap_360
from sidelight.ground.errors import BadInput, Problem
from sidelight.ledger.stem_fit import StemFit
from sidelight.ledger.turns import as_in_west_deg
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import Measured


def check_images(notebook: Notebook, question: CheckQuestion, *, keep: bool = False) -> FirstImageReport:
    """Return what solved images say about the angles, and keep it in the notebook if asked.

    Raises BadInput for images that cannot be used, SkySaysNo when there is no set-up to compare with.
    """
    if question.spots and notebook.rig.guider is None:
        raise BadInput(Problem("This rig has no off-axis guider, so guide stars say nothing.", file="rig.toml"))
    frames = read_solved(notebook, question.files, question.sides)
    nights = [frame.night for frame in frames if frame.night is not None]
    night = max(nights) if nights else question.date or tonight(notebook.site)
    date = question.date or night
    asked = question_for(notebook, date, question.setup)
    pointed = pointed_as_kept(notebook, question.setup)
    plan = setup_report(pointed, asked)
    measured = measure(notebook, plan, frames, night)
    before = in_force(notebook.learned, measured.difference_deg, question.bench_day)
    entry = _entry(notebook, measured, before, night)
    fit, stars = _stem(as_learned(notebook, entry), plan, measured, question.spots)
    entry = _with_stem(entry, fit, plan, measured, before)
    camera_deg = float(wrap_360(measured.planned_deg + measured.difference_deg))
    offset_deg = _stem_offset(plan, measured, fit)
    held = None if notebook.rig.rotator else camera_deg
    now = setup_report(as_learned(pointed, entry), replace(asked, camera_angle_deg=held, stem_offset_deg=offset_deg))
    seen = tuple(star for _, star in stars.seen)
    report = first_image_report(notebook, question, plan, now, measured, (fit, seen), before, entry)
    learned_in = None
    if keep:
        _refuse_doubtful(measured)
        if report.verdict == "undecided":
            raise BadInput(
                Problem(
                    f"Not learnt: the images disagree by {measured.apart_deg:.1f}°.",
                    suggestion="Clamp, take one image on each side in one night, and check again.",
                )
            )
        learned_in = str(learn(notebook, entry))
    return replace(
        report,
        date=date,
        learned_in=learned_in,
        guide_picture_stands=stars.picture,
        guide_picture_may_stand=stars.possible,
        notes=(*report.notes, *stars.notes, *(fit.notes if fit else ())),
    )


def _refuse_doubtful(measured: MeasuredAngles) -> None:
    """Raise BadInput rather than learn from images that cannot be right."""
    bad = [image for image in measured.images if not image.sound]
    if len(bad) == len(measured.images):
        raise BadInput(
            Problem("Not learnt: the solution is skewed or uneven.", image.file, suggestion="Solve the image again.")
            for image in bad
        )
    if measured.offset.flip_deg is not None and abs(measured.offset.flip_deg.value) > 90.0:
        raise BadInput(
            Problem(
                "Not learnt: the images of the two sides stand on their heads against each other.",
                suggestion="Name the sides with --side, one for each image: the flip may have come at another time.",
            )
        )


def _entry(notebook: Notebook, measured: MeasuredAngles, before: InForce, night: dt.date) -> Measured:
    """Return what the images teach, before the guide stars are looked at."""
    offset = measured.offset.offset_deg
    error = round(set_error_deg(notebook, offset.error), 3)
    guided = notebook.rig.guider is not None
    focal = measured.focal_mm if focal_usable(notebook, measured) else None
    cone = measured.flip.cone_arcmin if measured.flip else None
    return Measured(
        date=night,
        camera_offset_deg=round(float(wrap_180(offset.value + before.camera_deg)), 4),
        camera_offset_error_deg=error,
        # the clamp at the telescope turns both; without a guide star that is all that can be said of the guider
        guider_offset_deg=round(float(wrap_180(measured.difference_deg + before.guider_deg)), 4) if guided else None,
        guider_offset_error_deg=error if guided else None,
        focal_length_mm=None if focal is None else round(focal, 2),
        focal_length_error_mm=None if focal is None else round(measured.focal_error_mm, 2),
        cone_error_arcmin=round(cone.value, 2) if cone and cone.determined else None,
        images_count=len(measured.frames),
    )


def _stem(
    notebook: Notebook, plan: SetupReport, measured: MeasuredAngles, spots: Sequence[GuideSpot]
) -> tuple[StemFit | None, Recognised]:
    """Return where the stem is by the guide stars, the stars, and what could not be recognised."""
    if not spots:
        return None, Recognised(None, (), (), ())
    by_file = {frame.file: frame for frame in measured.frames}
    believed = []
    for spot in spots:
        frame = by_file[spot.file]
        if plan.guider_angle_deg is None:
            stands = as_in_west_deg(frame.image.up_deg, frame.side) + (plan.stem_offset_deg or 0.0)
        else:
            stands = plan.guider_angle_deg + measured.difference_deg
        believed.append(Believed(frame, spot, stands))
    stars = recognise(notebook, plan.date, believed)
    return stem_fit(notebook, stars, measured.focal_error_mm), stars


def _with_stem(
    entry: Measured, fit: StemFit | None, plan: SetupReport, measured: MeasuredAngles, before: InForce
) -> Measured:
    """Return the entry with what the guide stars settle; what rests on an assumption is shown, not learnt."""
    if fit is None or not fit.determined or plan.guider_angle_deg is None:
        return entry
    off = wrap_180(guider_angle_now_deg(fit, measured) - plan.guider_angle_deg)
    radius = fit.stem_radius_mm
    bench = entry.camera_offset_error_deg or 0.0
    return replace(
        entry,
        guider_offset_deg=round(float(wrap_180(off + before.guider_deg)), 4),
        guider_offset_error_deg=round(float(np.hypot(bench, fit.stem_offset_deg.error or 0.0)), 3),
        stem_radius_mm=round(radius.value, 3),
        stem_radius_error_mm=None if radius.error is None else round(radius.error, 3),
    )


def _stem_offset(plan: SetupReport, measured: MeasuredAngles, fit: StemFit | None) -> float | None:
    """Return the stem offset as it now is: measured, else as it was clamped."""
    if fit is None or not fit.determined:
        return plan.stem_offset_deg
    turned = measured.offset.offset_deg.value - measured.difference_deg
    return float(wrap_180(fit.stem_offset_deg.value + turned))
