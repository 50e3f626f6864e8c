"""The joint best camera and guider angle, exactly: sweeps over the ends of arcs, no grid of angles.

The slack of a set of rings at g is the distance to the nearer end of the arc of their intersection that g stands
in; so for every set of rings served together the best g is the middle of the longest arc of the intersection, or
the allowed angle nearest to it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground import spans
from sidelight.ground.angles import wrap_180, wrap_360
from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.setup.arcwork import (
    common,
    is_full,
    nearest_to_middle,
    negative,
    roomiest,
    shrink,
    shrink_at_most,
    sum_of,
    sweep,
)
from sidelight.setup.task import Task

MOST_CHOICES = 6
TWIN_DEG = 1e-6


@dataclass(frozen=True)
class Choice:
    """A candidate: camera and guider angle, the arc of g it stands in, and how many needed rings (frames) it serves.

    guider_angle_deg : None without a guider; then the arc is one of p.
    """

    camera_angle_deg: float
    guider_angle_deg: float | None
    served: int
    slack_deg: float
    arc: tuple[float, float]


@dataclass(frozen=True)
class CameraCell:
    """Camera angles at which one set of targets is framed.

    framed : (subjects,) who counts as framed. camera_arcs, guider_arcs : p, and the g that p and the stem allow, both
    with the margin taken off; whole_arcs : p without the margin.
    """

    framed: BoolArray
    camera_arcs: FloatArray
    guider_arcs: FloatArray
    whole_arcs: FloatArray


def camera_cells(task: Task, margin_deg: float, lenient: bool = False) -> list[CameraCell]:
    """Return every distinct set of targets that some camera angle frames with the margin, with its angles.

    lenient : a target that fits on short arcs only keeps the middle of the longest rather than nothing.
    """
    required = [i for i, subject in enumerate(task.subjects) if subject.required]
    shorten = shrink_at_most if lenient else shrink
    shrunk = [shorten(task.subjects[i].camera_arcs, margin_deg) for i in required]
    stem = shorten(task.fixed_stem, margin_deg if task.constraints.stem_offset_deg is None else 0.0)
    if not len(stem):
        return []
    _, held = sweep([*shrunk, task.fixed_camera])
    cells = []
    for column in np.unique(held[:-1, held[-1]].T, axis=0):
        framed = np.zeros(len(task.subjects), dtype=bool)
        framed[[i for i, yes in zip(required, column, strict=True) if yes]] = True
        chosen = [one for one, yes in zip(shrunk, column, strict=True) if yes]
        camera = common([*chosen, task.fixed_camera])
        whole = common([task.fixed_camera, *(task.subjects[i].camera_arcs for i in np.flatnonzero(framed))])
        if len(camera):
            cells.append(CameraCell(framed, camera, sum_of(camera, stem), whole))
    return sorted(cells, key=lambda cell: -int(cell.framed.sum()))


def guided_choices(task: Task, margin_deg: float, most: int = MOST_CHOICES) -> list[Choice]:
    """Return the best choices on different arcs of g, best first: most rings, then most slack.

    margin_deg : the frame and the stem keep at least this distance from their limits.
    """
    rings = task.needed
    subject_of = np.array([ring.subject for ring in rings], dtype=np.int64)
    pieces, held = sweep([ring.lit for ring in rings])
    found: list[tuple[Choice, CameraCell]] = []
    best_count = 0
    for cell in camera_cells(task, margin_deg) if rings else []:
        eligible = cell.framed[subject_of]
        if int(eligible.sum()) < best_count - 1:
            continue
        for choice in _on_cell(pieces, held & eligible[:, None], cell):
            found.append((choice, cell))
            best_count = max(best_count, choice.served)
    return [with_camera(task, choice, cell) for choice, cell in _distinct(found, most)]


def most_together(task: Task) -> int:
    """Return the most needed rings that are lit at one g, were there no frame and no shadow."""
    _, held = sweep([ring.lit for ring in task.needed])
    return int(held.sum(axis=0).max())


def _on_cell(pieces: FloatArray, held: BoolArray, cell: CameraCell) -> Iterator[Choice]:
    """Yield, for one set of framed targets, the best g on every arc that serves the most rings, and one ring less."""
    allowed = touches(pieces, cell.guider_arcs)
    counts = held.sum(axis=0)
    levels = np.unique(counts[allowed])[::-1][:2]
    for level in levels[levels > 0]:
        at = np.flatnonzero((counts == level) & allowed)
        for served in np.unique(held[:, at].T, axis=0):
            yield from serving(pieces, held, served, cell)


def serving(pieces: FloatArray, held: BoolArray, served: BoolArray, cell: CameraCell) -> Iterator[Choice]:
    """Yield the best g on each arc on which all the given sets hold and which the camera and the stem allow.

    pieces, held : from `sweep`. served : (sets,) which of them.
    """
    for run in runs(np.all(held[served], axis=0)):
        arc = arc_of(pieces, run)
        best = nearest_to_middle(arc, cell.guider_arcs)
        if best is not None:
            yield Choice(0.0, best[0], int(served.sum()), best[1], (float(arc[0]), float(arc[1])))


def touches(pieces: FloatArray, arcs: FloatArray) -> BoolArray:
    """Tell which elementary arcs meet an arc set in more than a point."""
    if is_full(arcs):
        return np.ones(len(pieces), dtype=bool)
    met = np.zeros(len(pieces), dtype=bool)
    for turn in (0.0, 360.0):
        low = np.maximum(pieces[:, None, 0] + turn, arcs[None, :, 0])
        high = np.minimum(pieces[:, None, 1] + turn, arcs[None, :, 1])
        met |= (high > low).any(axis=1)
    return met


def runs(flags: BoolArray) -> list[IntArray]:
    """Return the indices of each run of True on a circle, in order round it."""
    if flags.all():
        return [np.arange(len(flags))]
    start = int(np.flatnonzero(~flags)[0])
    order = np.roll(np.arange(len(flags)), -start)
    on = flags[order]
    edges = np.flatnonzero(np.diff(np.concatenate([[False], on, [False]]).astype(np.int8)))
    return [order[first:last] for first, last in edges.reshape(-1, 2)]


def arc_of(pieces: FloatArray, run: IntArray) -> FloatArray:
    """Return the unwrapped arc that a run of elementary arcs fills."""
    if len(run) == len(pieces):
        return np.array([0.0, 360.0])
    start, end = pieces[run[0], 0], pieces[run[-1], 1]
    return np.array([start, end if end > start else end + 360.0])


def _distinct(found: Sequence[tuple[Choice, CameraCell]], most: int) -> list[tuple[Choice, CameraCell]]:
    """Return the best choices whose arcs do not overlap with those of a better one.

    Where all targets need both sides, the whole turned by half a turn serves the same: it is named once.
    """
    ranked = sorted(found, key=lambda one: (-one[0].served, -round(one[0].slack_deg, 9), one[0].guider_angle_deg))
    kept: list[tuple[Choice, CameraCell]] = []
    for choice, cell in ranked:
        at = choice.guider_angle_deg or 0.0
        if not any(_same(choice, at, other) for other, _ in kept):
            kept.append((choice, cell))
        if len(kept) >= most:
            break
    return kept


def _same(choice: Choice, at_deg: float, other: Choice) -> bool:
    """Tell whether a choice stands in another's arc, or is the other turned by half a turn and serves the same."""
    if (at_deg - other.arc[0]) % 360.0 <= other.arc[1] - other.arc[0]:
        return True
    opposite = abs(abs(float(wrap_180(at_deg - (other.guider_angle_deg or 0.0)))) - 180.0) < TWIN_DEG
    return opposite and choice.served == other.served and abs(choice.slack_deg - other.slack_deg) < TWIN_DEG


