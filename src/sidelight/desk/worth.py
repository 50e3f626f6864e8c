"""What an hour on each target is worth tonight: by the campaign's values of what remains, else by urgency."""

import datetime as dt
from dataclasses import dataclass
from typing import Literal

import numpy as np

from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Job
from sidelight.campaign.value import Values, values
from sidelight.desk.campaign_season import CampaignSeason, campaign_season, sky_weight
from sidelight.desk.collected import missing_hours
from sidelight.ground.types import FloatArray
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.season.year import target_seasons

Basis = Literal["campaign", "urgency"]
MOST_TARGET_NIGHTS = 4000
"""Targets times nights up to which the campaign's values are worked out for one night's plan."""
SLOT_H = 2.0
STEP_MIN = 10.0


@dataclass(frozen=True, eq=False)
class Worth:
    """One target tonight.

    urgency : hours missing over hours left in its season, so that what is lost first comes first; 0 when nothing is
    wanted or left. value_per_h : what the night's plan counts. times_mjd, weights : how it goes through the night,
    0 after the person's bedtime. most_h : no more than so many hours, None for no bound.
    basis : where the value comes from: "campaign", what the rest of the season makes of an effective hour tonight, or
    "urgency", where no campaign can say or the question is too large for one night's plan.
    """

    urgency: float
    value_per_h: float
    times_mjd: FloatArray | None = None
    weights: FloatArray | None = None
    most_h: float | None = None
    basis: Basis = "urgency"


def worth_tonight(notebook: Notebook, date: dt.date) -> dict[str, Worth]:
    """Return each target's worth by its key."""
    by_urgency = _by_urgency(notebook, date)
    nights = notebook.campaign.nights.planned_nights_count
    if not notebook.targets or len(notebook.targets) * nights > MOST_TARGET_NIGHTS:
        return by_urgency
    season = campaign_season(notebook, date, nights, longest_slot_h=SLOT_H)
    if not season.jobs or not len(season.slots.night):
        return by_urgency
    price = policy_price_per_h(season.jobs, season.slots, season.chance)
    later = values(season.jobs, season.slots, season.chance, price)
    return {
        target.key: _by_campaign(notebook, season, later, index, by_urgency[target.key])
        for index, target in enumerate(notebook.targets)
    }


def _by_campaign(notebook: Notebook, season: CampaignSeason, later: Values, index: int, urgency: Worth) -> Worth:
    """Return one target's worth from the slopes of its jobs after tonight, through the night's weights."""
    target = notebook.targets[index]
    mine = [(j, job) for j, job in enumerate(season.jobs) if job.key == target.key and job.remaining_h > 0]
    windows = season.table.windows(index, 0)
    nothing = Worth(urgency.urgency, 0.0, most_h=0.0, basis="campaign")
    if not mine or not len(windows):
        return nothing
    first, last = float(windows.min()), float(windows.max())
    times = np.linspace(first, last, max(2, int((last - first) * 1440.0 / STEP_MIN) + 1))
    worth = np.max(
        [_slope(later, j, job) * sky_weight(notebook, target, job.filter_name, times) for j, job in mine], 0
    )
    top = float(worth.max(initial=0.0))
    if top <= 0:
        return nothing
    weights = worth / top
    if len(season.usable_spans[0]):
        weights = np.where(times <= season.usable_spans[0].max() + 1e-9, weights, 0.0)
    mean_weight = float(weights.mean()) * top / max(_slope(later, *mine[0]), 1e-12)
    wanted = sum(job.remaining_h for _, job in mine)
    return Worth(urgency.urgency, top, times, weights, wanted / max(mean_weight, 0.05), "campaign")


def _slope(later: Values, j: int, job: Job) -> float:
    """Return what an effective hour of a job tonight is worth to the rest of the season."""
    level = int(later.grid(np.array([job.remaining_h]))[0])
    return float(later.slope[j, 1, level])


def _by_urgency(notebook: Notebook, date: dt.date) -> dict[str, Worth]:
    """Return each target's worth by hours missing over hours left."""
    flip = flip_hour_angle_deg(notebook.rig.mount)
    seasons = target_seasons(notebook.site, notebook.targets, date, flip_hour_angle_deg=flip)
    lacking = missing_hours(notebook)
    worth = {}
    for target, season in zip(notebook.targets, seasons, strict=True):
        wanted = lacking[target.key]
        urgency = wanted / season.hours_left_h if season.hours_left_h > 0 else 0.0
        # a target out of season may still fill an empty hour, at the bottom of the list
        value = (urgency if urgency > 0 else 0.01) if wanted > 0 else 0.0
        worth[target.key] = Worth(urgency, value, most_h=wanted)
    return worth
