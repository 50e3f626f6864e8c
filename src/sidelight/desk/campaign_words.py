"""The campaign in words: a target's outlook, what an hour is worth when, what the plan leaves out."""

import datetime as dt
from collections.abc import Sequence
from zoneinfo import ZoneInfo

import numpy as np

from sidelight.campaign.records import Slots
from sidelight.campaign.weather import Weather
from sidelight.desk.campaign_records import CampaignTargetReport, OddsWithout
from sidelight.desk.campaign_setups import CampaignSetUpReport
from sidelight.ground.types import FloatArray
from sidelight.notebook.read import Notebook
from sidelight.sky.site import Site
from sidelight.sky.time import datetime_from_mjd

LEAST_HOURS = 5.0
"""Parts of a month with fewer usable hours than this are not compared."""
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def target_sentence(one: CampaignTargetReport, odds_wanted_percent: float) -> str:
    """Return a target's outlook in a sentence or two."""
    missing = one.wanted_hours - one.collected_hours
    if missing <= 1e-9:
        return f"{one.target} has all the {one.wanted_hours:g} h it wants."
    if one.best_possible_hours - min(one.collected_hours, one.wanted_hours) <= 1e-6:
        return f"{one.target} cannot be photographed in the nights planned, in this set of set-ups."
    if not one.possible:
        return (
            f"{one.target} cannot be finished in the nights planned in any weather: "
            f"{one.best_possible_hours:.1f} of {one.wanted_hours:g} h is the best that can be had."
        )
    words = f"{one.target}: {one.odds_fraction:.0%} odds of all {one.wanted_hours:g} h"
    if one.done_by_90_percent:
        words += f", done by {one.done_by_90_percent} in nine weathers of ten"
    elif one.done_by_50_percent:
        words += f", done by {one.done_by_50_percent} in every other weather"
    if one.expected_hours_if_unfinished is not None and one.odds_fraction < 0.995:
        words += f"; {one.expected_hours_if_unfinished:.1f} h when not"
    if one.last_call:
        shared = f"; sharing them with the other targets from today it has {one.odds_fraction:.0%}"
        return (
            f"{words}. Its last call is {one.last_call}: begun then, with every hour it can use to itself, it still "
            f"has {odds_wanted_percent:g} %{shared if one.odds_fraction < odds_wanted_percent / 100.0 else ''}."
        )
    return f"{words}. Even every hour from tonight on does not give {odds_wanted_percent:g} %."


def price_sentences(
    site: Site, slots: Slots, worth_per_h: FloatArray, reserve_per_h: FloatArray, chance: FloatArray
) -> tuple[str, ...]:
    """Say what the prices of the hours say: the dearest part of a month against others, clear nights compared.

    worth_per_h : at the plan's prices; reserve_per_h : at those that keep a reserve against bad weather, which speak
    where the plan has time for everything. Both shape (s,).
    """
    safe = np.maximum(chance[slots.night], 1e-9)
    groups = _groups(site, slots, worth_per_h / safe)
    if not groups:
        return ()
    if max(worth for worth, _ in groups.values()) <= 1e-6:
        plenty = "In average weather there is time for every goal: no hour has a price, only a bad run does."
        reserve = _groups(site, slots, reserve_per_h / safe)
        if max(worth for worth, _ in reserve.values()) <= 1e-6:
            return (plenty,)
        return (plenty, f"For a reserve against that: {_compared(reserve)}")
    words = _compared(groups)
    return (words[0].upper() + words[1:],)


def _compared(groups: dict[str, tuple[float, float]]) -> str:
    """Return the dearest hours beside the cheapest in a sentence."""
    order = sorted(groups, key=lambda name: -groups[name][0])
    dearest, cheapest = order[0], order[-1]
    high, low = groups[dearest][0], groups[cheapest][0]
    if high < 1.15 * max(low, 1e-12):
        return "a clear hour is worth about the same in all the nights planned."
    if low <= 0.02 * high:
        return f"clear hours {dearest} are dearest; {cheapest} an hour costs next to nothing."
    return f"an hour {dearest} is worth {_times(high / low)} {cheapest}, when both are clear."


