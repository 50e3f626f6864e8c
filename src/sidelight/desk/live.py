"""The dial as numbers, for a page that turns the needle itself: everything that the closed forms need, and no more.

The page works out rings, slack, frames and shadow from this by the same formulas as the solver; a test holds the
two against each other in a real browser.
"""

import datetime as dt
import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from sidelight.desk.chosen import chosen_targets
from sidelight.desk.setup import SetupQuestion, SetupReport, guiding_of, setup_report
from sidelight.desk.sides import needed_sides
from sidelight.desk.starlight import guide_catalogue, guide_limits
from sidelight.ground.types import FloatArray, IntArray
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import KeptSetUp
from sidelight.rig.guide_light import GuideLight
from sidelight.rig.guider import GuideRectangle, usable_rectangle, whole_rectangle
from sidelight.rig.records import Rig
from sidelight.setup.framing import ellipse_points
from sidelight.setup.reach import Reach, arcmin_to_mm
from sidelight.setup.records import Constraints, SetUp, SideNeed
from sidelight.setup.solve import ready_task
from sidelight.setup.task import Subject, reaches_for
from sidelight.stars.cone import Catalogue
from sidelight.targets.records import Outline

DRAWN_STARS = 1200
"""So many of the brightest are drawn whatever the guider sees; fainter ones only where it can use them."""
SKY_DECIMALS = 6


@dataclass(frozen=True)
class LiveOutline:
    """An object as five places on the sky: its middle and the four ends of its axes (ra, dec)."""

    name: str
    points_deg: tuple[tuple[float, float], ...]
    round: bool


@dataclass(frozen=True, eq=False)
class LiveTarget:
    """One target with the stars about it, brightest first.

    star_ra_deg, star_dec_deg, star_mag : (n,). usable : the rows of those that the guider can use.
    waived : too large for the frame at any angle, so that its frame is not asked for.
    """

    target: str
    required: bool
    waived: bool
    sizes_known: bool
    ra_deg: float
    dec_deg: float
    sides: tuple[SideNeed, ...]
    outlines: tuple[LiveOutline, ...]
    star_ra_deg: FloatArray
    star_dec_deg: FloatArray
    star_mag: FloatArray
    usable: IntArray


@dataclass(frozen=True)
class LivePose:
    """Where one target stands in a set-up."""

    target: str
    ra_deg: float
    dec_deg: float
    camera_angle_deg: float
    guider_angle_deg: float | None


@dataclass(frozen=True)
class LiveSetUp:
    """A set-up to jump to."""

    name: str
    kind: Literal["best", "next", "kept"]
    in_use: bool
    kept_on: dt.date | None
    note: str | None
    poses: tuple[LivePose, ...]


@dataclass(frozen=True)
class LiveRig:
    """What of the rig the formulas need, mm in the focal plane; rectangles are None without a guider.

    stem_arcs_deg : stem offsets without a shadow, unwrapped; shadow_everywhere : there are none.
    """

    focal_mm: float
    frame_width_mm: float
    frame_height_mm: float
    border_mm: float
    usable: GuideRectangle | None
    whole: GuideRectangle | None
    guide_pixel_mm: float | None
    guide_width_along_stem: bool
    flips: bool
    rotator: bool
    tolerance_deg: float
    stem_arcs_deg: tuple[tuple[float, float], ...]
    shadow_everywhere: bool


@dataclass(frozen=True)
class LiveDial:
    """A question answered, ready to be turned by hand."""

    date: dt.date
    nights: int
    outcome: str
    sentence: str
    remarks: tuple[str, ...]
    blocked: tuple[str, ...]
    help: tuple[str, ...]
    share_of_angles: float
    catalogue: str
    faint_mag: float
    bright_mag: float | None
    rig: LiveRig
    targets: tuple[LiveTarget, ...]
    setups: tuple[LiveSetUp, ...]


def live_dial(notebook: Notebook, question: SetupQuestion, report: SetupReport | None = None) -> LiveDial:
    """Answer a question of the set-up page; `report` spares the solving when it has been done.

    Raises BadInput for unknown targets.
    """
    answer = report or setup_report(notebook, question)
    targets = chosen_targets(notebook, question.only, question.leave_out)
    wants, _ = needed_sides(notebook, targets, question.date, question.nights)
    faint, bright = guide_limits(notebook)
    rig = replace(notebook.rig, guide_limit_mag=faint, guide_bright_mag=bright)
    catalogue, guiding = guide_catalogue(notebook, question.date), guiding_of(notebook, question)
    free = Constraints(question.camera_angle_deg, question.stem_offset_deg, question.grant_shift_arcmin)
    reaches = reaches_for(rig, wants, catalogue, guiding, question.grant_shift_arcmin)
    task = ready_task(rig, wants, reaches, free, faint)
    look = _Look(rig, guiding, catalogue, _radius_deg(notebook, question), faint, bright)
    found = [_setup(one, "best" if n == 0 else "next", n) for n, one in enumerate(_solved(answer))]
    return LiveDial(
        date=question.date,
        nights=question.nights,
        outcome=answer.outcome,
        sentence=answer.sentence,
        remarks=answer.notes,
        blocked=tuple(one.sentence for one in answer.blocked),
        help=tuple(one.sentence for one in answer.help),
        share_of_angles=answer.share_of_angles,
        catalogue=catalogue.name,
        faint_mag=faint,
        bright_mag=bright,
        rig=_rig(notebook, task.stem_arcs, task.shadow_everywhere),
        targets=tuple(_target(one, look) for one in task.subjects),
        setups=(*found, *(_kept(notebook, kept) for kept in notebook.setups)),
    )


