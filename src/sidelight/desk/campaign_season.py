"""The season a campaign is made of: goals as jobs, the person's nights as slots, set-ups, the weather's chain."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

import numpy as np

from sidelight.campaign.records import Job, SetUpChoice, Slots
from sidelight.campaign.slots import NEVER, Openings, cut_nights
from sidelight.campaign.weather import Chain, chain
from sidelight.desk.collected import collected_hours
from sidelight.desk.light import filter_of, hour_weight, main_filter
from sidelight.desk.windows import windows_of
from sidelight.ground import spans
from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.season.windows import SeasonTable
from sidelight.sky.altitude import apparent_place, hour_angle_deg
from sidelight.sky.site import Site
from sidelight.sky.time import mjd_from_datetime
from sidelight.targets.records import Target

TURN_DEG_PER_DAY = 360.98564736629
BLOCK_NIGHTS = 7
"""A plan changes the set-up at most once in so many nights; when played it may change on any set-up day."""


@dataclass(frozen=True, eq=False)
class CampaignSeason:
    """Everything that planning needs.

    table : windows of the notebook's targets in every night. usable_spans : what the person can use of each night.
    may_change : whether the set-up can be changed in daylight since the last usable night, shape (n,).
    block : of each night, for the plan's changes of set-up, shape (n,).
    """

    jobs: tuple[Job, ...]
    slots: Slots
    weather: Chain
    table: SeasonTable
    usable_spans: tuple[FloatArray, ...]
    may_change: BoolArray
    block: IntArray

    @property
    def chance(self) -> FloatArray:
        """Chance of each night being usable, shape (n,)."""
        return self.weather.probability


def campaign_season(
    notebook: Notebook, date: dt.date, nights: int, extra_weekdays: Sequence[int] = (), longest_slot_h: float = 1.0
) -> CampaignSeason:
    """Return the season of the notebook's goals from a date on.

    extra_weekdays : evenings that count as free beside the notebook's own.
    """
    own = notebook.campaign.nights
    free = replace(own, weekdays=tuple(sorted({*own.weekdays, *extra_weekdays})))
    flip = flip_hour_angle_deg(notebook.rig.mount)
    targets = notebook.targets
    table = windows_of(notebook, targets, date, nights)
    usable = tuple(
        _usable(notebook.site, day, table.darkness.dark.of(n), own.latest_bedtime)
        if free.can_use(day)
        else spans.EMPTY
        for n, day in enumerate(table.dates)
    )
    openings = [_openings(notebook.site, table, i, target, flip) for i, target in enumerate(targets)]
    index = {target.key: i for i, target in enumerate(targets)}
    jobs = jobs_of(notebook, collected_hours(notebook))
    slots = cut_nights(
        jobs,
        list(zip(table.dates, usable, strict=True)),
        lambda key, n: openings[index[key]][n],
        lambda job, times_mjd: sky_weight(notebook, targets[index[job.key]], job.filter_name, times_mjd),
        notebook.campaign.flip_overhead_min / 60.0 if flip is not None else 0.0,
        longest_slot_h,
    )
    may_change = np.array([own.can_set_up(day) for day in table.dates])
    return CampaignSeason(
        jobs=jobs,
        slots=slots,
        weather=chain(notebook.campaign.weather, table.dates),
        table=table,
        usable_spans=usable,
        may_change=_since_last(may_change, [len(one) > 0 for one in usable]),
        block=_blocks(may_change),
    )


def jobs_of(notebook: Notebook, collected_h: Mapping[tuple[str, str], float]) -> tuple[Job, ...]:
    """Return a job for each target, or for each filter of those whose goal names filters."""
    jobs: list[Job] = []
    for target in notebook.targets:
        goal = notebook.campaign.goal_of(target.key)
        in_all = sum(hours for (key, _), hours in collected_h.items() if key == target.key)
        wanted = goal.filters_h or (("", target.hours_wanted_h),)
        total = sum(hours for _, hours in wanted)
        for name, hours in wanted:
            done = collected_h.get((target.key, name), 0.0) if name else in_all
            # a target counts once however many filters it is split into
            weight = goal.priority_weight * hours / total if total > 0 else 0.0
            if hours > 0:
                jobs.append(Job(target.key, name, hours, done, weight, goal.finish))
    return tuple(jobs)


def sky_weight(notebook: Notebook, target: Target, filter_name: str, times_mjd: FloatArray) -> FloatArray:
    """Return effective hours an hour at instants, for a filter by name or ("") the target's main one."""
    one = filter_of(notebook, filter_name) if filter_name else main_filter(notebook, target)
    return hour_weight(notebook, target, one, times_mjd)


