"""A campaign planned and played: the plan, the policy's prices, and the odds in simulated weathers."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.campaign.allocate import allocate
from sidelight.campaign.odds import play
from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Allocation, Job, Odds, SetUpChoice, served_table
from sidelight.campaign.reserve import slopes_on_average, with_reserve
from sidelight.campaign.tuning import tuned_scale
from sidelight.campaign.value import values
from sidelight.campaign.weather import simulate
from sidelight.desk.campaign_season import CampaignSeason, choices_for
from sidelight.desk.campaign_setups import CampaignSetUpReport
from sidelight.ground.types import BoolArray, FloatArray
from sidelight.notebook.read import Notebook

CERTAIN = 0.9995
"""Odds from which a goal counts as certain: it needs no hour in reserve."""


@dataclass(frozen=True, eq=False)
class Played:
    """A season with its plan and the weathers played, drawn with the seed."""

    season: CampaignSeason
    choices: tuple[SetUpChoice, ...]
    now: int | None
    plan: Allocation
    usable: BoolArray
    price_per_h: FloatArray
    scale_factor: float
    odds: Odds
    seed: int


def play_season(
    notebook: Notebook,
    season: CampaignSeason,
    set_ups: Sequence[CampaignSetUpReport],
    weathers_count: int,
    seed: int,
) -> Played:
    """Plan the season and play it in simulated weathers."""
    served = [{one.target: (one.east, one.west) for one in each.serves} for each in set_ups]
    # with no set-up at all nothing can be done
    choices = tuple(choices_for(season.jobs, served)) or (SetUpChoice("none"),)
    now = next((k for k, one in enumerate(set_ups) if one.in_use), None)
    plan = allocate(
        season.jobs, season.slots, season.chance, notebook.campaign.rules, choices, now, block=season.block
    )
    usable = simulate(season.weather, weathers_count, seed)
    price = policy_of(season, season.jobs, choices, plan)
    first = int(plan.set_up[0]) if now is None and len(plan.set_up) else now or 0
    rules, tried = notebook.campaign.rules, (season.jobs, season.slots, season.chance, price, usable)
    scale = tuned_scale(*tried, rules, choices, first, season.may_change)
    price = scale * price
    odds = odds_of(notebook, season, season.jobs, choices, plan, now, usable, price)
    filled = _with_reserve(notebook, season, choices, plan, price, odds)
    return Played(season, choices, now, filled, usable, price, scale, odds, seed)


def _with_reserve(
    notebook: Notebook,
    season: CampaignSeason,
    choices: Sequence[SetUpChoice],
    plan: Allocation,
    price_per_h: FloatArray,
    odds: Odds,
) -> Allocation:
    """Return the plan with the hours it leaves empty given to goals that are not certain, by the policy's values."""
    worth = values(season.jobs, season.slots, season.chance, price_per_h)
    uncertain = np.where(odds.odds_fraction < CERTAIN, 1.0 - odds.odds_fraction, 0.0)
    price = slopes_on_average(season.jobs, season.slots, season.chance, plan, worth) * uncertain[:, None]
    here = _here(season, choices, plan)
    return with_reserve(plan, season.jobs, season.slots, season.chance, notebook.campaign.rules, here, price)


def policy_of(
    season: CampaignSeason, jobs: Sequence[Job], choices: Sequence[SetUpChoice], plan: Allocation
) -> FloatArray:
    """Return the prices that the policy goes by, in the set-ups of the plan."""
    return policy_price_per_h(jobs, season.slots, season.chance, _here(season, choices, plan))


def _here(season: CampaignSeason, choices: Sequence[SetUpChoice], plan: Allocation) -> BoolArray:
    """Return where the plan's set-ups serve a job, shape (j, s)."""
    slots = season.slots
    served = served_table(len(season.jobs), slots, choices)
    return np.asarray(served[plan.set_up[slots.night], :, np.arange(len(slots.night))].T)


def odds_of(
    notebook: Notebook,
    season: CampaignSeason,
    jobs: Sequence[Job],
    choices: Sequence[SetUpChoice],
    plan: Allocation,
    now: int | None,
    usable: BoolArray,
    price_per_h: FloatArray,
) -> Odds:
    """Play the season under the policy of these prices."""
    slots, chance = season.slots, season.chance
    first = int(plan.set_up[0]) if now is None and len(plan.set_up) else now or 0
    worth = values(jobs, slots, chance, price_per_h)
    return play(jobs, slots, worth, usable, notebook.campaign.rules, choices, first, season.may_change)


def jobs_of_target(jobs: Sequence[Job], key: str) -> list[int]:
    """Return the numbers of a target's jobs."""
    return [j for j, job in enumerate(jobs) if job.key == key]


def finish_nights(odds: Odds, mine: Sequence[int]) -> FloatArray:
    """Return the night in which all of a target's jobs are finished in each weather; infinite for never."""
    nights = np.where(odds.finish_night[:, mine] < 0, np.inf, odds.finish_night[:, mine])
    return np.asarray(nights.max(axis=1, initial=0.0))


def somewhere(played: Played) -> BoolArray:
    """Return where any set-up serves a job, shape (j, s)."""
    table = served_table(len(played.season.jobs), played.season.slots, played.choices)
    return np.asarray(table.any(axis=0))
