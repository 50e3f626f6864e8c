"""The season of each target: the year of nights as one report."""

import datetime as dt
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

import numpy as np

from sidelight.desk.chosen import NO_TARGETS, chosen_targets
from sidelight.desk.clock import utc
from sidelight.desk.light import HoursTable, effective_hours_table
from sidelight.desk.windows import windows_of
from sidelight.ground.types import FloatArray
from sidelight.notebook.read import Notebook
from sidelight.season.windows import SeasonTable
from sidelight.season.year import BEST_COUNT, TargetNight, TargetSeason, seasons_of
from sidelight.sky.altitude import altitude_azimuth
from sidelight.sky.time import datetime_from_mjd
from sidelight.targets.records import Target

CLOCK_STEP_H = 0.25
MIN_USEFUL_H = 1.0
"""Dark hours from which on a night is useful."""


@dataclass(frozen=True)
class WindowReport:
    """A span in which the target can be photographed."""

    start_utc: dt.datetime
    end_utc: dt.datetime


@dataclass(frozen=True)
class TargetNightReport:
    """One target in one night.

    effective_hours : what its dark hours are worth, in hours at the moonless zenith, in the target's main filter.
    moon_takes_share : of that worth, 0 to 1.
    """

    date: dt.date
    windows: tuple[WindowReport, ...]
    dark_hours: float
    effective_hours: float
    moon_takes_share: float
    hours_east: float
    hours_west: float
    max_altitude_deg: float | None
    min_altitude_deg: float | None
    moon_illuminated_fraction: float
    moon_up_hours: float


@dataclass(frozen=True)
class TargetSeasonReport:
    """One target's year. verdict : "useful" or why not. short : the sentence in a few words.

    filter : the one that effective hours are counted in. best_nights : of the season, by effective hours.
    hours_left : dark hours by the clock to the season's end; effective_hours_left : what they are worth, which is
    what hours_wanted counts.
    """

    target: str
    name: str | None
    verdict: str
    sentence: str
    short: str
    first_useful: dt.date | None
    last_useful: dt.date | None
    best_nights: tuple[dt.date, ...]
    nights_left: int
    hours_left: float
    effective_hours_left: float
    hours_wanted: float
    filter: str
    nights: tuple[TargetNightReport, ...]


@dataclass(frozen=True, eq=False)
class YearNightDrawing:
    """One night of the year's picture, in clock hours after noon."""

    date: dt.date
    dark_h: tuple[tuple[float, float], ...]
    windows_h: tuple[tuple[float, float], ...]
    altitudes_deg: FloatArray
    moon_up_h: tuple[tuple[float, float], ...]
    moon_illuminated_fraction: float


@dataclass(frozen=True, eq=False)
class YearDrawing:
    """What the picture of a target's year is drawn from."""

    target: str
    sentence: str
    clock_h: FloatArray
    nights: tuple[YearNightDrawing, ...]


@dataclass(frozen=True)
class SeasonReport:
    """All targets, sorted by what is lost soonest."""

    notebook: str
    site: str
    time_zone: str
    first_date: dt.date
    nights: int
    floor_deg: float
    twilight_deg: float
    targets: tuple[TargetSeasonReport, ...]
    notes: tuple[str, ...]
    years: tuple[YearDrawing, ...] = field(default=(), metadata={"json": False}, repr=False)


def season_report(
    notebook: Notebook, date: dt.date, nights: int = 365, only: tuple[str, ...] = (), drawings: bool = False
) -> SeasonReport:
    """Return the season of each target from a date on; `drawings` also fills in what the year's pictures need."""
    targets = chosen_targets(notebook, only)
    table = windows_of(notebook, targets, date, nights)
    seasons = seasons_of(table, targets, notebook.site, MIN_USEFUL_H)
    worth = effective_hours_table(notebook, targets, table)
    reports = [_target(target, seasons[row], worth, row) for row, target in enumerate(targets)]
    order = sorted(range(len(reports)), key=lambda i: _lost_soonest(reports[i]))
    years = tuple(_year(notebook, table, i, targets[i], reports[i]) for i in order) if drawings else ()
    return SeasonReport(
        notebook=str(notebook.folder),
        site=notebook.site.name,
        time_zone=notebook.site.time_zone,
        first_date=date,
        nights=nights,
        floor_deg=notebook.site.floor_deg,
        twilight_deg=notebook.site.twilight_deg,
        targets=tuple(reports[i] for i in order),
        notes=() if notebook.targets else (NO_TARGETS,),
        years=years,
    )


