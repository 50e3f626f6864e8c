"""What the first image says: where camera and guider really stand, and whether to turn them or to leave them."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sidelight.desk.bench import bench_report
from sidelight.desk.cautions import first_image_cautions
from sidelight.desk.clock import tonight
from sidelight.desk.first_image_measure import MeasuredAngles, half_turn_off_deg, measure
from sidelight.desk.first_image_records import (
    CheckQuestion,
    FirstImageReport,
    PlaceNow,
    StemReport,
    TurnReport,
)
from sidelight.desk.first_image_words import focal_words, overall_notes, verdict_of
from sidelight.desk.kept import pointed_as_kept, question_for
from sidelight.desk.learning import InForce, as_learned, in_force, learn, set_error_deg
from sidelight.desk.setup import SetupReport, setup_report
from sidelight.desk.sightings import GuideSpot, SeenStar, recognise, stem_fit
from sidelight.desk.solved import SolvedFrame, read_solved
from sidelight.ground.angles import wrap_180, wrap_360
from sidelight.ground.errors import BadInput, Problem
from sidelight.ledger.stem_fit import StemFit
from sidelight.ledger.turns import as_in_west_deg
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import Measured
from sidelight.rig.bench import camera_bench_deg

_NO_TURN_DEG = 0.05
_SAME_SHARE = 0.03


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
    fit, seen, star_notes = _stem(as_learned(notebook, entry), plan, measured, question.spots)
    entry = _with_stem(entry, fit, plan, measured, before)
    camera_deg = float(wrap_360(measured.planned_deg + measured.difference_deg))
    offset_deg = _stem_offset(plan, measured, fit)
    held = None if notebook.rig.rotator else camera_deg
    now = setup_report(as_learned(pointed, entry), replace(asked, camera_angle_deg=held, stem_offset_deg=offset_deg))
    learned_in = None
    if keep:
        _refuse_doubtful(measured)
        learned_in = str(learn(notebook, entry))
    report = _report(notebook, question, plan, now, measured, (fit, seen), before, entry)
    return replace(report, date=date, learned_in=learned_in, notes=(*report.notes, *star_notes))


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
    focal = measured.focal_mm if _focal_usable(notebook, measured) else None
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


def _focal_usable(notebook: Notebook, measured: MeasuredAngles) -> bool:
    """Tell whether the scale proves a focal length that this rig can have."""
    in_use = notebook.rig.telescope.effective_focal_length_mm
    return measured.focal_known and abs(measured.focal_mm / in_use - 1.0) < _SAME_SHARE


def _stem(
    notebook: Notebook, plan: SetupReport, measured: MeasuredAngles, spots: Sequence[GuideSpot]
) -> tuple[StemFit | None, tuple[SeenStar, ...], tuple[str, ...]]:
    """Return where the stem is by the guide stars, the stars, and what could not be recognised."""
    if not spots:
        return None, (), ()
    by_file = {frame.file: frame for frame in measured.frames}
    planned = plan.guider_angle_deg
    seen: list[tuple[SolvedFrame, SeenStar]] = []
    notes: list[str] = []
    for spot in spots:
        frame = by_file[spot.file]
        if planned is None:
            offset = plan.stem_offset_deg or 0.0
            believed = as_in_west_deg(frame.image.up_deg, frame.side) + offset
        else:
            believed = planned + measured.difference_deg
        star, why = recognise(notebook, plan.date, frame, spot, believed)
        if star is None:
            notes.append(why)
        else:
            seen.append((frame, star))
    fit = stem_fit(notebook, seen, measured.focal_error_mm)
    return fit, tuple(star for _, star in seen), (*notes, *(fit.notes if fit else ()))


def _with_stem(
    entry: Measured, fit: StemFit | None, plan: SetupReport, measured: MeasuredAngles, before: InForce
) -> Measured:
    """Return the entry with what the guide stars settle; what rests on an assumption is shown, not learnt."""
    if fit is None or not fit.determined or plan.guider_angle_deg is None:
        return entry
    off = wrap_180(_guider_angle(fit, measured) - plan.guider_angle_deg)
    radius = fit.stem_radius_mm
    bench = entry.camera_offset_error_deg or 0.0
    return replace(
        entry,
        guider_offset_deg=round(float(wrap_180(off + before.guider_deg)), 4),
        guider_offset_error_deg=round(float(np.hypot(bench, fit.stem_offset_deg.error or 0.0)), 3),
        stem_radius_mm=round(radius.value, 3),
        stem_radius_error_mm=None if radius.error is None else round(radius.error, 3),
    )


def _guider_angle(fit: StemFit, measured: MeasuredAngles) -> float:
    """Return the guider angle g that the guide stars prove; the fit counts from the picture's up."""
    return float(wrap_360(measured.planned_deg + measured.offset.offset_deg.value + fit.stem_offset_deg.value))


