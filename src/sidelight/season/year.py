"""The season of each target: its nights, the best of them, what is left, and a plain sentence."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import BoolArray, FloatArray
from sidelight.season import words
from sidelight.season.windows import SeasonTable, target_windows, usable_hours_h
from sidelight.sky.altitude import apparent_place
from sidelight.sky.crossings import hour_angle_arcs
from sidelight.sky.site import Site
from sidelight.targets.records import Target

Verdict = Literal["useful", "never_rises", "never_high_enough", "never_dark", "too_short"]

YEAR_NIGHTS = 366
BEST_COUNT = 5
LONGEST_GAP_NIGHTS = 7
"""A gap of up to a week between useful nights does not end a season."""


@dataclass(frozen=True)
class Window:
    """A span (UTC, MJD) in which a target stands above skyline and floor in the dark."""

    start_mjd: float
    end_mjd: float


@dataclass(frozen=True)
class TargetNight:
    """One target in one night, named by the date of its evening.

    dark_hours_h : the windows' length; of these hours_east_h and hours_west_h of the flip, moonless_hours_h with the
    Moon down. max_altitude_deg, min_altitude_deg : highest and lowest apparent altitude in the windows, None without.
    moon_illuminated_fraction : at the night's middle. moon_up_h : hours of the whole dark night with the Moon up.
    """

    date: dt.date
    windows: tuple[Window, ...]
    dark_hours_h: float
    hours_east_h: float
    hours_west_h: float
    moonless_hours_h: float
    max_altitude_deg: float | None
    min_altitude_deg: float | None
    moon_illuminated_fraction: float
    moon_up_h: float


@dataclass(frozen=True)
class TargetSeason:
    """One target's nights and its season: the run of useful nights that the first date stands in, or the next one.

    best_nights : the nights of the season with most moonless hours, best first. first_useful, last_useful : the
    season's ends, which may lie before or after `nights`; None for a target that is useful all the year round
    (`all_year`) or in no night. hours_left_h, nights_left : useful nights from the first date to the season's end;
    for `all_year`, of a year. verdict : "useful", or why no night of the coming year is.
    """

    key: str
    nights: tuple[TargetNight, ...] = field(repr=False)
    best_nights: tuple[dt.date, ...]
    first_useful: dt.date | None
    last_useful: dt.date | None
    hours_left_h: float
    nights_left: int
    verdict: Verdict
    sentence: str
    all_year: bool = False


@dataclass(frozen=True)
class _Outcome:
    """A season in numbers of nights from tonight (0); a run that has begun already starts below 0."""

    verdict: Verdict
    sentence: str
    first: int = 0
    last: int = -1
    nights_left: int = 0
    hours_left_h: float = 0.0
    all_year: bool = False


def target_seasons(
    site: Site,
    targets: Sequence[Target],
    first_date: dt.date,
    count: int = 365,
    min_useful_h: float = 1.0,
    flip_hour_angle_deg: float | None = 0.0,
) -> tuple[TargetSeason, ...]:
    """Return the nights and the season of each target, `count` nights from a date; the season whole in any case.

    min_useful_h : dark hours from which on a night is useful, above 0. Raises BadInput for a count or a threshold
    that is not, and as `target_windows`.
    """
    ra, dec = [target.ra_deg for target in targets], [target.dec_deg for target in targets]
    table = target_windows(site, ra, dec, first_date, count, flip_hour_angle_deg)
    return seasons_of(table, targets, site, min_useful_h)


def seasons_of(
    table: SeasonTable, targets: Sequence[Target], site: Site, min_useful_h: float = 1.0
) -> tuple[TargetSeason, ...]:
    """Return the season of each target of a table, as `target_seasons`; the table's rows are the targets in order.

    The hours of the year before and of the year after the table's are looked at too, so that a season is whole
    even when it began before the table or ends after it.
    """
    if not table.dates or not min_useful_h > 0:
        raise BadInput(
            Problem(
                f"A season of {len(table.dates)} nights of {min_useful_h:g} useful hours or more makes no sense.",
                expected="1 night or more, a threshold above 0 h",
            )
        )
    tonight = table.dates[0]
    ra, dec = [target.ra_deg for target in targets], [target.dec_deg for target in targets]
    whole = 2 * YEAR_NIGHTS + max(len(table.dates), YEAR_NIGHTS)
    before = tonight - dt.timedelta(days=YEAR_NIGHTS)
    hours_h = usable_hours_h(site, ra, dec, before, whole, table.sun_limit_deg)
    apparent_dec = apparent_place(ra, dec, table.darkness.nights[0].end_mjd)[1]
    moonless_h = moonless_hours_h(table)
    return tuple(
        _target_season(
            target.key,
            tonight,
            _nights(table, row, moonless_h[row]),
            _outcome(site, tonight, hours_h[row], float(apparent_dec[row]), min_useful_h),
            min_useful_h,
        )
        for row, target in enumerate(targets)
    )


def moonless_hours_h(table: SeasonTable) -> FloatArray:
    """Return the hours of each target's windows with the Moon down, shape (n, t)."""
    up = table.darkness.moon_up.spans_mjd
    # days of Moon since the beginning as a function of time: straight between rise and set
    gained = np.cumsum(up[:, 1] - up[:, 0])
    edges = np.concatenate([[-1.0], up.ravel()])
    moon_days = np.concatenate([[0.0], np.column_stack([np.append(0.0, gained[:-1])[: len(up)], gained]).ravel()])
    with_moon = np.interp(table.end_mjd, edges, moon_days) - np.interp(table.start_mjd, edges, moon_days)
    until = np.concatenate([[0.0], np.cumsum(table.end_mjd - table.start_mjd - with_moon)])
    per_night = np.maximum(np.diff(until[table.offsets]), 0.0) * 24.0
    return np.asarray(per_night.reshape(table.dark_hours_h.shape))


