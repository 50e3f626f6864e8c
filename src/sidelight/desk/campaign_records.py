"""What the campaign answers: frozen reports, ready for JSON by their field names."""

import datetime as dt
from dataclasses import dataclass, field

from sidelight.desk.campaign_setups import CampaignSetUpReport
from sidelight.ground.types import FloatArray


@dataclass(frozen=True)
class FilterGoalReport:
    """One filter of a target, "" for hours in all; hours are effective hours."""

    filter: str
    wanted_hours: float
    collected_hours: float
    expected_hours: float
    odds_fraction: float


@dataclass(frozen=True)
class CampaignTargetReport:
    """One target of the campaign; hours are effective hours.

    odds_fraction : share of simulated weathers in which all it wants is collected, with its standard error.
    done_by_50_percent, done_by_90_percent : evening by which it is done in so many of all weathers, None for never.
    expected_hours : collected by the end, on average, with what is collected now; expected_hours_if_unfinished : in
    the weathers in which it is not finished, None when there is none. best_possible_hours : with every night clear
    and nothing else to do. possible : False when no weather can meet the goal.
    last_call : the last evening from which, given every hour it can use, it still finishes at the stated odds; None
    when even tonight is too late or nothing is wanted. season_ends : last night with a window in the nights planned.
    """

    target: str
    priority_weight: float
    finish: bool
    wanted_hours: float
    collected_hours: float
    odds_fraction: float
    standard_error_fraction: float
    done_by_50_percent: dt.date | None
    done_by_90_percent: dt.date | None
    expected_hours: float
    expected_hours_if_unfinished: float | None
    best_possible_hours: float
    possible: bool
    last_call: dt.date | None
    season_ends: dt.date | None
    planned_hours: float
    filters: tuple[FilterGoalReport, ...]
    sentence: str


@dataclass(frozen=True)
class CampaignStretchReport:
    """A planned stay, from slewing to the last exposure.

    hours : with the shutter open; effective_hours : what they are worth. reserve : beyond the goal in average
    weather, against a bad run.
    """

    date: dt.date
    target: str
    filters: tuple[str, ...]
    set_up: str
    start_utc: dt.datetime
    end_utc: dt.datetime
    hours: float
    effective_hours: float
    usable_probability: float
    reserve: bool = False


@dataclass(frozen=True)
class OddsWithout:
    """What a change would make of one target's odds."""

    target: str
    odds_fraction: float
    change_fraction: float


@dataclass(frozen=True)
class GivingUpReport:
    """What giving up one target would do for the others."""

    target: str
    others: tuple[OddsWithout, ...]


@dataclass(frozen=True)
class MoreNightsReport:
    """What one more free night a week would do; weekday None when every night is free already."""

    weekday: str | None
    targets: tuple[OddsWithout, ...]


@dataclass(frozen=True)
class OtherSkyReport:
    """The odds were every month's chance of a usable night so many percentage points higher, or lower (negative).

    least_probability, most_probability : of the months then.
    """

    change_percent: float
    least_probability: float
    most_probability: float
    targets: tuple[OddsWithout, ...]
    sentence: str


@dataclass(frozen=True)
class CampaignWeatherReport:
    """The weather that the odds rest on; errors are None for typed chances."""

    month_probability: tuple[float, ...]
    month_error_probability: tuple[float, ...] | None
    persistence_fraction: float
    nights_seen_count: int
    forecast_nights_count: int


@dataclass(frozen=True, eq=False)
class CampaignCurves:
    """Share of weathers in which each target is done by each night; what the curves are drawn from, (t, n)."""

    dates: tuple[dt.date, ...]
    done_fraction: FloatArray
    standard_error_fraction: FloatArray


@dataclass(frozen=True)
class CampaignReport:
    """The campaign from a date on. gap_fraction : how far the plan may be from the best there is."""

    notebook: str
    site: str
    time_zone: str
    zone: str
    first_date: dt.date
    nights_count: int
    usable_nights_count: int
    usable_hours: float
    odds_wanted_fraction: float
    weathers_count: int
    seed: int
    gap_fraction: float
    weather: CampaignWeatherReport
    targets: tuple[CampaignTargetReport, ...]
    set_ups: tuple[CampaignSetUpReport, ...]
    plan: tuple[CampaignStretchReport, ...]
    giving_up: tuple[GivingUpReport, ...]
    one_more_night: MoreNightsReport | None
    other_skies: tuple[OtherSkyReport, ...]
    prices: tuple[str, ...]
    sentence: str
    notes: tuple[str, ...]
    curves: CampaignCurves = field(metadata={"json": False}, repr=False)
