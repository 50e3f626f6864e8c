"""The campaign: which hours go where, the odds of finishing, last calls, and what would change them."""

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from sidelight.campaign.odds import alone_h, last_call
from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Job, Slots
from sidelight.desk.campaign_play import Played, finish_nights, jobs_of_target, play_season, somewhere
from sidelight.desk.campaign_records import (
    CampaignCurves,
    CampaignReport,
    CampaignStretchReport,
    CampaignTargetReport,
    CampaignWeatherReport,
    FilterGoalReport,
    GivingUpReport,
    OtherSkyReport,
)
from sidelight.desk.campaign_season import campaign_season
from sidelight.desk.campaign_setups import CampaignSetUpReport, campaign_setups
from sidelight.desk.campaign_tonight import first_night
from sidelight.desk.campaign_what_if import giving_up_each, one_more_night, other_skies
from sidelight.desk.campaign_words import notes_of, price_sentences, target_sentence
from sidelight.desk.chosen import NO_TARGETS
from sidelight.desk.clock import utc, zone_label
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray
from sidelight.notebook.read import Notebook

WEATHERS = 10_000
SEED = 1
Progress = Callable[[int, int], None]
"""Called with steps done and steps in all."""


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

    nights : how many; the notebook's own number unless given. what_if : also give up each target, add a night a week,
    and try clearer and cloudier skies. Seeded: the same notebook, date and seed give the same odds. Raises BadInput
    for fewer than 100 weathers. A goal that cannot be met in any weather is an outcome, not an error.
    """
    if weathers_count < 100:
        raise BadInput(Problem(f"{weathers_count} weathers are too few.", key="weathers", expected="100 or more"))
    count = nights or notebook.campaign.nights.planned_nights_count
    tell = _Steps(progress, 2 + (len(notebook.targets) + 1 if what_if else 0))
    season = campaign_season(notebook, date, count)
    set_ups = campaign_setups(notebook, date, count) if notebook.targets else ()
    tell.step()
    played = play_season(notebook, season, set_ups, weathers_count, seed)
    tell.step()
    targets = tuple(_target(notebook, played, target.key) for target in notebook.targets)
    giving_up: tuple[GivingUpReport, ...] = ()
    more, skies = None, tuple[OtherSkyReport, ...]()
    if what_if:
        giving_up = giving_up_each(notebook, played, targets, tell.step)
        skies = other_skies(notebook, played, targets) if targets else ()
        more = one_more_night(notebook, played, set_ups, targets, (date, count))
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
        plan=_planned(notebook, date, played, set_ups),
        giving_up=giving_up,
        one_more_night=more,
        other_skies=skies,
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


def _reserve(played: Played) -> FloatArray:
    """Return the prices that keep a reserve against bad weather, shape (s,)."""
    season = played.season
    return policy_price_per_h(season.jobs, season.slots, season.chance, somewhere(played))


def _target(notebook: Notebook, played: Played, key: str) -> CampaignTargetReport:
    """Return one target's report."""
    season, odds = played.season, played.odds
    jobs, mine = season.jobs, jobs_of_target(season.jobs, key)
    goal = notebook.campaign.goal_of(key)
    finish = finish_nights(odds, mine)
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


def _filter(played: Played, j: int) -> FilterGoalReport:
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


def _best_possible(notebook: Notebook, played: Played, mine: Sequence[int]) -> tuple[float, bool]:
    """Return the hours that a target gains when every night is clear and all are its own, and whether that does."""
    slots, jobs = played.season.slots, played.season.jobs
    served, rules = somewhere(played), notebook.campaign.rules
    missing = sum(jobs[j].remaining_h for j in mine)
    alone = {j: float(alone_h(slots.open_h[j], slots.gain_h[j], slots, rules, served[j]).sum()) for j in mine}
    best_of_all = (slots.gain_h[mine] * served[mine]).max(axis=0, initial=0.0)
    open_h = (slots.open_h[mine] * served[mine]).max(axis=0, initial=0.0)
    together = float(alone_h(open_h, best_of_all, slots, rules).sum())
    possible = together >= missing - 1e-9 and all(alone[j] >= jobs[j].remaining_h - 1e-9 for j in mine)
    return min(missing, together, sum(min(alone[j], jobs[j].remaining_h) for j in mine)), possible


def _last_call(notebook: Notebook, played: Played, mine: Sequence[int]) -> int | None:
    """Return the last night to begin with a target; its filters are taken in the proportion they are missing in."""
    slots, jobs, rules = played.season.slots, played.season.jobs, notebook.campaign.rules
    wanting = [j for j in mine if jobs[j].remaining_h > 0]
    if not wanting:
        return None
    served = somewhere(played)
    missing = sum(jobs[j].remaining_h for j in wanting)
    rate = slots.rate * served
    with np.errstate(divide="ignore"):
        clock = sum(jobs[j].remaining_h / rate[j] for j in wanting)
    mixed = np.where(np.isfinite(clock), missing / np.maximum(clock, 1e-12), 0.0)
    open_h = slots.open_h[wanting].min(axis=0) * (mixed > 0)
    one = Slots(slots.dates, slots.night, slots.start_mjd, slots.length_h, open_h[None], (open_h * mixed)[None])
    job = Job(jobs[wanting[0]].key, "", missing)
    return last_call(0, [job], one, played.usable, notebook.campaign.odds_wanted_percent / 100.0, rules)


def _with_nights(set_ups: Sequence[CampaignSetUpReport], played: Played) -> tuple[CampaignSetUpReport, ...]:
    """Return the set-ups with how many planned nights have each."""
    nights = {stay.night for stay in played.plan.stays}
    return tuple(
        replace(one, nights_count=sum(int(played.plan.set_up[n]) == k for n in nights))
        for k, one in enumerate(set_ups)
    )


def _planned(
    notebook: Notebook, date: dt.date, played: Played, set_ups: Sequence[CampaignSetUpReport]
) -> tuple[CampaignStretchReport, ...]:
    """Return the plan's stays, those of the first night as the night's own plan has them."""
    stays = _stretches(played, set_ups)
    number = int(played.plan.set_up[0]) if len(played.plan.set_up) else 0
    tonight = first_night(notebook, date, played.season, set_ups, number)
    return stays if tonight is None else (*tonight, *(one for one in stays if one.date != date))


def _stretches(played: Played, set_ups: Sequence[CampaignSetUpReport]) -> tuple[CampaignStretchReport, ...]:
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
                reserve=stay.reserve,
            )
        )
    return tuple(found)


def _curves(played: Played, targets: Sequence[CampaignTargetReport]) -> CampaignCurves:
    """Return the share of weathers done by each night."""
    dates = played.season.table.dates
    rows = []
    for one in targets:
        finish = finish_nights(played.odds, jobs_of_target(played.season.jobs, one.target))
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
