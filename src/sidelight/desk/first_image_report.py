"""What solved images say, put together beside the plan: figures, places, turns."""

import numpy as np

from sidelight.desk.bench import bench_report
from sidelight.desk.cautions import first_image_cautions
from sidelight.desk.first_image_measure import MeasuredAngles, half_turn_off_deg
from sidelight.desk.first_image_records import (
    CheckQuestion,
    FirstImageReport,
    PlaceNow,
    StemReport,
    TurnReport,
)
from sidelight.desk.first_image_words import error_note, flip_note, focal_words, overall_notes, verdict_of
from sidelight.desk.learning import InForce
from sidelight.desk.setup import SetupReport
from sidelight.desk.sightings import SeenStar
from sidelight.ground.angles import wrap_180, wrap_360
from sidelight.ledger.stem_fit import StemFit
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import Measured
from sidelight.rig.bench import camera_bench_deg

_NO_TURN_DEG = 0.05
_SAME_SHARE = 0.03


def focal_usable(notebook: Notebook, measured: MeasuredAngles) -> bool:
    """Tell whether the scale proves a focal length that this rig can have."""
    in_use = notebook.rig.telescope.effective_focal_length_mm
    return measured.focal_known and abs(measured.focal_mm / in_use - 1.0) < _SAME_SHARE


def guider_angle_now_deg(fit: StemFit, measured: MeasuredAngles) -> float:
    """Return the guider angle g that the guide stars prove; the fit counts from the picture's up."""
    return float(wrap_360(measured.planned_deg + measured.offset.offset_deg.value + fit.stem_offset_deg.value))


def first_image_report(
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
    offset, flip = measured.offset, measured.flip
    spread = {"error_deg": offset.offset_deg.error or 0.0, "apart_deg": measured.apart_deg}
    verdict, sentence = verdict_of(
        plan, now, places, turns, measured.difference_deg, turning=notebook.rig.rotator, **spread
    )
    turned = offset.flip_deg.value if offset.flip_deg else None
    setup = question.setup or (notebook.setup_in_use.name if notebook.setup_in_use else None)
    known = flip is not None and flip.cone_arcmin.determined
    return FirstImageReport(
        notebook=str(notebook.folder),
        date=plan.date,
        setup=setup,
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
        turns=() if verdict == "undecided" else turns,
        places=places,
        slack_deg=now.slack_deg or 0.0,
        planned_slack_deg=plan.slack_deg or 0.0,
        focal_length_mm=measured.focal_mm,
        focal_length_error_mm=measured.focal_error_mm,
        focal_length_in_use_mm=notebook.rig.telescope.effective_focal_length_mm,
        gauge_to_sky_deg=entry.camera_offset_deg or 0.0,
        gauge_to_sky_error_deg=entry.camera_offset_error_deg or 0.0,
        gauge_to_sky_words=before.words,
        flip_deg=turned,
        flip_error_deg=offset.flip_deg.error if offset.flip_deg else None,
        cone_arcmin=flip.cone_arcmin.value if flip and known else None,
        cone_error_arcmin=flip.cone_arcmin.error if flip and known else None,
        declination_arcmin=flip.declination_arcmin.value if flip and known else None,
        declination_error_arcmin=flip.declination_arcmin.error if flip and known else None,
        stem=_stem_report(fit, seen, plan, measured),
        learned_in=None,
        notes=(
            *flip_note(turned, plan.tolerance_deg),
            *(error_note(note, entry.camera_offset_error_deg or 0.0) for note in offset.notes),
            *overall_notes(notebook, setup, measured.half_turn, bool(seen)),
            *focal_words(notebook, measured.focal_mm, measured.focal_known, focal_usable(notebook, measured)),
            *measured.notes,
            *(flip.notes if flip else ()),
        ),
        cautions=first_image_cautions(notebook.rig),
        entry=entry,
        now=now,
        bench=bench,
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
        guider_angle_deg=guider_angle_now_deg(fit, measured),
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
    both = float(wrap_180(plan.guider_angle_deg - guider_angle_now_deg(fit, measured)))
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
