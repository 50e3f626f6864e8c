"""What stands in the way: which targets or sides keep a set-up from serving everything."""

from dataclasses import replace

from sidelight.ground import spans
from sidelight.setup.arcwork import common
from sidelight.setup.candidates import complete, resting_setups
from sidelight.setup.records import Blocked, BlockKind, SetUp
from sidelight.setup.task import Task

SIDE_WORDS = {"east": "in the east", "west": "in the west", "any": ""}


def without(task: Task, key: str) -> Task:
    """Return the same question with one target not needed."""
    subjects = tuple(replace(subject, required=subject.required and subject.key != key) for subject in task.subjects)
    return replace(task, subjects=subjects)


def left_out(task: Task) -> dict[str, SetUp]:
    """Return, for each needed target, the best set-up at rest when it is left out (and anything else is needed)."""
    found = {}
    for subject in task.subjects:
        if not subject.required:
            continue
        fewer = without(task, subject.key)
        setups = resting_setups(fewer, 1) if any(one.required for one in fewer.subjects) else []
        if setups:
            found[subject.key] = setups[0]
    return found


def blocks(task: Task, best: SetUp | None, leaving: dict[str, SetUp]) -> tuple[Blocked, ...]:
    """Return what blocks, the hopeless first: no frame, no star, sides that disagree, then conflicts.

    leaving : from `left_out`; empty when everything is served.
    """
    frees = {key for key, setup in leaving.items() if complete(setup)}
    found: list[Blocked] = []
    for index, subject in enumerate(task.subjects):
        if subject.required:
            found += _hopeless(task, index, subject.key in frees, best is None or not complete(best))
    if best is None or complete(best):
        return tuple(found)
    named = {(one.target, one.side) for one in found}
    whole = {one.target for one in found if one.side is None}
    for place in best.places:
        if (
            place.needed
            and place.star is None
            and (place.target, place.side) not in named | {(key, place.side) for key in whole}
        ):
            found.append(_conflict(place.target, place.side, place.target in frees))
    for one in best.targets:
        if one.needed and not one.framed and not one.frame_waived:
            most = "serves the most rings" if task.guided else "frames the most targets"
            sentence = f"{one.target} is cut off at the camera angle that {most}."
            found.append(Blocked(one.target, None, "conflict", one.target in frees, sentence))
    told = {one.target for one in found}
    for key in sorted(frees - told):
        sentence = f"Without {key} everything else is {'served' if task.guided else 'framed'}."
        found.append(Blocked(key, None, "conflict", True, sentence))
    return tuple(found)


def _hopeless(task: Task, index: int, frees_all: bool, some_missing: bool) -> list[Blocked]:
    """Return what one target cannot have whatever the others want; rings only where some ring is missing at all."""
    subject = task.subjects[index]
    rings = [ring for ring in task.needed if ring.subject == index and some_missing]
    found = []
    if subject.waived:
        found.append(Blocked(subject.key, None, "never_framed", False, subject.frame.sentence))
    dark = [ring for ring in rings if not spans.total(ring.lit)]
    for ring in dark:
        where = SIDE_WORDS[ring.side]
        sentence = f"{subject.key} has no usable guide star at any guider angle{' ' + where if where else ''}."
        found.append(Blocked(subject.key, ring.side, "no_star", frees_all, sentence))
    both = len(rings) > 1 and not dark
    if both and not len(common([ring.lit for ring in rings])):
        kind: BlockKind = "sides_disagree"
        sentence = f"{subject.key} has stars on both sides, but at no guider angle on both at once."
        found.append(Blocked(subject.key, None, kind, frees_all, sentence))
    return found


def _conflict(key: str, side: str, frees_all: bool) -> Blocked:
    """Return a ring that has stars, but not where most of the others have."""
    where = SIDE_WORDS[side]
    sentence = f"{key}{' ' + where if where else ''} has stars, but not at the angles that serve the most others."
    if frees_all:
        sentence += f" Without {key} everything else is served."
    return Blocked(
        key, "east" if side == "east" else "west" if side == "west" else "any", "conflict", frees_all, sentence
    )
