"""The campaign: which hours go where, the odds of finishing, last calls, and what would change them."""

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sidelight.campaign.allocate import allocate
from sidelight.campaign.odds import alone_h, last_call, play
from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Allocation, Job, Odds, SetUpChoice, Slots, served_table
from sidelight.campaign.tuning import tuned_scale
from sidelight.campaign.value import values
from sidelight.campaign.weather import simulate
from sidelight.desk.campaign_records import (
    CampaignCurves,
    CampaignReport,
    CampaignStretchReport,
    CampaignTargetReport,
    CampaignWeatherReport,
    FilterGoalReport,
    GivingUpReport,
    MoreNightsReport,
    OddsWithout,
)
from sidelight.desk.campaign_season import CampaignSeason, campaign_season, choices_for
from sidelight.desk.campaign_setups import CampaignSetUpReport, campaign_setups
from sidelight.desk.campaign_words import notes_of, price_sentences, target_sentence
from sidelight.desk.chosen import NO_TARGETS
from sidelight.desk.clock import utc, zone_label
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import BoolArray, FloatArray
from sidelight.notebook.read import Notebook

WEATHERS = 10_000
SEED = 1
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
Progress = Callable[[int, int], None]
"""Called with steps done and steps in all."""


@dataclass(frozen=True, eq=False)
class _Played:
    """A season with its plan and the weathers played."""

    season: CampaignSeason
    choices: tuple[SetUpChoice, ...]
    now: int | None
    plan: Allocation
    usable: BoolArray
    price_per_h: FloatArray
    scale_factor: float
    odds: Odds


def campaign_report(
    notebook: Notebook,
    date: dt.date,
    nights: int | None = None,
    weathers_count: int = WEATHERS,
    seed: int = SEED,
    what_if: bool = True,
    progress: Progress | None = None,
) -> CampaignReport:
    """Plan and simulate the campaign from a date on.

    nights : how many; the notebook's own number unless given. what_if : also give up each target, and add a night a
    week. Seeded: the same notebook, date and seed give the same odds. Raises BadInput for fewer than 100 weathers.
    A goal that cannot be met in any weather is an outcome, not an error.
    """
    if weathers_count < 100:
        raise BadInput(Problem(f"{weathers_count} weathers are too few.", key="weathers", expected="100 or more"))
    count = nights or notebook.campaign.nights.planned_nights_count
    tell = _Steps(progress, 2 + (len(notebook.targets) + 1 if what_if else 0))
    season = campaign_season(notebook, date, count)
    set_ups = campaign_setups(notebook, date, count) if notebook.targets else ()
    tell.step()
    played = _play(notebook, season, set_ups, weathers_count, seed)
    tell.step()
    targets = tuple(_target(notebook, played, target.key) for target in notebook.targets)
    giving_up: tuple[GivingUpReport, ...] = ()
    more = None
    if what_if:
        giving_up = _giving_up(notebook, played, targets, tell)
        more = _one_more_night(notebook, played, set_ups, targets, (date, count))
        tell.step()
    weather = notebook.campaign.weather
    return CampaignReport(
        notebook=str(notebook.folder),
        site=notebook.site.name,
        time_zone=notebook.site.time_zone,
        zone=zone_label(notebook.site, utc(season.table.darkness.nights[0].start_mjd + 0.5)),
        first_date=date,
        nights_count=count,
        usable_nights_count=sum(len(one) > 0 for one in season.usable_spans),
        usable_hours=float(season.slots.length_h.sum()),
        odds_wanted_fraction=notebook.campaign.odds_wanted_percent / 100.0,
        weathers_count=weathers_count,
        seed=seed,
        gap_fraction=played.plan.gap_fraction,
        weather=CampaignWeatherReport(
            weather.month_probability,
            weather.month_error,
            weather.persistence_fraction,
            weather.nights_seen_count,
            len(weather.forecast),
        ),
        targets=targets,
        set_ups=_with_nights(set_ups, played),
        plan=_stretches(played, set_ups),
        giving_up=giving_up,
        one_more_night=more,
        prices=price_sentences(notebook.site, season.slots, played.plan.worth_per_h, _reserve(played), season.chance),
        sentence=_sentence(targets, count),
        notes=notes_of(notebook, set_ups, season.table.dates, targets),
        curves=_curves(played, targets),
    )


