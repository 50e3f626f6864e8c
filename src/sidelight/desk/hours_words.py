"""The worth of hours in words: what the Moon takes of a night and of a month, and a target's best night."""

from collections.abc import Sequence

import numpy as np

from sidelight.desk.chosen import NO_TARGETS
from sidelight.desk.hours_records import FilterHoursReport, NightHoursReport
from sidelight.desk.light import FilterHours
from sidelight.light.filters import Filter
from sidelight.light.hours import moon_cost_share
from sidelight.season.windows import SeasonTable

FULL_FRACTION, NEW_FRACTION = 0.98, 0.02


def together(hours: FilterHours, asked: Sequence[Filter], night: int) -> tuple[FilterHoursReport, ...]:
    """Return a night in each filter, over all targets."""
    return tuple(
        hours_report(one, float(hours.effective_h[f, :, night].sum()), float(hours.moonless_h[f, :, night].sum()))
        for f, one in enumerate(asked)
    )


def hours_report(one: Filter, effective_h: float, moonless_h: float) -> FilterHoursReport:
    """Return hours with what the Moon takes of them."""
    share = float(moon_cost_share(np.array(effective_h), np.array(moonless_h)))
    return FilterHoursReport(one.name, effective_h, moonless_h, share)


def moon_name(illuminated_fraction: float) -> str:
    """Return a Moon in words: "a full Moon", "a Moon 63 % lit", "a new Moon"."""
    if illuminated_fraction >= FULL_FRACTION:
        return "a full Moon"
    if illuminated_fraction <= NEW_FRACTION:
        return "a new Moon"
    return f"a Moon {100 * illuminated_fraction:.0f} % lit"


def takes(costs: Sequence[FilterHoursReport]) -> str:
    """Return what the Moon takes as "78 % of this night for L, 24 % for Ha"."""
    first, *others = [f"{100 * one.moon_takes_share:.0f} %" for one in costs]
    words = [f"{first} of this night for {costs[0].filter}"]
    return ", ".join(words + [f"{share} for {one.filter}" for share, one in zip(others, costs[1:], strict=True)])


def moon_sentence(table: SeasonTable, hours: FilterHours, asked: Sequence[Filter], night: int) -> str:
    """Say what the Moon costs in a night, over all targets."""
    costs = together(hours, asked, night)
    moon = moon_name(float(table.moon_illuminated_fraction[night]))
    name = moon[0].upper() + moon[1:]
    if not len(table.darkness.dark.of(night)):
        return "It does not get dark by this notebook's twilight limit; the night is worth nothing."
    if not hours.effective_h.shape[1]:
        return NO_TARGETS
    if not any(one.moonless_hours > 0 for one in costs):
        return "No target is above your horizon and floor in the dark; the night is worth nothing."
    if not any(one.moon_takes_share >= 0.005 for one in costs):  # what rounds to 0 % is nothing
        return f"{name} takes nothing of this night."
    return f"{name} takes {takes(costs)}."


def month_sentence(table: SeasonTable, hours: FilterHours, asked: Sequence[Filter]) -> str:
    """Say what the Moon costs in the month's worst night and in all."""
    effective, moonless = hours.effective_h.sum(axis=1), hours.moonless_h.sum(axis=1)
    if not np.any(moonless > 0):
        return ""
    cost = moon_cost_share(effective[0], moonless[0])
    worst = int(np.argmax(cost))
    if cost[worst] < 0.005:
        return f"In the {len(table.dates)} nights the Moon takes nothing."
    whole = moon_cost_share(effective.sum(axis=1), moonless.sum(axis=1))
    parts = ", ".join(f"{100 * share:.0f} % for {one.name}" for share, one in zip(whole, asked, strict=True))
    name = moon_name(float(table.moon_illuminated_fraction[worst]))
    return (
        f"On {table.dates[worst]} {name} takes {takes(together(hours, asked, worst)).replace('this', 'that')}. "
        f"Of all {len(table.dates)} nights it takes {parts}."
    )


def target_sentence(nights: Sequence[NightHoursReport], best: int, best_h: float, main: int) -> str:
    """Say what tonight is worth on a target and when its best night is."""
    if best_h <= 0:
        return f"not usable in these {len(nights)} nights."
    tonight = nights[0].filters[main]
    if best == 0:
        return f"tonight is its best night of these {len(nights)}: {best_h:.1f} effective hours in {tonight.filter}."
    if f"{tonight.effective_hours:.1f}" == f"{best_h:.1f}":  # equal to the digit shown
        return f"tonight is as good as any of these {len(nights)}: {best_h:.1f} effective hours in {tonight.filter}."
    worth = f"{tonight.effective_hours:.1f} effective hours of {nights[0].dark_hours:.1f} dark ones tonight"
    return f"{worth} in {tonight.filter}; best on {nights[best].date} with {best_h:.1f}."
