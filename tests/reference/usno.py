"""Tables of the US Naval Observatory as text (see data/usno/README.md), read into instants and places."""

import datetime as dt
import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.sky.site import Site
from sidelight.sky.time import mjd_from_datetime

DATA = Path(__file__).parent / "data" / "usno"
MONTHS = dict(zip("Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(), range(1, 13), strict=True))
QUARTERS_DEG = (0.0, 90.0, 180.0, 270.0)


@dataclass(frozen=True)
class Days:
    """Events of a body over days in a row at a site.

    first_mjd : local midnight of the first day, by the table's clock. count : days. events : (kind, instant), kind
    one of "rise", "transit", "set", "lower"; in whole minutes. never : days, from 0, with neither rise nor set that
    the table marks with asterisks.
    """

    site: Site
    first_mjd: float
    count: int
    events: tuple[tuple[str, float], ...]
    never: tuple[int, ...] = ()

    def of(self, kind: str) -> FloatArray:
        """Return the instants of one kind, rising."""
        return np.sort([mjd for name, mjd in self.events if name == kind])

    def days_with(self, kind: str) -> list[int]:
        """Return the days, from 0, on which an event of a kind falls, in order; a day twice if it has two."""
        return np.floor(self.of(kind) - self.first_mjd + 1e-9).astype(int).tolist()


@dataclass(frozen=True)
class Places:
    """Apparent places of date: UT1 as MJD, right ascension and declination in degrees; the site, if seen from one."""

    mjd: FloatArray
    ra_deg: FloatArray
    dec_deg: FloatArray
    site: Site | None


def lines_of(name: str) -> list[str]:
    """Return a table's lines."""
    return (DATA / f"{name}.txt").read_text(encoding="utf-8").splitlines()


def year_of(name: str) -> Days:
    """Read a year's table of one page: days down, months across, a rise and a set in each."""
    lines = lines_of(name)
    head = "\n".join(lines[:4])
    site = _site(re.findall(r"([WENS])(\d+) (\d+)", head), 0.0)
    year = int(re.search(r"for (?:the )?\w+ for (\d{4})", head)[1])  # type: ignore[index]
    assert "Eastern Standard Time" in head
    zone = dt.timezone(dt.timedelta(hours=-5))
    events = []
    for line in lines:
        if not re.match(r"\d\d  ?", line):
            continue
        for month, (kind, column) in itertools.product(range(12), (("rise", 4), ("set", 9))):
            clock = line[column + 11 * month : column + 4 + 11 * month].strip()
            if clock:
                at = dt.datetime(year, month + 1, int(line[:2]), int(clock[:2]), int(clock[2:]), tzinfo=zone)
                events.append((kind, mjd_from_datetime(at)))
    first = mjd_from_datetime(dt.datetime(year, 1, 1, tzinfo=zone))
    return Days(site, first, (dt.date(year + 1, 1, 1) - dt.date(year, 1, 1)).days, tuple(events))


def run_of(name: str) -> Days:
    """Read a table with a line for each day: rise, transit, set and, where there is one, lower transit."""
    lines = lines_of(name)
    (hours,) = re.findall(r"Time Zone:\s+(\d+)h 00m west", "\n".join(lines))
    zone = dt.timezone(-dt.timedelta(hours=int(hours)))
    rows = [line for line in lines if re.match(r"\d{4} [A-Z]", line)]
    events, never = [], []
    for number, line in enumerate(rows):
        day = _date(line[:11])
        if "*****" in line:
            never.append(number)
        for kind, column in (("rise", 25), ("transit", 42), ("set", 59), ("lower", 76)):
            clock = line[column : column + 5].strip()
            if clock and "*" not in clock:
                at = dt.datetime.combine(day, dt.time.fromisoformat(clock), tzinfo=zone)
                events.append((kind, mjd_from_datetime(at)))
    first = mjd_from_datetime(dt.datetime.combine(_date(rows[0][:11]), dt.time(), tzinfo=zone))
    return Days(_located(lines), first, len(rows), tuple(events), tuple(never))


def places_of(name: str) -> Places:
    """Read a table of apparent places."""
    lines = lines_of(name)
    rows = []
    for line in lines:
        if re.match(r"\d{4} [A-Z]", line):
            day = mjd_from_datetime(dt.datetime.combine(_date(line[:11]), dt.time(), tzinfo=dt.UTC))
            h, m, s, sign, degrees, minutes, seconds = re.sub("([+-])", r" \1 ", line[23:]).split()[:7]
            ra = 15.0 * (float(h) + float(m) / 60 + float(s) / 3600)
            dec = float(degrees) + float(minutes) / 60 + float(seconds) / 3600
            rows.append((day, ra, -dec if sign == "-" else dec))
    mjd, ra_deg, dec_deg = np.array(rows).T
    return Places(mjd, ra_deg, dec_deg, _located(lines) if any("Location" in line for line in lines) else None)


def phases_of(name: str) -> tuple[FloatArray, FloatArray]:
    """Read the Moon's quarters of a year: instants, and by how much the Moon is ahead of the Sun, degrees."""
    return tuple(np.array(column) for column in zip(*_quarters(lines_of(name)), strict=True))  # type: ignore[return-value]


def _quarters(lines: list[str]) -> Iterator[tuple[float, float]]:
    """Yield each quarter's instant and the longitude by which the Moon is ahead."""
    year = int(lines[0].split()[0])
    for line in lines[1:]:
        for column, ahead_deg in enumerate(QUARTERS_DEG):
            month, *numbers = line[4 + 16 * column : 16 + 16 * column].split() or [""]
            if month in MONTHS:
                day, hour, minute = (int(number) for number in numbers)
                at = dt.datetime(year, MONTHS[month], day, hour, minute, tzinfo=dt.UTC)
                yield mjd_from_datetime(at), ahead_deg


def _date(text: str) -> dt.date:
    """Return the date of "2006 Jun 15"."""
    year, month, day = text.split()
    return dt.date(int(year), MONTHS[month], int(day))


def _located(lines: list[str]) -> Site:
    """Return the site of a line such as "Location:  W 84°24'36.0", N33°45'36.0",   322m"."""
    line = next(line for line in lines if "Location" in line)
    (elevation,) = re.findall(r"(\d+)m\s*$", line)
    return _site(re.findall(r"([WENS])\s*(\d+)°(\d+)'([\d.]+)\"", line), float(elevation))


def _site(found: list[tuple[str, ...]], elevation_m: float) -> Site:
    """Return a site from two sexagesimal angles with their quarter of the compass."""
    angle = {}
    for quarter, *parts in found:
        degrees = sum(float(part) / 60**power for power, part in enumerate(parts))
        angle["longitude" if quarter in "WE" else "latitude"] = -degrees if quarter in "WS" else degrees
    return Site("of a table", angle["latitude"], angle["longitude"], elevation_m, "UTC")
