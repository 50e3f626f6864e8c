"""What would help most: each change is made, the question solved anew, and the gain counted."""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from sidelight.rig.records import Across, Rig
from sidelight.setup import framing
from sidelight.setup.blocks import without
from sidelight.setup.candidates import best_setups, complete, resting_setups, share
from sidelight.setup.moving import moved_setup
from sidelight.setup.reach import arcmin_to_mm
from sidelight.setup.records import Help, HelpKind, SetUp
from sidelight.setup.task import SPARE_ARCMIN, Task, with_rig

MAG_STEP = 0.1
SHIFT_STEP_ARCMIN = 0.1
SHIFT_SPARE_ARCMIN = 0.01
"""More than the shift itself, which is least to within as much: with no more the angle could not be found again."""
STEM_STEP_MM = 0.5
STEM_FINE_MM = 0.1
MOST_STEM_MM = 5.0


def what_helps(task: Task, now: SetUp | None, leaving: dict[str, SetUp]) -> tuple[Help, ...]:
    """Return the changes that gain something, the most helpful first; nothing when all is served with tolerance.

    Order: what serves everything still asked for comes first, then the number of rings gained, then the slack.
    """
    if now is not None and now.recommended:
        return ()
    found: list[Help] = []
    if task.guided:
        found += [*_fainter_limit(task, now), *_other_stem(task, now), *_turned_sensor(task, now)]
    found += [*_shift(task, now), *_leaving_out(task, now, leaving)]
    return tuple(sorted(found, key=lambda one: (not one.serves_all, -one.rings_gained, -round(one.slack_deg, 1))))


def _gain(setup: SetUp, now: SetUp | None) -> int:
    """Return how many needed rings more a set-up serves (frames without a guider)."""
    if not setup.rings_needed:
        return setup.frames_served - (now.frames_served if now is not None else 0)
    return setup.rings_served - (now.rings_served if now is not None else 0)


def _better(setup: SetUp | None, now: SetUp | None) -> bool:
    """Tell whether a set-up serves more than the present one, or as much but with the tolerance."""
    if setup is None:
        return False
    return _gain(setup, now) > 0 or (setup.recommended and not (now is not None and now.recommended))


def _first(task: Task) -> SetUp | None:
    """Return the best set-up of a question, or None."""
    found = best_setups(task)
    return found[0] if found else None


def _help(kind: HelpKind, change: str, task: Task, setup: SetUp, now: SetUp | None, **amounts: float) -> Help:
    """Return one change with what it brings, in words too."""
    served = f"{setup.rings_served} of {setup.rings_needed} rings are served"
    if not setup.rings_needed:
        served = f"{setup.frames_served} of {setup.frames_needed} targets are framed"
    elif complete(setup):
        served = "everything is served"
    return Help(
        kind=kind,
        faint_limit_mag=amounts.get("faint_limit_mag"),
        shift_arcmin=amounts.get("shift_arcmin"),
        stem_radius_mm=amounts.get("stem_radius_mm"),
        target=None,
        serves_all=setup.recommended,
        rings_served=setup.rings_served,
        rings_needed=setup.rings_needed,
        rings_gained=_gain(setup, now),
        slack_deg=setup.slack_deg,
        share_of_angles=share(task),
        sentence=f"{change}: {served}, with {setup.slack_deg:.1f}° of slack.",
    )


def _fainter_limit(task: Task, now: SetUp | None) -> Iterator[Help]:
    """Find the brightest faint limit that gains as much as all stars of the catalogue do."""
    limit = task.limit_mag
    deepest = max((float(reach.stars.mag[-1]) for reach in task.reaches if len(reach.stars.mag)), default=-math.inf)
    if limit is None or deepest <= limit:
        return
    best = _first(with_rig(task, task.rig, deepest))
    if best is None or not _better(best, now):
        return

    def enough(mag: float) -> bool:
        found = _first(with_rig(task, task.rig, mag))
        return found is not None and found.rings_served >= best.rings_served and found.recommended >= best.recommended

    steps = math.ceil((deepest - limit) / MAG_STEP)
    low = _least_step(steps, lambda step: enough(limit + step * MAG_STEP))
    mag = round(limit + low * MAG_STEP, 6)
    deeper = with_rig(task, task.rig, mag)
    found = _first(deeper)
    if found is not None:
        change = f"With guide stars down to {mag:.1f} mag instead of {limit:.1f}"
        advice = _help("fainter_limit", change, deeper, found, now, faint_limit_mag=mag)
        depth = min(reach.stars.depth_mag for reach in task.reaches)
        more = (
            f" The catalogue is complete to {depth:.1f} mag only: a deeper one may show more." if mag > depth else ""
        )
        yield replace(advice, sentence=advice.sentence + more)


def _least_step(most: int, enough: Callable[[int], bool]) -> int:
    """Return the least step from 1 to `most` that is enough, by halving; more steps never help less."""
    low, high = 0, most
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _with_stem(task: Task, radius_mm: float) -> Task:
    """Return the question with another stem radius."""
    assert task.rig.guider is not None
    rig = replace(task.rig, guider=replace(task.rig.guider, stem_radius_mm=radius_mm))
    return with_rig(task, rig, task.limit_mag)