def _usable(site: Site, evening: dt.date, dark: FloatArray, bedtime: dt.time | None) -> FloatArray:
    """Return the dark spans of a night up to the person's bedtime."""
    if bedtime is None:
        return dark
    day = evening + dt.timedelta(days=1) if bedtime < dt.time(12) else evening
    stop = mjd_from_datetime(dt.datetime.combine(day, bedtime, tzinfo=ZoneInfo(site.time_zone)))
    return spans.intersect(dark, [[stop - 2.0, stop]])


def _openings(site: Site, table: SeasonTable, index: int, target: Target, flip: float | None) -> list[Openings]:
    """Return one target's windows of every night, cut where the mount flips."""
    nights = len(table.dates)
    rows = [table.windows(index, n) for n in range(nights)]
    starts = np.concatenate([one[:, 0] for one in rows]) if rows else np.empty(0)
    if flip is None or not len(starts):
        return [Openings(one, np.ones(len(one), dtype=bool)) if len(one) else NEVER for one in rows]
    ra, _ = apparent_place(target.ra_deg, target.dec_deg, float(np.median(starts)))
    from_flip = np.mod(hour_angle_deg(ra, starts, site) - flip, 360.0)
    in_west = 180.0 - flip
    found, k = [], 0
    for one in rows:
        pieces: list[tuple[float, float, bool]] = []
        for start, end in one:
            pieces += _sides(float(start), float(end), float(from_flip[k]), in_west)
            k += 1
        table_of = np.array([(a, b) for a, b, _ in pieces]).reshape(-1, 2)
        found.append(Openings(table_of, np.array([side for _, _, side in pieces], dtype=bool)))
    return found


def _sides(start: float, end: float, from_flip_deg: float, in_west_deg: float) -> list[tuple[float, float, bool]]:
    """Cut a window at the flip and at the lower meridian; from_flip_deg : hour angle past the flip at its start."""
    pieces = []
    while True:
        west = from_flip_deg < in_west_deg
        until = start + ((in_west_deg if west else 360.0) - from_flip_deg) / TURN_DEG_PER_DAY
        pieces.append((start, min(until, end), west))
        if until >= end:
            return pieces
        start, from_flip_deg = until, in_west_deg if west else 0.0


def _since_last(on_day: BoolArray, used: Sequence[bool]) -> BoolArray:
    """Return for each night whether any day since the last usable night allows a change of set-up."""
    may, open_ = np.zeros(len(on_day), dtype=bool), False
    for n, day in enumerate(on_day):
        open_ |= bool(day)
        may[n] = open_
        if used[n]:
            open_ = False
    return may


def _blocks(on_day: BoolArray) -> IntArray:
    """Return the block of each night: a new one begins on a set-up day, at the earliest a week after the last."""
    block, number, begun = np.zeros(len(on_day), dtype=np.int64), 0, 0
    for n, day in enumerate(on_day):
        if n and day and n - begun >= BLOCK_NIGHTS:
            number, begun = number + 1, n
        block[n] = number
    return block


def choices_for(jobs: Sequence[Job], served: Sequence[Mapping[str, tuple[bool, bool]]]) -> list[SetUpChoice]:
    """Return set-ups by the jobs they serve; served : for each, whether a target is served (east, west)."""
    choices = []
    for number, by_key in enumerate(served):
        sides = [by_key.get(job.key, (False, False)) for job in jobs]
        both = tuple(j for j, (east, west) in enumerate(sides) if east and west)
        only_east = tuple(j for j, (east, west) in enumerate(sides) if east and not west)
        only_west = tuple(j for j, (east, west) in enumerate(sides) if west and not east)
        choices.append(SetUpChoice(str(number), both, only_east, only_west))
    return choices