def _stem_offset(plan: SetupReport, measured: MeasuredAngles, fit: StemFit | None) -> float | None:
    """Return the stem offset as it now is: measured, else as it was clamped."""
    if fit is None or not fit.determined:
        return plan.stem_offset_deg
    turned = measured.offset.offset_deg.value - measured.difference_deg
    return float(wrap_180(fit.stem_offset_deg.value + turned))


def _report(
    notebook: Notebook,
    question: CheckQuestion,
    plan: SetupReport,
    now: SetupReport,
    measured: MeasuredAngles,
    stem: tuple[StemFit | None, tuple[SeenStar, ...]],
    before: InForce,
    entry: Measured,
) -> FirstImageReport:
    """Put the report together."""
    bench = bench_report(notebook, plan)
    places = _places(plan, now)
    fit, seen = stem
    turns = _turns(notebook, plan, measured, fit)
    verdict, sentence = verdict_of(plan, now, places, turns, measured.difference_deg, turning=notebook.rig.rotator)
    offset, flip = measured.offset, measured.flip
    kept = notebook.setup_in_use
    known = flip is not None and flip.cone_arcmin.determined
    return FirstImageReport(
        notebook=str(notebook.folder),
        date=plan.date,
        setup=question.setup or (kept.name if kept else None),
        verdict=verdict,
        sentence=sentence,
        images=measured.images,
        planned_camera_angle_deg=measured.planned_deg,
        camera_angle_deg=float(wrap_360(measured.planned_deg + measured.difference_deg)),
        difference_deg=measured.difference_deg,
        difference_error_deg=offset.offset_deg.error,
        half_turn=measured.half_turn,
        by_rotator=notebook.rig.rotator,
        view=bench.view,
        turns=turns,
        places=places,
        slack_deg=now.slack_deg or 0.0,
        planned_slack_deg=plan.slack_deg or 0.0,
        focal_length_mm=measured.focal_mm,
        focal_length_error_mm=measured.focal_error_mm,
        focal_length_in_use_mm=notebook.rig.telescope.effective_focal_length_mm,
        gauge_to_sky_deg=entry.camera_offset_deg or 0.0,
        gauge_to_sky_error_deg=entry.camera_offset_error_deg or 0.0,
        gauge_to_sky_words=before.words,
        flip_deg=offset.flip_deg.value if offset.flip_deg else None,
        flip_error_deg=offset.flip_deg.error if offset.flip_deg else None,
        cone_arcmin=flip.cone_arcmin.value if flip and known else None,
        cone_error_arcmin=flip.cone_arcmin.error if flip and known else None,
        declination_arcmin=flip.declination_arcmin.value if flip and known else None,
        declination_error_arcmin=flip.declination_arcmin.error if flip and known else None,
        stem=_stem_report(fit, seen, plan, measured),
        learned_in=None,
        notes=(
            *offset.notes,
            *overall_notes(notebook, question.setup or (kept.name if kept else None), measured.half_turn, bool(seen)),
            *focal_words(notebook, measured.focal_mm, measured.focal_known, _focal_usable(notebook, measured)),
            *measured.notes,
            *(flip.notes if flip else ()),
        ),
        cautions=first_image_cautions(notebook.rig),
        entry=entry,
        now=now,
    )