def _lost_soonest(report: TargetSeasonReport) -> tuple[int, float, dt.date]:
    """Sort targets in season first, by effective hours left for each wanted; then those to come; then the rest."""
    in_season = report.nights_left > 0
    spare = report.effective_hours_left / max(report.hours_wanted, 0.1)
    return (0 if in_season else 1 if report.first_useful else 2, spare, report.first_useful or dt.date.max)


def _target(target: Target, season: TargetSeason, worth: HoursTable, row: int) -> TargetSeasonReport:
    """Return one target's report."""
    effective, moon = worth.effective_h[row], worth.moon_cost_share[row]
    useful = _useful_nights(season)
    best = sorted(useful, key=lambda n: (-round(float(effective[n]), 3), season.nights[n].date))[:BEST_COUNT]
    return TargetSeasonReport(
        target=target.key,
        name=target.common_name,
        verdict=season.verdict,
        sentence=season.sentence,
        short=_short(season),
        first_useful=season.first_useful,
        last_useful=season.last_useful,
        best_nights=tuple(season.nights[n].date for n in best),
        nights_left=season.nights_left,
        hours_left=season.hours_left_h,
        effective_hours_left=float(sum(effective[n] for n in useful)),
        hours_wanted=target.hours_wanted_h,
        filter=worth.filters[row].name,
        nights=tuple(
            _night(night, float(effective_h), float(share))
            for night, effective_h, share in zip(season.nights, effective, moon, strict=True)
        ),
    )


def _useful_nights(season: TargetSeason) -> list[int]:
    """Return the season's useful nights by their numbers in the list."""
    if season.verdict != "useful":
        return []
    first, last = season.first_useful or dt.date.min, season.last_useful or dt.date.max
    return [
        n
        for n, night in enumerate(season.nights)
        if first <= night.date <= last and night.dark_hours_h >= MIN_USEFUL_H
    ]


def _night(night: TargetNight, effective_h: float, moon_share: float) -> TargetNightReport:
    """Return one night's report."""
    return TargetNightReport(
        date=night.date,
        windows=tuple(WindowReport(utc(one.start_mjd), utc(one.end_mjd)) for one in night.windows),
        dark_hours=night.dark_hours_h,
        effective_hours=effective_h,
        moon_takes_share=moon_share,
        hours_east=night.hours_east_h,
        hours_west=night.hours_west_h,
        max_altitude_deg=night.max_altitude_deg,
        min_altitude_deg=night.min_altitude_deg,
        moon_illuminated_fraction=night.moon_illuminated_fraction,
        moon_up_hours=night.moon_up_h,
    )


def _short(season: TargetSeason) -> str:
    """Return what is left in a few words."""
    if season.nights_left:
        return f"{season.nights_left} nights, {season.hours_left_h:.0f} h left"
    return str(season.verdict).replace("_", " ")


def _year(
    notebook: Notebook, table: SeasonTable, index: int, target: Target, report: TargetSeasonReport
) -> YearDrawing:
    """Return what the picture of one target's year needs."""
    clock = np.arange(0.0, 24.0 + 1e-9, CLOCK_STEP_H)
    zone = ZoneInfo(notebook.site.time_zone)
    darkness = table.darkness
    noon = np.array([night.start_mjd for night in darkness.nights])
    offset_h = np.array([_clock_at(mjd, zone) - 12.0 for mjd in noon])
    times = noon[:, None] + (clock[None, :] - offset_h[:, None]) / 24.0
    altitude, _ = altitude_azimuth(target.ra_deg, target.dec_deg, times, notebook.site)

    def hours(rows: FloatArray, n: int) -> tuple[tuple[float, float], ...]:
        in_hours = (rows - noon[n]) * 24.0 + offset_h[n]
        return tuple((float(a), float(b)) for a, b in in_hours)

    nights = tuple(
        YearNightDrawing(
            night.date,
            hours(darkness.dark.of(n), n),
            hours(table.windows(index, n), n),
            altitude[n],
            hours(darkness.moon_up.of(n), n),
            float(darkness.moon_illuminated_fraction[n]),
        )
        for n, night in enumerate(darkness.nights)
    )
    return YearDrawing(target.key, report.sentence, clock, nights)


def _clock_at(mjd: float, zone: ZoneInfo) -> float:
    """Return the local clock at an instant, hours; counted from the day on which it is about noon."""
    local = datetime_from_mjd(float(mjd)).astimezone(zone)
    hours = local.hour + local.minute / 60 + local.second / 3600
    # at the date line the clock at mean noon may stand near midnight of either day
    return hours if hours < 24.0 else hours - 24.0
