"""What would change a campaign's odds: a target given up, one more free evening a week, clearer or cloudier skies."""

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from sidelight.campaign.records import Job, Odds
from sidelight.campaign.tuning import mean_worth, tuned_scale
from sidelight.campaign.weather import chain, simulate
from sidelight.desk.campaign_play import Played, finish_nights, jobs_of_target, odds_of, play_season, policy_of
from sidelight.desk.campaign_records import (
    CampaignTargetReport,
    GivingUpReport,
    MoreNightsReport,
    OddsWithout,
    OtherSkyReport,
)
from sidelight.desk.campaign_season import campaign_season
from sidelight.desk.campaign_setups import CampaignSetUpReport
from sidelight.desk.campaign_words import sky_sentence
from sidelight.notebook.read import Notebook

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
WHAT_IF_WEATHERS = 2500
"""So many of the campaign's weathers are played again for a what-if: in the same ones differences need far fewer."""
SKY_POINTS = 10.0
"""Percentage points by which the chance of a usable night is tried lower and higher."""


def giving_up_each(
    notebook: Notebook, played: Played, targets: Sequence[CampaignTargetReport], step: Callable[[], None]
) -> tuple[GivingUpReport, ...]:
    """Play the season without each target in turn, in some of the same weathers; step is called after each."""
    usable = played.usable[:WHAT_IF_WEATHERS]
    season, choices, plan, now = played.season, played.choices, played.plan, played.now
    found = []
    for given in targets:
        jobs = [
            replace(job, collected_h=max(job.collected_h, job.wanted_h)) if job.key == given.target else job
            for job in season.jobs
        ]
        others = [one for one in targets if one.target != given.target]
        ways = []
        # with less to do the old policy still stands; whichever serves the others better is taken
        own = played.scale_factor * policy_of(season, jobs, choices, plan)
        for price in (own, played.price_per_h):
            odds = odds_of(notebook, season, jobs, choices, plan, now, usable, price)
            ways.append(_changes(played, jobs, odds, others))
        best = max(ways, key=lambda way: sum(one.change_fraction for one in way))
        found.append(GivingUpReport(given.target, best))
        step()
    return tuple(found)


def other_skies(
    notebook: Notebook, played: Played, targets: Sequence[CampaignTargetReport]
) -> tuple[OtherSkyReport, ...]:
    """Play the season were every month's chance of a usable night ten points lower, and ten points higher.

    Forecast nights keep their chance, the set-ups are the plan's; the same random numbers draw the weathers, so that
    the difference is the sky's.
    """
    weather, found = notebook.campaign.weather, []
    jobs, choices, plan, now = played.season.jobs, played.choices, played.plan, played.now
    slots, before = played.season.slots.night, played.season.chance
    rules, tried = notebook.campaign.rules, (jobs, played.season.slots)
    first = int(plan.set_up[0]) if now is None and len(plan.set_up) else now or 0
    for points in (-SKY_POINTS, SKY_POINTS):
        month = tuple(min(1.0, max(0.0, one + points / 100.0)) for one in weather.month_probability)
        nights = chain(replace(weather, month_probability=month), played.season.table.dates)
        season = replace(played.season, weather=nights)
        usable = simulate(nights, len(played.usable), played.seed)[:WHAT_IF_WEATHERS]
        # prices of the hours as the season has them, and as it would have them then; whichever serves better is taken
        own = policy_of(season, jobs, choices, plan)
        own = own * tuned_scale(*tried, nights.probability, own, usable, rules, choices, first, season.may_change)
        kept = played.price_per_h * nights.probability[slots] / np.maximum(before[slots], 1e-9)
        played_again = [odds_of(notebook, season, jobs, choices, plan, now, usable, price) for price in (own, kept)]
        odds = max(played_again, key=lambda one: mean_worth(jobs, one))
        changes = _changes(played, jobs, odds, targets)
        found.append(OtherSkyReport(points, min(month), max(month), changes, sky_sentence(month, changes)))
    return tuple(found)


def _changes(
    played: Played, jobs: Sequence[Job], odds: Odds, targets: Sequence[CampaignTargetReport]
) -> tuple[OddsWithout, ...]:
    """Return targets' odds beside what they were, compared in the weathers that both were played in."""
    found = []
    for one in targets:
        mine = jobs_of_target(jobs, one.target)
        before = np.isfinite(finish_nights(played.odds, mine))[: odds.weathers_count]
        change = float(np.isfinite(finish_nights(odds, mine)).mean() - before.mean())
        found.append(OddsWithout(one.target, min(1.0, max(0.0, one.odds_fraction + change)), change))
    return tuple(found)


def one_more_night(
    notebook: Notebook,
    played: Played,
    set_ups: Sequence[CampaignSetUpReport],
    targets: Sequence[CampaignTargetReport],
    span: tuple[dt.date, int],
) -> MoreNightsReport:
    """Play the season with one more weekday free: the one on which most usable hours are added."""
    busy = [day for day in range(7) if day not in notebook.campaign.nights.weekdays]
    if not busy or not targets:
        return MoreNightsReport(None, ())
    darkness = played.season.table.darkness
    hours = {
        day: sum(h for night, h in zip(darkness.nights, darkness.dark_h, strict=True) if night.date.weekday() == day)
        for day in busy
    }
    weekday = max(busy, key=lambda day: (round(float(hours[day]), 3), -day))
    wider = campaign_season(notebook, *span, extra_weekdays=(weekday,))
    again = play_season(notebook, wider, set_ups, played.odds.weathers_count, played.seed)
    return MoreNightsReport(WEEKDAYS[weekday], _changes(played, wider.jobs, again.odds, targets))
