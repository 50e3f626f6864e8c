"""A set-up described in full: every star, place, slack and frame worked out anew from the sky at the chosen angles.

Whatever found the angles, what is reported comes from here, by exact projection about the (shifted) pointings.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sidelight.ground import spans
from sidelight.ground.angles import wrap_180, wrap_360
from sidelight.rig.guide_light import edge_distance_px
from sidelight.rig.guider import guider_of, place_on_sensor_px
from sidelight.rig.optics import sky_deg
from sidelight.setup import framing
from sidelight.setup.arcwork import slack_at
from sidelight.setup.reach import StarTable, mm_to_arcmin
from sidelight.setup.records import GuidePlace, GuideStar, SetUp, TargetPlace
from sidelight.setup.rings import side_turn_deg
from sidelight.setup.task import LitRing, Subject, Task, lit_ring

NO_LIMIT_DEG = 180.0
HAIR_DECIMALS = 7
"""Angles are rounded to so many decimals of a degree: far finer than any bench, coarser than sums of angles err."""
ROUNDING_DEG = 0.002
"""What is short of the tolerance by less has lost it to rounding only: a set-up is kept with angles to 0.001° and
pointings to 10⁻⁶°, and is to be judged as it was when it was found."""


@dataclass(frozen=True)
class Pose:
    """The angles for one target, and how far its pointing is moved in the focal plane (east, north), mm."""

    camera_angle_deg: float
    guider_angle_deg: float | None
    shift_mm: tuple[float, float] = (0.0, 0.0)


def shifted(task: Task, index: int, shift_mm: tuple[float, float]) -> tuple[Subject, tuple[LitRing, ...]]:
    """Return one subject and its rings about the pointing moved by (east, north) mm in the focal plane."""
    subject = task.subjects[index]
    rings = tuple(ring for ring in task.rings if ring.subject == index)
    if shift_mm == (0.0, 0.0):
        return subject, rings
    ra_deg, dec_deg = sky_deg(*shift_mm, *subject.pointing_deg, task.focal_mm)
    pointing = float(ra_deg), float(dec_deg)
    outlines = framing.plane_outlines(subject.want.target, task.rig, pointing)
    stars: StarTable | None = None
    if task.rectangle is not None:
        stars = task.reaches[index].usable(task.limit_mag, task.bright_mag, pointing)
        rings = tuple(lit_ring(index, ring.need, stars, task.rectangle) for ring in rings)
    moved = replace(subject, pointing_deg=pointing, stars=stars, free_arcs=framing.frame_arcs(outlines))
    return moved, rings


def describe(task: Task, poses: Sequence[Pose]) -> SetUp:
    """Return the set-up that these poses, one for each subject, make."""
    places: list[GuidePlace] = []
    targets: list[TargetPlace] = []
    for index, pose in enumerate(poses):
        subject, rings = shifted(task, index, pose.shift_mm)
        targets.append(_target_place(task, subject, pose))
        if pose.guider_angle_deg is not None:
            places.extend(_guide_place(task, subject, ring, pose.guider_angle_deg) for ring in rings)
    return _summary(task, poses, places, targets)


def _target_place(task: Task, subject: Subject, pose: Pose) -> TargetPlace:
    """Return how one target stands."""
    east, north = (mm_to_arcmin(one, task.focal_mm) for one in pose.shift_mm)
    guider = pose.guider_angle_deg
    return TargetPlace(
        target=subject.key,
        needed=subject.required,
        camera_angle_deg=float(wrap_360(round(pose.camera_angle_deg, HAIR_DECIMALS))),
        guider_angle_deg=None if guider is None else float(wrap_360(round(guider, HAIR_DECIMALS))),
        pointing_ra_deg=subject.pointing_deg[0],
        pointing_dec_deg=subject.pointing_deg[1],
        shift_east_arcmin=east,
        shift_north_arcmin=north,
        shift_arcmin=mm_to_arcmin(float(np.hypot(*pose.shift_mm)), task.focal_mm),
        framed=bool(spans.arcs_contain(subject.free_arcs, pose.camera_angle_deg)),
        frame_waived=subject.waived,
        frame_slack_deg=slack_at(subject.free_arcs, pose.camera_angle_deg),
    )


def _guide_place(task: Task, subject: Subject, ring: LitRing, guider_angle_deg: float) -> GuidePlace:
    """Return the star of a ring: of those that stand the tolerance, else have most slack, the brightest sound one."""
    turned = np.mod(guider_angle_deg - ring.rows[:, 0], 360.0)
    length = ring.rows[:, 1] - ring.rows[:, 0]
    own_slack = np.minimum(turned, length - turned)
    on_sensor = np.flatnonzero(own_slack >= 0)
    star, where, star_slack, edge_px = None, None, 0.0, None
    if len(on_sensor) and subject.stars is not None:
        enough = min(task.tolerance_deg, float(own_slack[on_sensor].max()))
        good = on_sensor[own_slack[on_sensor] >= enough - ROUNDING_DEG]
        # stars are numbered from the brightest; one with a fault only where there is no other
        faulty = subject.stars.faults[ring.star[good]] != 0
        row = int(good[np.lexsort((ring.star[good], faulty))[0]])
        star, where = _star_and_place(task, subject.stars, int(ring.star[row]), ring, guider_angle_deg)
        star_slack = float(own_slack[row])
        edge_px = float(edge_distance_px(*where, guider_of(task.rig)))
    return GuidePlace(
        target=subject.key,
        side=ring.side,
        needed=ring.need.needed and subject.required,
        star=star,
        place_on_sensor_px=where,
        slack_deg=slack_at(ring.lit, guider_angle_deg),
        star_slack_deg=star_slack,
        pointing_ra_deg=subject.pointing_deg[0],
        pointing_dec_deg=subject.pointing_deg[1],
        edge_distance_px=edge_px,
        near_edge=edge_px is not None and edge_px < task.rig.tolerances.guide_box_px,
    )


def _star_and_place(
    task: Task, stars: StarTable, row: int, ring: LitRing, guider_angle_deg: float
) -> tuple[GuideStar, tuple[float, float]]:
    """Return one star of the table and its place on the guide sensor, px from the centre."""
    stands_deg = guider_angle_deg + side_turn_deg(ring.side)
    x_px, y_px = place_on_sensor_px(stars.x_mm[row], stars.y_mm[row], stands_deg, guider_of(task.rig))
    return stars.star(row), (float(x_px), float(y_px))


def _summary(
    task: Task, poses: Sequence[Pose], places: Sequence[GuidePlace], targets: Sequence[TargetPlace]
) -> SetUp:
    """Count what is served and take the worst slacks."""
    inside = {one.target for one in targets if one.framed or one.frame_waived}
    needed = [one for one in places if one.needed]
    served = [one for one in needed if one.star is not None and one.target in inside]
    frames = [one for one in targets if one.needed and not one.frame_waived]
    framed = [one for one in frames if one.framed]
    frame_slack = min((one.frame_slack_deg for one in framed), default=NO_LIMIT_DEG)
    slack = min((one.slack_deg for one in served), default=0.0) if task.guided else frame_slack
    first, one_angle = poses[0], not task.turning
    stem = None if first.guider_angle_deg is None else first.guider_angle_deg - first.camera_angle_deg
    shadow_slack = NO_LIMIT_DEG
    if stem is not None:
        shadow_slack = 0.0 if task.shadow_everywhere else slack_at(task.stem_arcs, stem)
    complete = len(served) == len(needed) and len(framed) == len(frames)
    least = task.tolerance_deg - ROUNDING_DEG
    return SetUp(
        camera_angle_deg=targets[0].camera_angle_deg if one_angle else None,
        guider_angle_deg=targets[0].guider_angle_deg if one_angle else None,
        # differences of angles leave a hair below 0, which would be read as a whole turn
        stem_offset_deg=None if stem is None else round(float(wrap_180(stem)), HAIR_DECIMALS) + 0.0,
        slack_deg=slack,
        frame_slack_deg=frame_slack,
        shadow_slack_deg=shadow_slack,
        rings_served=len(served),
        rings_needed=len(needed),
        frames_served=len(framed),
        frames_needed=len(frames),
        recommended=complete and min(slack, frame_slack, shadow_slack) >= least,
        faintest_star_mag=max((one.star.mag for one in served if one.star is not None), default=None),
        largest_shift_arcmin=max(one.shift_arcmin for one in targets),
        places=tuple(places),
        targets=tuple(targets),
        doubtful_stars_count=sum(bool(one.star.faults) for one in served if one.star is not None),
        least_snr=min((one.star.snr for one in served if one.star and one.star.snr is not None), default=None),
    )
