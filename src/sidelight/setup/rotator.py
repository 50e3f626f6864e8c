"""With a rotator: one stem offset θ for all targets, and for each its own camera angle p, so that g = p + θ."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground import spans
from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.setup.arcwork import common, nearest_to_middle, negative, roomiest, shrink, sum_of, sweep
from sidelight.setup.joint import arc_of, runs
from sidelight.setup.place import Pose
from sidelight.setup.task import Task

SLACK_STEP_DEG = 1e-4
MOST_RUNS = 12


@dataclass(frozen=True)
class StemOption:
    """One way to serve one target: a set of its needed rings together, and the θ that allow it.

    together : where all these rings are lit (g). camera_arcs : p with the margin taken off.
    """

    subject: int
    rings: tuple[int, ...]
    together: FloatArray
    camera_arcs: FloatArray

    def stems(self, slack_deg: float = 0.0) -> FloatArray:
        """Return the θ at which some p serves these rings with at least this slack."""
        return sum_of(shrink(self.together, slack_deg), negative(self.camera_arcs))


def stem_options(task: Task, margin_deg: float) -> list[StemOption]:
    """Return every option of every needed target: each ring alone, and both together."""
    options = []
    for index, subject in enumerate(task.subjects):
        own = [k for k, ring in enumerate(task.needed) if ring.subject == index]
        camera = shrink(subject.camera_arcs, margin_deg)
        subsets = [(k,) for k in own] + ([tuple(own)] if len(own) > 1 else [])
        options += [
            StemOption(index, rings, common([task.needed[k].lit for k in rings]), camera) for rings in subsets
        ]
    return options


def stem_choices(task: Task, margin_deg: float) -> list[tuple[float, list[Pose]]]:
    """Return (θ, poses) on different arcs of θ, best first: most rings, then most slack of the worst one."""
    options = stem_options(task, margin_deg)
    stem = shrink(task.fixed_stem, margin_deg if task.constraints.stem_offset_deg is None else 0.0)
    pieces, held = sweep([*(option.stems() for option in options), stem])
    allowed, held = held[-1], held[:-1]
    counts = np.where(allowed, _served(task, options, held), -1)
    found: list[tuple[int, float, float]] = []
    for level in np.unique(counts)[::-1][:2]:
        if level <= 0:
            continue
        columns = np.unique(held[:, counts == level].T, axis=0)
        for column in columns:
            same = (held == column[:, None]).all(axis=0) & allowed
            for run in runs(same)[:MOST_RUNS]:
                chosen = [option for option, yes in zip(options, column, strict=True) if yes]
                best = most_slack(chosen, common([spans.arcs([arc_of(pieces, run)]), stem]))
                found.append((int(level), best[1], best[0]))
    found.sort(reverse=True)
    return [(stem_deg, poses_for(task, options, stem_deg)) for _, _, stem_deg in found[:6]]


def _served(task: Task, options: Sequence[StemOption], held: BoolArray) -> IntArray:
    """Return for each elementary arc of θ how many rings are served: for each target its best option there."""
    total = np.zeros(held.shape[1], dtype=np.int64)
    for index in range(len(task.subjects)):
        sizes = [
            np.where(row, len(option.rings), 0)
            for option, row in zip(options, held, strict=True)
            if option.subject == index
        ]
        if sizes:
            total += np.max(sizes, axis=0)
    return total


def most_slack(options: Sequence[StemOption], within: FloatArray) -> tuple[float, float]:
    """Return (θ, slack) where the worst target's slack is largest, among the given angles.

    The angles that allow a slack shrink as it grows, so halving finds the largest, to 0.0001°.
    """
    by_subject: dict[int, list[StemOption]] = {}
    for option in options:
        by_subject.setdefault(option.subject, []).append(option)

    def left(slack_deg: float) -> FloatArray:
        remaining = within
        for several in by_subject.values():
            largest = max(len(option.rings) for option in several)
            ways = [option.stems(slack_deg) for option in several if len(option.rings) == largest]
            remaining = common([remaining, spans.arcs_union(*ways)])
            if not len(remaining):
                break
        return remaining

    low, high = 0.0, 180.0
    while high - low > SLACK_STEP_DEG:
        middle = (low + high) / 2
        low, high = (middle, high) if len(left(middle)) else (low, middle)
    best = left(low)
    return (roomiest(best) if len(best) else float(within[:, 0][0])), low


def poses_for(task: Task, options: Sequence[StemOption], stem_deg: float) -> list[Pose]:
    """Return each target's best camera angle for one θ: most rings, then most slack, then the frame's middle."""
    poses = []
    for index, subject in enumerate(task.subjects):
        best: tuple[int, float, float] | None = None
        for option in (one for one in options if one.subject == index):
            for arc in spans.arcs_turn(option.together, -stem_deg):
                found = nearest_to_middle(arc, option.camera_arcs)
                if found is not None and (best is None or (len(option.rings), found[1]) > best[:2]):
                    best = len(option.rings), found[1], found[0]
        arcs = subject.camera_arcs
        camera = best[2] if best else (roomiest(arcs) if len(arcs) else 0.0)
        poses.append(Pose(camera, camera + stem_deg))
    return poses


def share_of_stems(task: Task) -> float:
    """Return the part of the circle of θ that serves every needed ring and frame, whatever the slack."""
    full = [
        option
        for option in stem_options(task, 0.0)
        if len(option.rings) == sum(ring.subject == option.subject for ring in task.needed)
    ]
    if not full:
        return 0.0
    return spans.total(common([*(option.stems() for option in full), task.fixed_stem])) / 360.0
