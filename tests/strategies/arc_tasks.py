"""Set-up questions given by their arcs alone, without a sky, and what a fine grid of angles says of them.

All arcs begin and end at whole degrees. Then whatever holds together somewhere holds where one angle is the middle
of a degree and the other a quarter or three quarters of one, and what is best is best at whole or half degrees: the
grids miss nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from tests.strategies.setup import FewStars, small_rig, want

from sidelight.ground import spans
from sidelight.setup.records import Constraints, Frame
from sidelight.setup.solve import ready_task
from sidelight.setup.task import LitRing, Task, reaches_for

Rows = Sequence[Sequence[float]]
EVERY: Rows = [[0.0, 360.0]]
MIDDLES = 0.5 + np.arange(360)
OPEN = 0.25 + 0.5 * np.arange(720)
CLOSED = 0.5 * np.arange(720)


@dataclass(frozen=True)
class Asked:
    """One target: camera angles that frame it, and guider angles that light its rings; None where not needed."""

    camera: Rows
    west: Rows | None = None
    east: Rows | None = None


def arc_task(
    asked: Sequence[Asked],
    stem: Rows = EVERY,
    held: Constraints = Constraints(),  # noqa: B008 - a frozen record
    rotator: bool = False,
    guided: bool = True,
) -> Task:
    """Make a question of these arcs."""
    rig = small_rig(rotator=rotator, guided=guided)
    wants = [
        want(f"target {k}", (20.0 * k, 10.0), sides=" ".join(side for side in ("east", "west") if getattr(one, side)))
        for k, one in enumerate(asked)
    ]
    wants = [want(f"target {k}", (20.0 * k, 10.0)) if not guided else asking for k, asking in enumerate(wants)]
    # a star for each, 22 mm north, that every ring names
    stars = FewStars(*np.array([[20.0 * k, 10.7877, 9.0] for k in range(len(asked))]).T)
    task = ready_task(rig, wants, reaches_for(rig, wants, stars), held, None)
    return replace(
        task,
        subjects=tuple(
            replace(subject, free_arcs=spans.arcs(one.camera), frame=framed_on(subject.frame, one.camera))
            for subject, one in zip(task.subjects, asked, strict=True)
        ),
        rings=tuple(_lit(ring, getattr(asked[ring.subject], ring.side) or []) for ring in task.rings),
        stem_arcs=spans.arcs(stem),
    )


def framed_on(frame: Frame, rows: Rows) -> Frame:
    """Return what is said of a frame with other camera angles, as it would be with a shift granted too."""
    return replace(frame, arcs=tuple((float(start), float(end)) for start, end in spans.arcs(rows)))


def _lit(ring: LitRing, rows: Rows) -> LitRing:
    """Return a ring that is lit at these angles, by the first star."""
    lit = spans.arcs(rows)
    return replace(ring, rows=lit, star=np.zeros(len(lit), dtype=np.int64), lit=lit)


def depth(arcs: np.ndarray, angles_deg: np.ndarray) -> np.ndarray:
    """Return how far inside an arc set angles lie, 180 on the full circle, negative outside."""
    if len(arcs) == 1 and arcs[0, 1] - arcs[0, 0] >= 360.0:
        return np.full(np.shape(angles_deg), 180.0)
    best = np.full(np.shape(angles_deg), -1.0)
    for start, end in arcs:
        turned = (np.asarray(angles_deg) - start) % 360.0
        best = np.maximum(best, np.minimum(turned, end - start - turned))
    return best


def random_rows(random: np.random.Generator, number: int, longest: int, period: int = 360) -> Rows:
    """Return arcs between whole degrees that repeat with a period."""
    rows = []
    for _ in range(number):
        start, length = int(random.integers(0, 360)), int(random.integers(1, longest))
        rows += [[start + turn, start + turn + length] for turn in range(0, 360, period)]
    return spans.arcs(np.array(rows, dtype=float)).tolist()


def random_question(seed: int, most: int = 3) -> tuple[list[Asked], Rows]:
    """Return targets with one or two needed rings, now and then anything goes, and the stem's free arcs."""
    random = np.random.default_rng(seed)
    asked = []
    for _ in range(int(random.integers(1, most + 1))):
        camera = EVERY if random.uniform() < 0.2 else random_rows(random, int(random.integers(1, 3)), 60, 180)
        rings = [random_rows(random, int(random.integers(1, 5)), 70) for _ in range(2)]
        needs = random.choice(3)
        asked.append(Asked(camera, None if needs == 0 else rings[0], None if needs == 1 else rings[1]))
    return asked, EVERY if random.uniform() < 0.2 else random_rows(random, 2, 70, 180)


def stem_allowed(task: Task, stem_deg: np.ndarray, margin_deg: float, ends: bool = False) -> np.ndarray:
    """Tell which stem offsets are allowed with a margin; with its ends or without."""
    held = task.constraints.stem_offset_deg
    if held is not None:
        return np.abs((stem_deg - held + 180.0) % 360.0 - 180.0) < 1e-6
    inside = depth(task.stem_arcs, stem_deg)
    return inside >= margin_deg if ends else inside > margin_deg