def _solved(answer: SetupReport) -> tuple[SetUp, ...]:
    """Return the best set-up and the next best."""
    return (*((answer.best,) if answer.best else ()), *answer.next_best)


def _radius_deg(notebook: Notebook, question: SetupQuestion) -> float:
    """Return how much sky to show and to look for stars in: frame, guider, and the shifts that may be granted."""
    rig, focal_mm = notebook.rig, notebook.rig.telescope.effective_focal_length_mm
    reach_mm = 0.5 * math.hypot(rig.camera.width_mm, rig.camera.height_mm)
    if rig.guider:
        whole = whole_rectangle(rig.guider)
        reach_mm = max(reach_mm, math.hypot(whole.stem_radius_mm + whole.half_along_mm, whole.half_across_mm))
    allowed = max((target.shift_allowed_arcmin for target in notebook.targets), default=0.0)
    shift_arcmin = max(allowed, question.grant_shift_arcmin or 0.0)
    spare_mm = arcmin_to_mm(shift_arcmin, focal_mm)
    return math.degrees(math.atan((1.15 * reach_mm + spare_mm) / focal_mm))


def _rig(notebook: Notebook, stem_arcs: FloatArray, shadow_everywhere: bool) -> LiveRig:
    """Return what the formulas need of the rig."""
    rig, guider = notebook.rig, notebook.rig.guider
    focal_mm = rig.telescope.effective_focal_length_mm
    return LiveRig(
        focal_mm=focal_mm,
        frame_width_mm=rig.camera.width_mm,
        frame_height_mm=rig.camera.height_mm,
        border_mm=arcmin_to_mm(rig.tolerances.frame_border_arcmin, focal_mm),
        usable=usable_rectangle(rig) if guider else None,
        whole=whole_rectangle(guider) if guider else None,
        guide_pixel_mm=guider.sensor.pixel_um / 1000.0 if guider else None,
        guide_width_along_stem=bool(guider and guider.long_side == "along"),
        flips=rig.mount.flips,
        rotator=rig.rotator,
        tolerance_deg=rig.tolerances.angle_deg,
        stem_arcs_deg=tuple((float(a), float(b)) for a, b in stem_arcs),
        shadow_everywhere=shadow_everywhere,
    )


@dataclass(frozen=True)
class _Look:
    """How far and how deep to look for stars, and how they are judged."""

    rig: Rig
    guiding: GuideLight
    catalogue: Catalogue
    radius_deg: float
    faint_mag: float
    bright_mag: float | None


def _target(subject: Subject, look: _Look) -> LiveTarget:
    """Return one target with its stars."""
    ra_deg, dec_deg = subject.pointing_deg
    target = subject.want.target
    stars = look.catalogue.cone(ra_deg, dec_deg, look.radius_deg)
    reach = Reach(subject.want, stars, look.rig.telescope.effective_focal_length_mm)
    usable = reach.judged_by(look.rig, look.guiding) if look.rig.guider else reach
    rows = usable.usable_rows(look.faint_mag, look.bright_mag)
    count = min(len(stars), max(int(rows[-1]) + 1 if len(rows) else 0, DRAWN_STARS))
    return LiveTarget(
        target=target.key,
        required=subject.required,
        waived=subject.waived,
        sizes_known=target.sizes_known,
        ra_deg=ra_deg,
        dec_deg=dec_deg,
        sides=tuple(subject.want.sides),
        outlines=tuple(_outline(one) for one in (target.outlines or (Outline(target.key, ra_deg, dec_deg),))),
        star_ra_deg=np.round(stars.ra_deg[:count], SKY_DECIMALS),
        star_dec_deg=np.round(stars.dec_deg[:count], SKY_DECIMALS),
        star_mag=np.round(stars.mag[:count], 2),
        usable=rows,
    )


def _outline(outline: Outline) -> LiveOutline:
    """Return an outline as places on the sky."""
    return LiveOutline(outline.name, ellipse_points(outline), outline.position_angle_deg is None)


def _setup(setup: SetUp, kind: Literal["best", "next"], number: int) -> LiveSetUp:
    """Return a set-up that was found."""
    poses = tuple(
        LivePose(one.target, one.pointing_ra_deg, one.pointing_dec_deg, one.camera_angle_deg, one.guider_angle_deg)
        for one in setup.targets
    )
    name = "Best" if kind == "best" else "Next best" if number == 1 else f"Next best {number}"
    return LiveSetUp(name, kind, False, None, setup.behind or None, poses)


def _kept(notebook: Notebook, kept: KeptSetUp) -> LiveSetUp:
    """Return a set-up that is kept by name, for every target that is still on the list."""
    moved = {one.target: one for one in kept.pointings}
    camera = kept.camera_angle_deg or 0.0
    poses = []
    for target in notebook.targets:
        own = moved.get(target.key)
        angle = own.camera_angle_deg if own and own.camera_angle_deg is not None else camera
        guider = kept.guider_angle_deg
        if kept.stem_offset_deg is not None and (guider is None or angle != camera):
            guider = (angle + kept.stem_offset_deg) % 360.0
        ra_deg, dec_deg = (own.ra_deg, own.dec_deg) if own else (target.ra_deg, target.dec_deg)
        poses.append(LivePose(target.key, ra_deg, dec_deg, angle, guider))
    return LiveSetUp(kept.name, "kept", kept.in_use, kept.kept_on, kept.note, tuple(poses))
