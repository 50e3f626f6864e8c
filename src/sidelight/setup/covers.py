"""The smallest set of set-ups for one question: every set of rings that some angles serve, then the exact cover."""

from dataclasses import dataclass, replace
from itertools import islice, product

import numpy as np

from sidelight.ground import spans
from sidelight.ground.types import BoolArray, FloatArray
from sidelight.setup.arcwork import roomiest, shrink_at_most, sweep
from sidelight.setup.cover import minimum_cover
from sidelight.setup.joint import CameraCell, camera_cells, serving, touches, with_camera
from sidelight.setup.place import Pose, describe
from sidelight.setup.records import SetUp
from sidelight.setup.rotator import StemOption, most_slack, poses_for, stem_options
from sidelight.setup.task import Task

MOST_WAYS = 64


@dataclass(frozen=True)
class CoverResult:
    """setups : as few as serve all that can be served. left_out : what no set-up serves, as "target, side"."""

    setups: tuple[SetUp, ...]
    left_out: tuple[str, ...]


def smallest_cover(task: Task) -> CoverResult:
    """Return the fewest set-ups that together serve every needed ring, pointings at rest.

    A ring counts as served when it keeps the tolerance (or, where its arcs are too short for that, stands in the
    middle of its longest one) with its target in the frame. Without a guider the targets' frames are covered.
    """
    if not task.guided:
        return _of_frames(task)
    return _of_stems(task) if task.turning else _of_rings(task)


def _names(task: Task, columns: tuple[int, ...]) -> tuple[str, ...]:
    """Return rings as "target, side"."""
    rings = [task.needed[k] for k in columns]
    return tuple(f"{task.subjects[ring.subject].key}, {ring.side}" for ring in rings)


def _of_rings(task: Task) -> CoverResult:
    """Cover rings with pairs of camera and guider angle."""
    rings = task.needed
    subject_of = np.array([ring.subject for ring in rings], dtype=np.int64)
    firm = [shrink_at_most(ring.lit, task.tolerance_deg) for ring in rings]
    pieces, held = sweep(firm)
    rows: list[tuple[CameraCell, BoolArray]] = []
    for cell in camera_cells(task, task.tolerance_deg, lenient=True):
        here = held & cell.framed[subject_of][:, None] & touches(pieces, cell.guider_arcs)
        rows += [(cell, served) for served in np.unique(here.T, axis=0) if served.any()]
    if not rows:
        return CoverResult((), _names(task, tuple(range(len(rings)))))
    cover = minimum_cover(np.array([served for _, served in rows]))
    whole_pieces, whole_held = sweep([ring.lit for ring in rings])
    setups = []
    for row in cover.chosen:
        cell, served = rows[row]
        best = max(serving(whole_pieces, whole_held, served, cell), key=lambda one: one.slack_deg)
        choice = with_camera(task, best, cell)
        pose = Pose(choice.camera_angle_deg, choice.guider_angle_deg)
        setups.append(describe(_only(task, served), [pose] * len(task.subjects)))
    return CoverResult(tuple(setups), _names(task, cover.left_out))


def _only(task: Task, served: BoolArray) -> Task:
    """Return the question that one of several set-ups answers: the rings that it serves with the tolerance."""
    mine = [ring for ring, yes in zip(task.needed, served, strict=True) if yes]
    subjects = {ring.subject for ring in mine}
    rings = tuple(
        ring
        if any(ring is one for one in mine) or not ring.need.needed
        else replace(ring, need=replace(ring.need, needed=False))
        for ring in task.rings
    )
    return replace(
        task,
        rings=rings,
        subjects=tuple(replace(one, required=one.required and i in subjects) for i, one in enumerate(task.subjects)),
    )


def _of_frames(task: Task) -> CoverResult:
    """Cover frames with camera angles."""
    required = [i for i, subject in enumerate(task.subjects) if subject.required]
    firm = [shrink_at_most(task.subjects[i].camera_arcs, task.tolerance_deg) for i in required]
    _, held = sweep([*firm, task.fixed_camera])
    table = np.unique((held[:-1] & held[-1]).T, axis=0)
    cover = minimum_cover(table)
    setups = []
    for row in cover.chosen:
        sets = [task.subjects[i].camera_arcs for i, yes in zip(required, table[row], strict=True) if yes]
        left: FloatArray = task.fixed_camera
        for one in sets:
            left = spans.arcs_intersect(left, one)
        setups.append(describe(task, [Pose(roomiest(left), None)] * len(task.subjects)))
    left_out = tuple(task.subjects[required[k]].key for k in cover.left_out)
    return CoverResult(tuple(setups), left_out)


def _of_stems(task: Task) -> CoverResult:
    """Cover rings with stem offsets, each target free to turn."""
    options = [
        StemOption(one.subject, one.rings, shrink_at_most(one.together, task.tolerance_deg), one.camera_arcs)
        for one in stem_options(task, task.tolerance_deg)
    ]
    _, held = sweep([*(option.stems() for option in options), task.fixed_stem])
    rows: list[tuple[list[StemOption], BoolArray]] = []
    for column in np.unique(held[:-1, held[-1]].T, axis=0):
        chosen = [option for option, yes in zip(options, column, strict=True) if yes]
        for way in _ways(chosen):
            served = np.zeros(len(task.needed), dtype=bool)
            served[[k for option in way for k in option.rings]] = True
            rows.append((way, served))
    rows = [row for row in rows if row[0]]
    if not rows:
        return CoverResult((), _names(task, tuple(range(len(task.needed)))))
    cover = minimum_cover(np.array([served for _, served in rows]))
    setups = []
    for row in cover.chosen:
        way, own = rows[row]
        stem_deg, _ = most_slack(way, task.fixed_stem)
        setups.append(describe(_only(task, own), poses_for(task, way, stem_deg)))
    return CoverResult(tuple(setups), _names(task, cover.left_out))


def _ways(options: list[StemOption]) -> list[list[StemOption]]:
    """Return the ways to pick one option for each target: both rings where possible, else either one."""
    by_subject: dict[int, list[StemOption]] = {}
    for option in options:
        by_subject.setdefault(option.subject, []).append(option)
    picks = []
    for several in by_subject.values():
        largest = max(len(option.rings) for option in several)
        picks.append([option for option in several if len(option.rings) == largest])
    return [list(way) for way in islice(product(*picks), MOST_WAYS)]