def _target_season(
    key: str, tonight: dt.date, nights: tuple[TargetNight, ...], outcome: _Outcome, min_useful_h: float
) -> TargetSeason:
    """Return one target's record."""
    useful = outcome.verdict == "useful"
    in_season = nights[max(outcome.first, 0) : outcome.last + 1] if useful else ()
    ranked = sorted(
        (night for night in in_season if night.dark_hours_h >= min_useful_h),
        key=lambda night: (-night.moonless_hours_h, -(night.max_altitude_deg or 0.0)),
    )
    has_ends = useful and not outcome.all_year
    return TargetSeason(
        key=key,
        nights=nights,
        best_nights=tuple(night.date for night in ranked[:BEST_COUNT]),
        first_useful=tonight + dt.timedelta(days=outcome.first) if has_ends else None,
        last_useful=tonight + dt.timedelta(days=outcome.last) if has_ends else None,
        hours_left_h=outcome.hours_left_h,
        nights_left=outcome.nights_left,
        verdict=outcome.verdict,
        sentence=outcome.sentence,
        all_year=outcome.all_year,
    )


def _nights(table: SeasonTable, row: int, moonless_h: FloatArray) -> tuple[TargetNight, ...]:
    """Return the nights of one target."""
    columns = zip(
        table.dates,
        *(
            column[row].tolist()
            for column in (
                *(table.dark_hours_h, table.hours_east_h, table.hours_west_h),
                *(table.max_altitude_deg, table.min_altitude_deg),
            )
        ),
        moonless_h.tolist(),
        table.moon_illuminated_fraction.tolist(),
        table.moon_up_h.tolist(),
        strict=True,
    )
    return tuple(
        TargetNight(
            date=date,
            windows=tuple(Window(start, end) for start, end in table.windows(row, number).tolist()),
            dark_hours_h=dark,
            hours_east_h=east,
            hours_west_h=west,
            moonless_hours_h=moonless,
            max_altitude_deg=high if dark > 0 else None,
            min_altitude_deg=low if dark > 0 else None,
            moon_illuminated_fraction=lit,
            moon_up_h=moon_up,
        )
        for number, (date, dark, east, west, high, low, moonless, lit, moon_up) in enumerate(columns)
    )


def _outcome(site: Site, tonight: dt.date, hours_h: FloatArray, dec_deg: float, min_useful_h: float) -> _Outcome:
    """Return what a target's hours come to; they begin a year before tonight."""
    useful = hours_h >= min_useful_h
    season = _season(useful, YEAR_NIGHTS)
    year_h = hours_h[YEAR_NIGHTS : 2 * YEAR_NIGHTS]
    if season is None:
        return _never(site, tonight, year_h, dec_deg, min_useful_h)
    first, last = season
    all_year = last - first + 1 >= YEAR_NIGHTS
    first, last = (0, YEAR_NIGHTS - 2) if all_year else (first - YEAR_NIGHTS, last - YEAR_NIGHTS)
    ahead = slice(YEAR_NIGHTS, YEAR_NIGHTS + last + 1)
    ahead_h, nights_left = hours_h[ahead], int(useful[ahead].sum())
    if all_year:
        sentence = words.all_year_words(tonight, ahead_h)
    elif first > 0:
        sentence = words.to_come_words(tonight, first, nights_left, ahead_h)
    else:
        sentence = words.in_season_words(tonight, nights_left, ahead_h, min_useful_h)
    left_h = float(ahead_h[useful[ahead]].sum())
    return _Outcome("useful", sentence, first, last, nights_left, left_h, all_year)


def _season(useful: BoolArray, tonight: int) -> tuple[int, int] | None:
    """Return the first and last night of the run of useful nights that `tonight` stands in, or of the next one.

    None when no such run begins within a year.
    """
    numbers = np.flatnonzero(useful)
    if not len(numbers):
        return None
    breaks = np.flatnonzero(np.diff(numbers) > LONGEST_GAP_NIGHTS + 1)
    firsts, lasts = numbers[np.append(0, breaks + 1)], numbers[np.append(breaks, len(numbers) - 1)]
    run = int(np.searchsorted(lasts, tonight))
    if run == len(lasts) or firsts[run] >= tonight + YEAR_NIGHTS:
        return None
    return int(firsts[run]), int(lasts[run])


def _never(site: Site, tonight: dt.date, year_h: FloatArray, dec_deg: float, min_useful_h: float) -> _Outcome:
    """Return why no night of the coming year is useful."""
    if np.any(year_h > 0):
        return _Outcome("too_short", words.too_short_words(tonight, year_h, min_useful_h))
    if len(hour_angle_arcs(dec_deg, site).start_deg):
        return _Outcome("never_dark", "It is above your skyline and floor only while it is not dark.")
    rises = words.highest_altitude_deg(site, dec_deg) > 0
    return _Outcome("never_high_enough" if rises else "never_rises", words.out_of_reach(site, dec_deg))