def with_camera(task: Task, choice: Choice, cell: CameraCell) -> Choice:
    """Return the choice with the camera angle that is farthest from losing the frame and from the prism's shadow."""
    guider = choice.guider_angle_deg or 0.0
    camera = best_camera_deg(task, guider, cell.whole_arcs)
    return Choice(camera, guider, choice.served, choice.slack_deg, choice.arc)


def best_camera_deg(task: Task, guider_angle_deg: float, frame_arcs: FloatArray) -> float:
    """Return the camera angle in `frame_arcs` with the most room to turn, for the frame and for the stem together.

    The distance to the nearer end of an arc of the intersection of both is the lesser of the two distances, so the
    middle of its longest arc is the best. Where nothing limits, the stem stands along the frame's height (θ = 0).
    """
    if task.constraints.camera_angle_deg is not None:
        return float(wrap_360(task.constraints.camera_angle_deg))
    if task.constraints.stem_offset_deg is not None:
        return float(wrap_360(guider_angle_deg - task.constraints.stem_offset_deg))
    from_stem = spans.arcs_turn(negative(task.fixed_stem), guider_angle_deg)
    both = common([frame_arcs, from_stem])
    if not len(both):
        return guider_angle_deg
    camera = guider_angle_deg if is_full(both) else roomiest(both)
    offset = float(wrap_180(guider_angle_deg - camera))
    # half a turn of the camera frames the same sky: keep the stem near the picture's top
    return float(wrap_360(camera + (180.0 if not -90.0 <= offset < 90.0 else 0.0)))


def unguided_choices(task: Task) -> list[Choice]:
    """Return camera angles that frame the most targets, with the most room to turn; for a rig without a guider."""
    sets = [subject.camera_arcs for subject in task.subjects if subject.required]
    fixed = task.constraints.camera_angle_deg
    if fixed is not None:
        served = sum(bool(spans.arcs_contain(one, fixed)) for one in sets)
        return [Choice(float(wrap_360(fixed)), None, served, 0.0, (fixed, fixed))]
    pieces, held = sweep(sets)
    whole = CameraCell(np.ones(0, dtype=bool), spans.FULL_CIRCLE, spans.FULL_CIRCLE, spans.FULL_CIRCLE)
    found = [(choice, whole) for choice in _on_cell(pieces, held, whole)]
    return [
        Choice(choice.guider_angle_deg or 0.0, None, choice.served, choice.slack_deg, choice.arc)
        for choice, _ in _distinct(found, MOST_CHOICES)
    ]


def share_of_angles(task: Task) -> float:
    """Return the part of the circle of g (of p without a guider) that serves everything, whatever the slack."""
    required = [subject.camera_arcs for subject in task.subjects if subject.required]
    camera = common([*required, task.fixed_camera])
    if not required or not len(camera):
        return 0.0
    if not task.guided:
        return spans.total(camera) / 360.0
    lit = common([ring.lit for ring in task.needed])
    return spans.total(spans.arcs_intersect(lit, sum_of(camera, task.fixed_stem))) / 360.0
