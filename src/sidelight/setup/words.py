"""The sentences of a solution: its outcome, and the notes that belong beside it."""

from collections.abc import Iterator, Sequence

from sidelight.setup.arcwork import slack_at
from sidelight.setup.blocks import SIDE_WORDS
from sidelight.setup.candidates import complete
from sidelight.setup.pairs import usable_shift_mm
from sidelight.setup.place import NO_LIMIT_DEG, ROUNDING_DEG
from sidelight.setup.reach import mm_to_arcmin
from sidelight.setup.records import Help, Outcome, SetUp
from sidelight.setup.task import Task

NOTHING_FITS = "No target fits the frame at any camera angle, so one angle is as good as another."


def outcome_of(task: Task, best: SetUp | None) -> Outcome:
    """Return the outcome in one word."""
    if not any(subject.required for subject in task.subjects):
        return "nothing_asked"
    if best is None:
        return "serves_none"
    if complete(best) and not (never_framed(task) and not task.guided):
        return "serves_all" if best.recommended else "serves_all_tightly"
    served = best.rings_served if task.guided else best.frames_served
    return "serves_some" if served else "serves_none"


def never_framed(task: Task) -> list[str]:
    """Return the needed targets that fit the frame at no camera angle."""
    return [subject.key for subject in task.subjects if subject.required and subject.waived]