def _groups(site: Site, slots: Slots, worth: FloatArray) -> dict[str, tuple[float, float]]:
    """Return mean worth and hours by month and half of the night, as "before midnight in October"."""
    zone = ZoneInfo(site.time_zone)
    sums: dict[str, list[float]] = {}
    for s, mjd in enumerate(slots.start_mjd + slots.length_h / 48.0):
        day = slots.dates[int(slots.night[s])]
        before = datetime_from_mjd(float(mjd)).astimezone(zone).date() <= day
        name = f"{'before' if before else 'after'} midnight in {day:%B}"
        row = sums.setdefault(name, [0.0, 0.0])
        row[0] += float(worth[s] * slots.length_h[s])
        row[1] += float(slots.length_h[s])
    return {name: (total / hours, hours) for name, (total, hours) in sums.items() if hours >= LEAST_HOURS}


def _times(ratio: float) -> str:
    """Return a ratio as people say it."""
    if ratio < 1.75:
        return "one and a half"
    whole = round(ratio)
    return NUMBERS[whole] if whole < len(NUMBERS) else f"{whole}"


def percent_range(probability: Sequence[float]) -> str:
    """Return chances as people say them, "35%" or "20% to 45%"."""
    least, most = f"{min(probability):.0%}", f"{max(probability):.0%}"
    return least if least == most else f"{least} to {most}"


def _whose_weather(notebook: Notebook) -> str:
    """Say what the ± beside the odds contains, and whose the weather's chances are."""
    weather = notebook.campaign.weather
    chances = f"{percent_range(weather.month_probability)} of nights usable"
    only = "± beside the odds is the simulation's alone"
    if weather.nights_seen_count:
        error = float(np.mean(weather.month_error)) * 100.0 if weather.month_error else 0.0
        return (
            f"{only}; the weather's {chances} is estimated from {weather.nights_seen_count} past nights, each month "
            f"known to ± {error:.0f} points on average, which moves the odds more."
        )
    if weather.month_probability == Weather().month_probability:
        return (
            f"{only}; the weather's {chances} is what every new campaign.toml says: put your own figures there, they "
            "move the odds more."
        )
    return f"{only}; the weather's {chances} is your own figure from campaign.toml, and moves the odds more."


def _by_night() -> str:
    """Say what the plan is for and what to go by on the night."""
    return (
        "The plan is reckoned for the whole season, all but its first night, which is tonight's own plan; "
        'on each night go by "sidelight night", which knows what is collected by then.'
    )


MUCH, A_LITTLE = 0.3, 0.05
"""A fall in odds from which a target counts as let go, and a rise from which the others gain by it."""


def sky_sentence(month_probability: Sequence[float], targets: Sequence[OddsWithout]) -> str:
    """Return the odds under another sky in a sentence."""
    odds = ", ".join(f"{one.target} {one.odds_fraction:.0%}" for one in targets)
    said = f"Were {percent_range(month_probability)} of nights usable: {odds}."
    let_go = [one.target for one in targets if one.change_fraction <= -MUCH]
    if let_go and any(one.change_fraction >= A_LITTLE for one in targets):
        said += f" It would pay to let {' and '.join(let_go)} go for the others."
    return said


def notes_of(
    notebook: Notebook,
    set_ups: Sequence[CampaignSetUpReport],
    dates: Sequence[dt.date],
    targets: Sequence[CampaignTargetReport],
) -> tuple[str, ...]:
    """Say what the odds rest on and what is left out."""
    notes = [_whose_weather(notebook), _by_night()] if targets else []
    for target in notebook.targets:
        if set_ups and not any(
            one.target == target.key and (one.east or one.west) for s in set_ups for one in s.serves
        ):
            notes.append(f"No set-up of this campaign serves {target.key}.")
    if not set_ups and notebook.targets:
        notes.append("There is no set-up that serves anything; see what sidelight setup says.")
    for one in targets:
        if one.season_ends == dates[-1] and one.odds_fraction < 0.995:
            notes.append(
                f"{one.target} can still be photographed after the last night planned; "
                "a larger planned_nights_count in campaign.toml looks farther."
            )
    return tuple(notes)
