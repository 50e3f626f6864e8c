"""What if it wanted more hours, or fewer: the campaign with other goals, kept when the person says so."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sidelight.ground.errors import BadInput, Problem
from sidelight.notebook.edit import set_values
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import Goal

LEAST_H, MOST_H = 0.1, 10_000.0


@dataclass(frozen=True)
class HoursWish:
    """Effective hours wanted of a target in a filter, "" for hours in all."""

    target: str
    filter: str
    hours_h: float


@dataclass(frozen=True)
class KeptGoals:
    """Which wishes were written, into which files, and that in words."""

    files: tuple[str, ...]
    changed_count: int
    sentence: str


def with_wishes(notebook: Notebook, wishes: Sequence[HoursWish]) -> Notebook:
    """Return the notebook as if these hours were wanted; nothing is written.

    Raises BadInput for a target or a filter that the goals do not have, and for hours that cannot be.
    """
    _check(notebook, wishes)
    said = {(one.target, one.filter): one.hours_h for one in wishes}
    targets = tuple(
        replace(one, hours_wanted_h=said.get((one.key, ""), one.hours_wanted_h)) for one in notebook.targets
    )
    goals = tuple(_with_hours(goal, said) for goal in notebook.campaign.goals)
    return replace(notebook, targets=targets, campaign=replace(notebook.campaign, goals=goals))


def _with_hours(goal: Goal, said: dict[tuple[str, str], float]) -> Goal:
    """Return a goal with other hours for its filters."""
    return replace(goal, filters_h=tuple((name, said.get((goal.target, name), h)) for name, h in goal.filters_h))


def _check(notebook: Notebook, wishes: Sequence[HoursWish]) -> None:
    """Raise BadInput with every wish that cannot be."""
    problems = []
    for one in wishes:
        if one.target not in {target.key for target in notebook.targets}:
            problems.append(Problem(f'"{one.target}" is not on the list of targets.', "targets.toml"))
            continue
        names = [name for name, _ in notebook.campaign.goal_of(one.target).filters_h] or [""]
        if one.filter not in names:
            wanted = ", ".join(names) if names != [""] else "hours in all"
            problems.append(Problem(f'{one.target} has no goal in "{one.filter}".', "campaign.toml", expected=wanted))
        if not LEAST_H <= one.hours_h <= MOST_H:
            expected = f"{LEAST_H:g} to {MOST_H:g} hours"
            problems.append(Problem(f"{one.target}: {one.hours_h:g} h cannot be wanted.", expected=expected))
    if problems:
        raise BadInput(problems)


def keep_wishes(notebook: Notebook, wishes: Sequence[HoursWish]) -> KeptGoals:
    """Write other hours into targets.toml and campaign.toml, where they stand now; notes in the files stay.

    Raises BadInput, with nothing written to it, for a file that was changed meanwhile.
    """
    changed = with_wishes(notebook, wishes)
    in_all: dict[str | tuple[str | int, ...], object] = {
        ("target", n, "hours_wanted_h"): new.hours_wanted_h
        for n, (old, new) in enumerate(zip(notebook.targets, changed.targets, strict=True))
        if new.hours_wanted_h != old.hours_wanted_h
    }
    by_filter: dict[str | tuple[str | int, ...], object] = {
        ("goal", n, "filters_h", name): hours
        for n, (old, new) in enumerate(zip(notebook.campaign.goals, changed.campaign.goals, strict=True))
        for (name, hours), (_, before) in zip(new.filters_h, old.filters_h, strict=True)
        if hours != before
    }
    files = []
    for file, changes in (("targets.toml", in_all), ("campaign.toml", by_filter)):
        if changes:
            set_values(notebook.folder, file, changes, notebook.fingerprints.get(file))
            files.append(file)
    count = len(in_all) + len(by_filter)
    words = f"Kept in {' and '.join(files)}: {count}." if files else "Nothing differs from the notebook."
    return KeptGoals(tuple(files), count, words)