def _listed(names: Sequence[str]) -> str:
    """Return names as a sentence lists them."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _framed_sentence(task: Task, best: SetUp) -> str:
    """Say how many targets a rig without a guider frames, where that is some of them."""
    never = never_framed(task)
    asked = best.frames_needed + len(never)
    where = "each at a camera angle of its own" if task.turning else "at one camera angle"
    room = (
        "at every camera angle" if best.slack_deg >= NO_LIMIT_DEG else f"{where}, with {best.slack_deg:.1f}° of slack"
    )
    most = "" if complete(best) else "At best "
    fits = (
        f"{most}{best.frames_served} of {asked} targets fit{'s' if best.frames_served == 1 else ''} the frame {room}"
    )
    return f"{fits}; {_listed(never)} fit{'s' if len(never) == 1 else ''} at none." if never else f"{fits}."


def outcome_sentence(task: Task, outcome: Outcome, best: SetUp | None) -> str:
    """Return the outcome in one sentence."""
    if outcome == "nothing_asked" or best is None:
        return "Nothing is asked for." if outcome == "nothing_asked" else "No target can be served at any angle."
    if not task.guided and outcome == "serves_some":
        return _framed_sentence(task, best)
    what = (
        f"{best.rings_served} of {best.rings_needed} rings"
        if task.guided
        else (f"{best.frames_served} of {best.frames_needed} targets")
    )
    never = never_framed(task)
    but = f"; {_listed(never)} fit{'s' if len(never) == 1 else ''} the frame at no camera angle" if never else ""
    slack = f"{best.slack_deg:.1f}° of slack"
    if outcome == "serves_all":
        moved = sum(one.shift_arcmin > 0 for one in best.targets)
        by = f", {moved} of them moved by up to {best.largest_shift_arcmin:.1f}′" if moved else ""
        every = "Every needed ring has a guide star" if task.guided else "Everything fits in the frame"
        room = " at every camera angle" if best.slack_deg >= NO_LIMIT_DEG else f", with {slack}"
        return f"{every}{room}{by}{but}."
    if outcome == "serves_all_tightly":
        return f"All {what.rsplit(' of ', maxsplit=1)[-1]} are served at once, but {_short_of(task, best)}{but}."
    if outcome == "serves_some":
        return f"No one set-up serves everything: at best {what}, with {slack}{but}."
    return "No guide star can be had at any guider angle." if task.guided else NOTHING_FITS


def _short_of(task: Task, best: SetUp) -> str:
    """Say which slack is below the tolerance."""
    least = task.tolerance_deg - ROUNDING_DEG
    parts = [
        f"{name} has {slack:.2f}°"
        for name, slack in (
            ("the worst ring", best.slack_deg if task.guided else NO_LIMIT_DEG),
            ("the frame", best.frame_slack_deg),
            ("the prism's shadow", best.shadow_slack_deg),
        )
        if slack < least
    ]
    return f"{' and '.join(parts)} of slack where {task.tolerance_deg:g}° is asked for"


def behind(best: SetUp, other: SetUp) -> str:
    """Say what puts a set-up behind the best one: the first thing of the ranking that differs."""
    if other.rings_served < best.rings_served:
        return f"serves {other.rings_served} of {other.rings_needed} rings"
    if other.frames_served < best.frames_served:
        return f"frames {other.frames_served} of {other.frames_needed} targets"
    if best.recommended and not other.recommended:
        tightest = min(
            (other.slack_deg, "the worst ring" if other.rings_needed else "the frame"),
            (other.frame_slack_deg, "the frame"),
            (other.shadow_slack_deg, "the prism's shadow"),
        )
        return f"{tightest[1]} has only {tightest[0]:.2f}° of slack"
    if other.doubtful_stars_count > best.doubtful_stars_count:
        against = f"has something against {_stars(other.doubtful_stars_count)}"
        return f"{against}, the best against {best.doubtful_stars_count}"
    if round(other.slack_deg, 1) < round(best.slack_deg, 1):
        return "less slack"
    if other.largest_shift_arcmin > best.largest_shift_arcmin:
        return f"moves a pointing by {other.largest_shift_arcmin:.1f}′, the best by {best.largest_shift_arcmin:.1f}′"
    if other.slack_deg >= NO_LIMIT_DEG or other.faintest_star_mag == best.faintest_star_mag:
        return "as good"
    return "as much slack, a fainter faintest star"


def _stars(count: int) -> str:
    """Return a number of guide stars in words."""
    return f"{count} guide star{'' if count == 1 else 's'}"


def notes(task: Task, best: SetUp | None) -> tuple[str, ...]:
    """Return what has to be said beside any answer."""
    every = [*_about_sides(task), *_about_sizes(task), *_about_poles(task)]
    if task.guided:
        every += [*_about_guider(task), *_about_depth(task)]
    if best is not None and not complete(best) and any(one.shift_arcmin > 0 for one in best.targets):
        every.append("The smallest set of set-ups is counted with every target as it is pointed.")
    if best is not None and not best.shifts_proved:
        every.append("The search for shifts was cut short: smaller ones may do. Grant less shift, or hold an angle.")
    return tuple(every)


def about_fainter_stars(task: Task, best: SetUp | None, advice: Sequence[Help]) -> tuple[str, ...]:
    """Say, where no known fainter star would help, that unknown ones might."""
    limit = task.limit_mag
    helped = any(one.kind == "fainter_limit" for one in advice)
    if limit is None or not task.reaches or helped or (best is not None and best.recommended):
        return ()
    depth = min(reach.stars.depth_mag for reach in task.reaches)
    if limit > depth:
        return ()
    name = task.reaches[0].stars.catalogue
    return (
        f"No fainter star of {name} would help; it is complete to {depth:.1f} mag only, and fainter stars may exist.",
    )


def _about_sides(task: Task) -> Iterator[str]:
    """Name the sides that are not needed, and why."""
    for index, subject in enumerate(task.subjects):
        if not subject.required:
            reasons = {one.reason for one in subject.want.sides if one.reason}
            yield f"{subject.key} is not needed{_because(' and '.join(sorted(reasons)))}."
            continue
        own = {ring.side: ring.need for ring in task.rings if ring.subject == index}
        for side, need in own.items():
            if not need.needed:
                yield f"{subject.key} {SIDE_WORDS[side]} is not needed{_because(need.reason)}."


def _because(reason: str) -> str:
    """Return a reason set off by a colon, or nothing."""
    return f": {reason.rstrip('.')}" if reason else ""


def _about_sizes(task: Task) -> Iterator[str]:
    """Say whose size is not known; what does not fit is said among what blocks."""
    for subject in task.subjects:
        if subject.required and subject.frame.fits and not subject.frame.sizes_known:
            yield f"The size of {subject.key} is not known, so only its centre counts for the frame."


def _about_poles(task: Task) -> Iterator[str]:
    """Say where a granted shift is not used whole, because the field would turn more than it moves."""
    for subject in task.subjects:
        usable_mm = usable_shift_mm(subject.shift_mm, subject.pointing_deg[1], task.focal_mm)
        if subject.required and usable_mm < subject.shift_mm:
            arcmin = mm_to_arcmin(usable_mm, task.focal_mm)
            yield f"{subject.key} stands so near the pole that its pointing is moved by {arcmin:.1f}′ at most."


def _about_guider(task: Task) -> Iterator[str]:
    """Say what is wrong with the guide sensor's place."""
    rectangle = task.rectangle
    if rectangle is not None and min(rectangle.half_along_mm, rectangle.half_across_mm) <= 0:
        yield (
            "The guiding box, the pointing error and the prism's edge leave nothing of the guide sensor: "
            "make the guiding box or the tolerances smaller."
        )
    if task.shadow_everywhere:
        yield "The prism throws a shadow on the camera's sensor at every stem offset: pull the stem farther out."
    fixed = task.constraints.stem_offset_deg
    if fixed is not None and not task.shadow_everywhere and slack_at(task.stem_arcs, fixed) <= 0:
        yield "At the fixed stem offset the prism throws a shadow on the camera's sensor."


def _about_depth(task: Task) -> Iterator[str]:
    """Say where the guider sees deeper than the catalogue is complete."""
    if not task.reaches:
        return
    depth = min(reach.stars.depth_mag for reach in task.reaches)
    name = task.reaches[0].stars.catalogue
    limit = task.limit_mag
    if limit is None:
        yield f"No faint limit is given, so every star of {name} counts."
    if limit is None or limit > depth:
        to = "to fainter stars" if limit is None else f"to {limit:.1f} mag"
        yield (
            f"{name} is complete to {depth:.1f} mag only and the guider is taken to see {to}: "
            "fainter stars may exist where a ring is dark."
        )
