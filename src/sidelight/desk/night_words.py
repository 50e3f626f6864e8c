"""A night in words: what is planned and what it is worth, what the plan goes by, what it leaves out and why."""

from collections.abc import Sequence

from sidelight.campaign.tonight import Stretch
from sidelight.desk.beside import beside_note, cut_off, lit_sides
from sidelight.desk.chosen import NO_TARGETS
from sidelight.desk.guide_words import bright_star_notes
from sidelight.desk.night_records import NightReport, TargetNightReport
from sidelight.desk.night_worth import PlanWorth, worth_words
from sidelight.desk.setup import SetupReport, star_notes
from sidelight.desk.worth import Worth
from sidelight.ground import spans
from sidelight.season.night import TargetTonight
from sidelight.sky.darkness import DarkNights

WORTH_WORDS = {
    "campaign": "what the rest of the campaign can still give each",
    "urgency": "the hours each still wants over the hours its season has left",
}
"""How the worth of an hour tonight was weighed, as a sentence ends."""


def night_sentence(
    darkness: DarkNights, run: Sequence[Stretch], tonight: Sequence[TargetTonight], worth: PlanWorth
) -> str:
    """Say the night, the first of its record, in a sentence or two."""
    dark, dark_h = darkness.dusk_dawn(0), float(darkness.dark_h[0])
    if dark.kind == "never_dark":
        return "It does not get dark tonight by this notebook's twilight limit; nothing is planned."
    if not tonight:
        return NO_TARGETS
    up_h = spans.total(spans.intersect(spans.union(*[seen.windows for seen in tonight]), dark.dark)) * 24.0
    if not run and up_h <= 0:
        return (
            f"{dark_h:.1f} dark hours, but no target is above your horizon and floor long enough; nothing is planned."
        )
    if not run:
        return (
            f"Nothing is planned in {dark_h:.1f} dark hours, though something is up for {up_h:.1f} h: see the notes."
        )
    count = len({one.key for one in run})
    on = f"on {count} target{'s' if count > 1 else ''}"
    return (
        f"{sum(one.length_h for one in run):.1f} of {dark_h:.1f} dark hours are planned, {on}, "
        f"{worth_words(worth, float(darkness.moon_illuminated_fraction[0]))}. Something is usable for {up_h:.1f} h."
    )


def night_notes(
    setup: SetupReport, run: Sequence[Stretch], targets: Sequence[TargetNightReport], worth: dict[str, Worth]
) -> tuple[str, ...]:
    """Say what the plan goes by, what it leaves out and why."""
    notes = [setup.goes_by] if setup.goes_by else []
    waiting: list[str] = []
    done: list[str] = []
    planned = {one.key for one in run}
    for report in (one for one in targets if one.windows):
        said, missing = _served(setup, report.target)
        notes += [said] if said else []
        if report.target not in planned and not missing and not cut_off(setup, report.target):
            (waiting if worth[report.target].value_per_h > 0 else done).append(report.target)
    if waiting:
        weighed = WORTH_WORDS[worth[waiting[0]].basis]
        up = "is up" if len(waiting) == 1 else "are up"
        notes.append(f"{_and(waiting)} {up}, but an hour on another target is worth more tonight, by {weighed}.")
    if done:
        gains = "is up but gains" if len(done) == 1 else "are up but gain"
        notes.append(
            f"{_and(done)} {gains} nothing tonight: the hours wanted are there, or later nights are as good."
        )
    notes += [*star_notes(setup.best), *bright_star_notes(setup)]
    if setup.best is None and targets:
        notes.append(f"No set-up: {setup.sentence}")
    return tuple(notes)


def _served(setup: SetupReport, key: str) -> tuple[str | None, bool]:
    """Return what is to be said of how the set-up serves a target, and whether a guide star is missing."""
    if setup.best is None:
        return None, False
    rings = [ring.side for ring in setup.of(key).rings if ring.target == key]
    dark = [side for side in rings if side not in lit_sides(setup, key)]
    beside = beside_note(setup, key, guided=bool(setup.rings))
    if beside is not None:
        return beside, bool(dark)
    if setup.rings and not rings:
        return f"{key} is not in this set-up, so nothing is planned on it.", True
    if dark:
        where = "" if dark == ["any"] else f" {_and(dark)}"
        return f"{key} has no guide star{where} in this set-up.", True
    return None, False


def _and(names: Sequence[str]) -> str:
    """Return names as a sentence lists them."""
    return " and ".join([*([", ".join(names[:-1])] if len(names) > 1 else []), names[-1]])


def moon_words(report: NightReport) -> str:
    """Return the Moon in words."""
    share = f"{report.moon_illuminated_fraction:.0%} lit"
    return f"{share}, {'waxing' if report.moon_waxing else 'waning'}, up for {report.moon_up_hours:.1f} dark hours"
