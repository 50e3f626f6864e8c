"""The set-up question answered whole: best, next best, what blocks, the fewest set-ups, what would help."""

import math
from collections.abc import Sequence
from dataclasses import replace

from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.rig.guide_light import GuideLight
from sidelight.rig.records import Rig
from sidelight.setup.blocks import blocks, left_out
from sidelight.setup.candidates import best_setups, complete, share
from sidelight.setup.covers import CoverResult, smallest_cover
from sidelight.setup.helping import what_helps
from sidelight.setup.place import Pose, describe, shifted
from sidelight.setup.reach import Reach, arcmin_to_mm
from sidelight.setup.records import Constraints, Ring, SetUp, SideNeed, Solution, Want
from sidelight.setup.rings import ring
from sidelight.setup.task import Task, build_task, reaches_for
from sidelight.setup.words import about_fainter_stars, behind, notes, outcome_of, outcome_sentence
from sidelight.stars.cone import Catalogue

NEXT_BEST = 4
FREE = Constraints()


def solve(
    rig: Rig,
    wants: Sequence[Want],
    stars: Catalogue,
    constraints: Constraints = FREE,
    limit_mag: float | None = None,
    explain: bool = True,
    guiding: GuideLight | None = None,
) -> Solution:
    """Return the best set-up for all wants, with everything that belongs to the answer.

    Parameters
    ----------
    rig, wants : what is on the pier and what is wanted, with the needed sides.
    stars : any catalogue. constraints : what is held fixed, granted or left out.
    limit_mag : faintest guide star; the rig's own if None, and if that is None too every star counts.
    explain : also work out what would help and the smallest set of set-ups when one does not serve everything.
    guiding : how guide stars are exposed, judged and refused; None leaves them unjudged.

    Raises
    ------
    BadInput : two wants of one name, a name to leave out that is not wanted, an angle or shift that is no number.

    Notes
    -----
    Without shifts the answer is exact: no angle is sampled. With shifts the worst shift is least to within 0.01′ for
    the camera angle that goes with each guider angle. Every figure is worked out anew at the chosen angles.
    """
    _check(wants, constraints)
    reaches = reaches_for(rig, wants, stars, guiding, constraints.grant_shift_arcmin)
    return solve_loaded(rig, wants, reaches, constraints, limit_mag, explain)


def solve_loaded(
    rig: Rig,
    wants: Sequence[Want],
    reaches: tuple[Reach, ...],
    constraints: Constraints = FREE,
    limit_mag: float | None = None,
    explain: bool = True,
) -> Solution:
    """Return `solve` for stars that `reaches_for` has looked up before; the wants are the same, in the same order."""
    task = ready_task(rig, wants, reaches, constraints, limit_mag)
    found = best_setups(task) if any(subject.required for subject in task.subjects) else []
    best = found[0] if found else None
    leaving = left_out(task) if explain and best is not None and not best.recommended else {}
    one_does = best is None or complete(best)
    cover = CoverResult((), ()) if one_does or not explain else smallest_cover(task)
    outcome = outcome_of(task, best)
    advice = what_helps(task, best, leaving) if explain and outcome != "nothing_asked" else ()
    unknown = about_fainter_stars(task, best, advice) if explain and outcome != "nothing_asked" else ()
    return Solution(
        outcome=outcome,
        sentence=outcome_sentence(task, outcome, best),
        best=best,
        next_best=tuple(replace(one, behind=behind(found[0], one)) for one in found[1 : 1 + NEXT_BEST]),
        rings=_rings(task, best),
        frames=tuple(subject.frame for subject in task.subjects),
        share_of_angles=share(task),
        blocked=blocks(task, best, leaving),
        smallest_cover=cover.setups,
        cover_leaves_out=cover.left_out,
        help=advice,
        notes=(*notes(task, best), *unknown),
        limit_mag=task.limit_mag,
        bright_mag=task.bright_mag,
        tolerance_deg=task.tolerance_deg,
    )


def ready_task(
    rig: Rig, wants: Sequence[Want], reaches: tuple[Reach, ...], constraints: Constraints, limit_mag: float | None
) -> Task:
    """Check the question and make it ready to be solved."""
    _check(wants, constraints)
    asked = [_without_needs(want) if want.target.key in constraints.leave_out else want for want in wants]
    limit = rig.guide_limit_mag if limit_mag is None else limit_mag
    same = tuple(replace(reach, want=want) for reach, want in zip(reaches, asked, strict=bool(reaches)))
    return build_task(rig, asked, same, constraints, limit, rig.guide_bright_mag)


def _without_needs(want: Want) -> Want:
    """Return a want that nothing is asked of."""
    sides = tuple(SideNeed(one.side, False, "left out of this set-up") for one in want.sides)
    return replace(want, sides=sides)


def _check(wants: Sequence[Want], constraints: Constraints) -> None:
    """Raise BadInput for a question that cannot be meant."""
    keys = [want.target.key for want in wants]
    problems = [
        Problem(f'"{key}" is wanted twice.', suggestion="Give each target a name of its own.")
        for key in sorted({key for key in keys if keys.count(key) > 1})
    ]
    problems += [
        Problem(f'"{key}" is to be left out but is not wanted.', suggestion=did_you_mean(key, keys))
        for key in constraints.leave_out
        if key not in keys
    ]
    for name in ("camera_angle_deg", "stem_offset_deg", "grant_shift_arcmin"):
        value = getattr(constraints, name)
        if value is not None and not math.isfinite(value):
            problems.append(Problem(f"{value} is no angle.", key=name, expected="a finite number"))
    granted = constraints.grant_shift_arcmin
    if granted is not None and granted < 0:
        problems.append(
            Problem(f"A shift of {granted}′ is negative.", key="grant_shift_arcmin", expected="0 or more")
        )
    if problems:
        raise BadInput(problems)


def _rings(task: Task, best: SetUp | None) -> tuple[Ring, ...]:
    """Return every ring about the pointings of the best set-up, the needed and the others."""
    found: list[Ring] = []
    for index in range(len(task.subjects)):
        shift = (0.0, 0.0)
        if best is not None and task.guided:
            shift = shift_mm_of(task, best, index)
        subject, own = shifted(task, index, shift)
        if subject.stars is None or task.rectangle is None:
            continue
        found += [
            ring(task.reaches[index], one.need, task.rectangle, subject.stars, subject.pointing_deg) for one in own
        ]
    return tuple(found)


def shift_mm_of(task: Task, setup: SetUp, index: int) -> tuple[float, float]:
    """Return one target's shift in a set-up, as (east, north) mm in the focal plane."""
    place = setup.targets[index]
    return arcmin_to_mm(place.shift_east_arcmin, task.focal_mm), arcmin_to_mm(place.shift_north_arcmin, task.focal_mm)


def describe_at(task: Task, camera_angle_deg: float, guider_angle_deg: float | None) -> SetUp:
    """Return what a pair of angles serves, for a person who turns the needle by hand."""
    return describe(task, [Pose(camera_angle_deg, guider_angle_deg)] * len(task.subjects))