def _stem_report(
    fit: StemFit | None, seen: tuple[SeenStar, ...], plan: SetupReport, measured: MeasuredAngles
) -> StemReport | None:
    """Return the stem as the guide stars show it."""
    if fit is None:
        return None
    return StemReport(
        stem_radius_mm=fit.stem_radius_mm.value,
        stem_radius_error_mm=fit.stem_radius_mm.error,
        stem_offset_deg=float(
            wrap_180(fit.stem_offset_deg.value + measured.offset.offset_deg.value - measured.difference_deg)
        ),
        stem_offset_error_deg=fit.stem_offset_deg.error,
        guider_angle_deg=_guider_angle(fit, measured),
        planned_guider_angle_deg=plan.guider_angle_deg or 0.0,
        tilt_deg=fit.tilt_deg.value,
        tilt_error_deg=fit.tilt_deg.error,
        settled=fit.determined,
        stars=seen,
    )


def _places(plan: SetupReport, now: SetupReport) -> tuple[PlaceNow, ...]:
    """Return each ring as it now stands beside the plan."""
    planned = {(ring.target, ring.side): ring for ring in plan.rings}
    was = {one.target: one.framed or one.frame_waived for one in plan.targets}
    stands = {one.target: one for one in now.targets}
    places = []
    for ring in now.rings:
        before = planned.get((ring.target, ring.side))
        target = stands.get(ring.target)
        framed = bool(target and (target.framed or target.frame_waived))
        lost_star = bool(before and before.star is not None and ring.star is None)
        lost_frame = was.get(ring.target, False) and not framed
        places.append(
            PlaceNow(
                target=ring.target,
                side=ring.side,
                needed=ring.needed,
                star=ring.star,
                place_on_sensor_px=ring.place_on_sensor_px,
                slack_deg=ring.slack_deg if ring.star else 0.0,
                planned_slack_deg=before.slack_deg if before and before.star else 0.0,
                framed=framed,
                frame_slack_deg=target.frame_slack_deg if target else 0.0,
                lost=ring.needed and (lost_star or lost_frame),
            )
        )
    return tuple(places)


def _turns(
    notebook: Notebook, plan: SetupReport, measured: MeasuredAngles, fit: StemFit | None
) -> tuple[TurnReport, ...]:
    """Return the turns that bring the metal to the plan, in the order in which they are made."""
    back = -measured.difference_deg
    if fit is None or not fit.determined or plan.guider_angle_deg is None:
        part = "camera and guider together" if notebook.rig.guider else "the camera"
        part = "the rotator" if notebook.rig.rotator else part
        return (turn_of(notebook, part, back),)
    both = float(wrap_180(plan.guider_angle_deg - _guider_angle(fit, measured)))
    alone = half_turn_off_deg(back - both)
    return (
        turn_of(notebook, "camera and guider together", both),
        turn_of(notebook, "the camera alone, the stem held", alone),
    )


def turn_of(notebook: Notebook, part: str, on_sky_deg: float) -> TurnReport:
    """Return a turn on the sky as a turn of the metal, by the bench's conventions."""
    southern = notebook.site.latitude_deg < 0
    from_deg, to_deg = camera_bench_deg(np.array([0.0, on_sky_deg]), notebook.rig, southern=southern)
    counter = float(wrap_180(to_deg - from_deg)) > 0
    by = abs(on_sky_deg)
    sense = "none" if by < _NO_TURN_DEG else "counter-clockwise" if counter else "clockwise"
    return TurnReport(part, on_sky_deg, sense, by)