class _Steps:
    """Counts steps for whoever wants to see progress."""

    def __init__(self, progress: Progress | None, total: int) -> None:
        self.progress, self.total, self.done = progress, total, 0

    def step(self) -> None:
        """Tell that one more step is done."""
        self.done += 1
        if self.progress:
            self.progress(self.done, self.total)


def _play(
    notebook: Notebook,
    season: CampaignSeason,
    set_ups: Sequence[CampaignSetUpReport],
    weathers_count: int,
    seed: int,
) -> _Played:
    """Plan the season and play it in simulated weathers."""
    served = [{one.target: (one.east, one.west) for one in each.serves} for each in set_ups]
    # with no set-up at all nothing can be done
    choices = tuple(choices_for(season.jobs, served)) or (SetUpChoice("none"),)
    now = next((k for k, one in enumerate(set_ups) if one.in_use), None)
    plan = allocate(
        season.jobs, season.slots, season.chance, notebook.campaign.rules, choices, now, block=season.block
    )
    usable = simulate(season.weather, weathers_count, seed)
    price = _policy(season, season.jobs, choices, plan)
    first = int(plan.set_up[0]) if now is None and len(plan.set_up) else now or 0
    rules, tried = notebook.campaign.rules, (season.jobs, season.slots, season.chance, price, usable)
    scale = tuned_scale(*tried, rules, choices, first, season.may_change)
    price = scale * price
    odds = _odds(notebook, season, season.jobs, choices, plan, now, usable, price)
    return _Played(season, choices, now, plan, usable, price, scale, odds)


def _policy(
    season: CampaignSeason, jobs: Sequence[Job], choices: Sequence[SetUpChoice], plan: Allocation
) -> FloatArray:
    """Return the prices that the policy goes by, in the set-ups of the plan."""
    slots = season.slots
    served = served_table(len(jobs), slots, choices)
    here = served[plan.set_up[slots.night], :, np.arange(len(slots.night))].T
    return policy_price_per_h(jobs, slots, season.chance, here)