def _other_stem(task: Task, now: SetUp | None) -> Iterator[Help]:
    """Find the least change of the stem radius that serves everything, or else the one that serves most."""
    guider = task.rig.guider
    assert guider is not None
    found: tuple[SetUp, float] | None = None
    for step in range(1, round(MOST_STEM_MM / STEM_STEP_MM) + 1):
        for change_mm in (-step * STEM_STEP_MM, step * STEM_STEP_MM):
            setup = _try_stem(task, guider.stem_radius_mm + change_mm)
            if setup is not None and _better(setup, found[0] if found else now):
                found = setup, change_mm
        if found is not None and found[0].recommended:
            break
    if found is None:
        return
    setup, change_mm = _less_change(task, *found)
    radius_mm = round(guider.stem_radius_mm + change_mm, 6)
    where = "farther out" if change_mm > 0 else "farther in"
    words = f"With the stem {abs(change_mm):.1f} mm {where} ({radius_mm:.1f} mm)"
    yield _help("stem_radius", words, _with_stem(task, radius_mm), setup, now, stem_radius_mm=radius_mm)


def _try_stem(task: Task, radius_mm: float) -> SetUp | None:
    """Return the best set-up at rest with another stem radius, unless it would be in the camera's way."""
    camera = task.rig.camera
    if (
        task.rectangle is None
        or radius_mm - task.rectangle.half_along_mm <= min(camera.width_mm, camera.height_mm) / 2
    ):
        return None
    other = _with_stem(task, radius_mm)
    if other.shadow_everywhere and not task.shadow_everywhere:
        return None
    found = resting_setups(other, 1)
    return found[0] if found else None


def _less_change(task: Task, setup: SetUp, change_mm: float) -> tuple[SetUp, float]:
    """Return the least change in steps of 0.1 mm below the coarse one that does the same."""
    assert task.rig.guider is not None
    sign = math.copysign(1.0, change_mm)
    for size_mm in np.arange(abs(change_mm) - STEM_STEP_MM + STEM_FINE_MM, abs(change_mm) - 1e-6, STEM_FINE_MM):
        finer = _try_stem(task, task.rig.guider.stem_radius_mm + sign * float(size_mm))
        if finer is not None and finer.rings_served >= setup.rings_served and finer.recommended >= setup.recommended:
            return finer, sign * float(size_mm)
    return setup, change_mm


def _turned_sensor(task: Task, now: SetUp | None) -> Iterator[Help]:
    """Try the guide sensor with its long side the other way."""
    guider = task.rig.guider
    assert guider is not None
    other: Across = "along" if guider.long_side == "across" else "across"
    rig: Rig = replace(task.rig, guider=replace(guider, long_side=other))
    turned = with_rig(task, rig, task.limit_mag)
    setup = _first(turned)
    if setup is not None and _better(setup, now):
        words = f"With the guide camera turned so that its width lies {other} the stem"
        yield _help("turn_guide_sensor", words, turned, setup, now)


def _shift(task: Task, now: SetUp | None) -> Iterator[Help]:
    """Find the least shift, the same for all targets, that serves the most."""
    granted_mm = max((subject.shift_mm for subject in task.subjects), default=0.0)
    most_mm = arcmin_to_mm(SPARE_ARCMIN, task.focal_mm)
    if granted_mm >= most_mm:
        return
    free = _with_shift(task, SPARE_ARCMIN)
    rest = resting_setups(free, 1)
    setup = moved_setup(free, rest[0] if rest else None)
    if setup is None or not _better(setup, now):
        return
    steps = math.ceil((setup.largest_shift_arcmin + SHIFT_SPARE_ARCMIN) / SHIFT_STEP_ARCMIN)
    arcmin = round(steps * SHIFT_STEP_ARCMIN, 6)
    yield _help(
        "pointing_shift", f"With pointings moved by up to {arcmin:.1f}′", task, setup, now, shift_arcmin=arcmin
    )


def _with_shift(task: Task, arcmin: float) -> Task:
    """Return the question with a shift granted to every target."""
    subjects = []
    for subject in task.subjects:
        result, _ = framing.frame(subject.want.target, task.rig, subject.required, arcmin)
        shift_mm = arcmin_to_mm(arcmin, task.focal_mm)
        subjects.append(replace(subject, shift_mm=shift_mm, frame=result, waived=not result.fits))
    return replace(task, subjects=tuple(subjects))


def _leaving_out(task: Task, now: SetUp | None, leaving: dict[str, SetUp]) -> Iterator[Help]:
    """Report who, left out, lets all the others be served; when nobody does, who comes nearest."""
    tight = now is not None and complete(now)
    free = [key for key, setup in leaving.items() if (setup.recommended if tight else complete(setup))]
    if not free and leaving:
        missing = {key: setup.rings_needed - setup.rings_served for key, setup in leaving.items()}
        nearest = min(missing, key=lambda key: missing[key])
        # fewer rings asked for is no gain: it has to serve more of them than today
        free = [nearest] if _gain(leaving[nearest], now) > 0 else []
    for key in free:
        one = _help("leave_out", f"Without {key}", without(task, key), leaving[key], now)
        yield replace(one, target=key)