def _odds(
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


def _reserve(played: _Played) -> FloatArray:
    """Return the prices that keep a reserve against bad weather, shape (s,)."""
    season = played.season
    return policy_price_per_h(season.jobs, season.slots, season.chance, _somewhere(played))


def _jobs_of(jobs: Sequence[Job], key: str) -> list[int]:
    """Return the numbers of a target's jobs."""
    return [j for j, job in enumerate(jobs) if job.key == key]


def _finish_nights(odds: Odds, mine: Sequence[int]) -> FloatArray:
    """Return the night in which all of a target's jobs are finished in each weather; infinite for never."""
    nights = np.where(odds.finish_night[:, mine] < 0, np.inf, odds.finish_night[:, mine])
    return np.asarray(nights.max(axis=1, initial=0.0))


def _target(notebook: Notebook, played: _Played, key: str) -> CampaignTargetReport:
    """Return one target's report."""
    season, odds = played.season, played.odds
    jobs, mine = season.jobs, _jobs_of(season.jobs, key)
    goal = notebook.campaign.goal_of(key)
    finish = _finish_nights(odds, mine)
    done = np.isfinite(finish)
    share = float(done.mean())
    had = sum(min(jobs[j].collected_h, jobs[j].wanted_h) for j in mine)
    gained = odds.collected_h[:, mine].sum(axis=1)
    wanted = sum(jobs[j].wanted_h for j in mine)
    best_h, possible = _best_possible(notebook, played, mine)
    row = next(i for i, target in enumerate(notebook.targets) if target.key == key)
    nights = np.flatnonzero(season.table.has_window[row])
    call = _last_call(notebook, played, mine)
    report = CampaignTargetReport(
        target=key,
        priority_weight=goal.priority_weight,
        finish=goal.finish,
        wanted_hours=wanted,
        collected_hours=sum(jobs[j].collected_h for j in mine),
        odds_fraction=share,
        standard_error_fraction=(share * (1 - share) / len(finish)) ** 0.5,
        done_by_50_percent=_done_by(finish, 0.5, season.table.dates),
        done_by_90_percent=_done_by(finish, 0.9, season.table.dates),
        expected_hours=had + float(gained.mean()),
        expected_hours_if_unfinished=had + float(gained[~done].mean()) if not done.all() else None,
        best_possible_hours=had + best_h,
        possible=possible,
        last_call=None if call is None else season.table.dates[call],
        season_ends=season.table.dates[int(nights[-1])] if len(nights) else None,
        planned_hours=float(sum(played.plan.expected_h[j] for j in mine)),
        filters=tuple(_filter(played, j) for j in mine),
        sentence="",
    )
    return _said(report, notebook.campaign.odds_wanted_percent)


def _said(report: CampaignTargetReport, odds_wanted_percent: float) -> CampaignTargetReport:
    """Return the report with its sentence."""
    return replace(report, sentence=target_sentence(report, odds_wanted_percent))


def _filter(played: _Played, j: int) -> FilterGoalReport:
    """Return one job's report."""
    job = played.season.jobs[j]
    expected = min(job.collected_h, job.wanted_h) + float(played.odds.collected_h[:, j].mean())
    return FilterGoalReport(
        job.filter_name, job.wanted_h, job.collected_h, expected, float(played.odds.odds_fraction[j])
    )


def _done_by(finish: FloatArray, share: float, dates: Sequence[dt.date]) -> dt.date | None:
    """Return the evening by which so large a share of weathers is done."""
    order = np.sort(finish)
    at = order[int(np.ceil(share * len(order) - 1e-9)) - 1] if len(order) else np.inf
    return dates[int(at)] if np.isfinite(at) else None


def _somewhere(played: _Played) -> BoolArray:
    """Return where any set-up serves a job, shape (j, s)."""
    table = served_table(len(played.season.jobs), played.season.slots, played.choices)
    return np.asarray(table.any(axis=0))


def _best_possible(notebook: Notebook, played: _Played, mine: Sequence[int]) -> tuple[float, bool]:
    """Return the hours that a target gains when every night is clear and all are its own, and whether that does."""
    slots, jobs = played.season.slots, played.season.jobs
    served, rules = _somewhere(played), notebook.campaign.rules
    missing = sum(jobs[j].remaining_h for j in mine)
    alone = {j: float(alone_h(slots.open_h[j], slots.gain_h[j], slots, rules, served[j]).sum()) for j in mine}
    best_of_all = (slots.gain_h[mine] * served[mine]).max(axis=0, initial=0.0)
    open_h = (slots.open_h[mine] * served[mine]).max(axis=0, initial=0.0)
    together = float(alone_h(open_h, best_of_all, slots, rules).sum())
    possible = together >= missing - 1e-9 and all(alone[j] >= jobs[j].remaining_h - 1e-9 for j in mine)
    return min(missing, together, sum(min(alone[j], jobs[j].remaining_h) for j in mine)), possible


def _last_call(notebook: Notebook, played: _Played, mine: Sequence[int]) -> int | None:
    """Return the last night to begin with a target; its filters are taken in the proportion they are missing in."""
    slots, jobs, rules = played.season.slots, played.season.jobs, notebook.campaign.rules
    wanting = [j for j in mine if jobs[j].remaining_h > 0]
    if not wanting:
        return None
    served = _somewhere(played)
    missing = sum(jobs[j].remaining_h for j in wanting)
    rate = slots.rate * served
    with np.errstate(divide="ignore"):
        clock = sum(jobs[j].remaining_h / rate[j] for j in wanting)
    mixed = np.where(np.isfinite(clock), missing / np.maximum(clock, 1e-12), 0.0)
    open_h = slots.open_h[wanting].min(axis=0) * (mixed > 0)
    one = Slots(slots.dates, slots.night, slots.start_mjd, slots.length_h, open_h[None], (open_h * mixed)[None])
    job = Job(jobs[wanting[0]].key, "", missing)
    return last_call(0, [job], one, played.usable, notebook.campaign.odds_wanted_percent / 100.0, rules)


def _giving_up(
    notebook: Notebook, played: _Played, targets: Sequence[CampaignTargetReport], tell: _Steps
) -> tuple[GivingUpReport, ...]:
    """Play the season without each target in turn, in the same weathers."""
    found = []
    for given in targets:
        jobs = [
            replace(job, collected_h=max(job.collected_h, job.wanted_h)) if job.key == given.target else job
            for job in played.season.jobs
        ]
        others = [one for one in targets if one.target != given.target]
        ways = []
        # with less to do the old policy still stands; whichever serves the others better is taken
        own = played.scale_factor * _policy(played.season, jobs, played.choices, played.plan)
        for price in (own, played.price_per_h):
            odds = _odds(notebook, played.season, jobs, played.choices, played.plan, played.now, played.usable, price)
            ways.append(_changes(jobs, odds, others))
        best = max(ways, key=lambda way: sum(one.change_fraction for one in way))
        found.append(GivingUpReport(given.target, best))
        tell.step()
    return tuple(found)


def _changes(jobs: Sequence[Job], odds: Odds, targets: Sequence[CampaignTargetReport]) -> tuple[OddsWithout, ...]:
    """Return targets' odds beside what they were."""
    found = []
    for one in targets:
        share = float(np.isfinite(_finish_nights(odds, _jobs_of(jobs, one.target))).mean())
        found.append(OddsWithout(one.target, share, share - one.odds_fraction))
    return tuple(found)


def _one_more_night(
    notebook: Notebook,
    played: _Played,
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
    again = _play(notebook, wider, set_ups, played.odds.weathers_count, played.odds.seed or SEED)
    return MoreNightsReport(WEEKDAYS[weekday], _changes(wider.jobs, again.odds, targets))


def _with_nights(set_ups: Sequence[CampaignSetUpReport], played: _Played) -> tuple[CampaignSetUpReport, ...]:
    """Return the set-ups with how many planned nights have each."""
    nights = {stay.night for stay in played.plan.stays}
    return tuple(
        replace(one, nights_count=sum(int(played.plan.set_up[n]) == k for n in nights))
        for k, one in enumerate(set_ups)
    )


def _stretches(played: _Played, set_ups: Sequence[CampaignSetUpReport]) -> tuple[CampaignStretchReport, ...]:
    """Return the plan's stays in words of dates and instants."""
    season = played.season
    rate = season.slots.rate
    keys = list(dict.fromkeys(job.key for job in season.jobs))
    found = []
    for stay in played.plan.stays:
        end = season.slots.start_mjd + season.slots.length_h / 24.0
        inside = (season.slots.start_mjd >= stay.start_mjd - 1e-9) & (end <= stay.end_mjd + 1e-9)
        worth = float((played.plan.hours_h[:, inside] * rate[:, inside]).sum())
        found.append(
            CampaignStretchReport(
                date=season.table.dates[stay.night],
                target=keys[stay.target],
                filters=tuple(season.jobs[j].filter_name for j, _ in stay.hours_h if season.jobs[j].filter_name),
                set_up=set_ups[int(played.plan.set_up[stay.night])].name if set_ups else "",
                start_utc=utc(stay.start_mjd),
                end_utc=utc(stay.end_mjd),
                hours=sum(hours for _, hours in stay.hours_h),
                effective_hours=worth,
                usable_probability=float(season.chance[stay.night]),
            )
        )
    return tuple(found)


def _curves(played: _Played, targets: Sequence[CampaignTargetReport]) -> CampaignCurves:
    """Return the share of weathers done by each night."""
    dates = played.season.table.dates
    rows = []
    for one in targets:
        finish = _finish_nights(played.odds, _jobs_of(played.season.jobs, one.target))
        rows.append([(finish <= n).mean() for n in range(len(dates))])
    done = np.array(rows).reshape(len(targets), len(dates))
    return CampaignCurves(dates, done, np.sqrt(done * (1 - done) / played.odds.weathers_count))


def _sentence(targets: Sequence[CampaignTargetReport], nights: int) -> str:
    """Say the campaign in one sentence."""
    if not targets:
        return NO_TARGETS
    likely = sum(one.odds_fraction >= 0.5 for one in targets)
    expected = sum(one.odds_fraction for one in targets)
    return (
        f"Of {len(targets)} goals, {expected:.1f} are met on average within {nights} nights; "
        f"{likely} {'is' if likely == 1 else 'are'} more likely met than not."
    )
