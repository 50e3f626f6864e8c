"""What the season of a target comes to, in a plain sentence."""

import datetime as dt

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.sky.refraction import apparent_altitude_deg
from sidelight.sky.site import Site

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
LEVELS_H = (3.0, 2.0)
"""Hours a night at whose loss the sentence counts the nights: the first that the season still reaches."""
_GAINS_FOR_NIGHTS = 14
_GAINS_BY_H = 0.5


def day(date: dt.date) -> str:
    """Return a date as "3 October 2026"."""
    return f"{date.day} {MONTHS[date.month - 1]} {date.year}"


def hours(value_h: float) -> str:
    """Return hours as "3 h" or "1.5 h", to a tenth."""
    return f"{value_h:.1f}".removesuffix(".0") + " h"


def counted_nights(number: int) -> str:
    """Return "1 night" or "12 nights"."""
    return f"{number} night{'' if number == 1 else 's'}"


def highest_altitude_deg(site: Site, dec_deg: float) -> float:
    """Return the apparent altitude at upper transit of an apparent declination; below the horizon it is negative."""
    return float(apparent_altitude_deg(90.0 - abs(site.latitude_deg - dec_deg), site.elevation_m))


def out_of_reach(site: Site, dec_deg: float) -> str:
    """Say why an object of this apparent declination never stands above skyline and floor."""
    highest_deg = highest_altitude_deg(site, dec_deg)
    if highest_deg <= 0:
        return f"It never rises here: at its highest it stays {-highest_deg:.1f}° below the horizon."
    if highest_deg <= site.floor_deg:
        return f"At its highest it stands at {highest_deg:.1f}°, under the floor of {site.floor_deg:g}°."
    return f"At its highest it stands at {highest_deg:.1f}°, and the skyline hides it all the way."


def all_year_words(tonight: dt.date, hours_h: FloatArray) -> str:
    """Return the sentence for a target that is useful in every season; hours of each night from tonight on."""
    return f"Useful all the year round; {_longest(tonight, hours_h)}."


def to_come_words(tonight: dt.date, first: int, nights_left: int, hours_h: FloatArray) -> str:
    """Return the sentence for a season that begins in `first` nights; hours from tonight to its last night."""
    begins = day(tonight + dt.timedelta(days=first))
    return (
        f"Its season begins on {begins}, in {counted_nights(first)}, and has {counted_nights(nights_left)}; "
        f"{_longest(tonight, hours_h)}."
    )


def in_season_words(tonight: dt.date, nights_left: int, hours_h: FloatArray, min_useful_h: float) -> str:
    """Return the sentence for a season that is on: what is left and when it thins out.

    hours_h : of each night from tonight to the season's last.
    """
    best, last = int(np.argmax(hours_h)), len(hours_h) - 1
    if nights_left == 1:
        when = "tonight" if last == 0 else f"on {day(tonight + dt.timedelta(days=last))}"
        return f"1 night left, {when}, with {hours(hours_h[last])}."
    left = f"{counted_nights(nights_left)} left"
    level_h = next((level for level in LEVELS_H if min_useful_h < level <= hours_h[best]), None)
    if level_h is None:
        return f"{left}, the longest with {hours(hours_h[best])}."
    if best >= _GAINS_FOR_NIGHTS and hours_h[best] >= hours_h[0] + _GAINS_BY_H:
        left += f"; {_longest(tonight, hours_h)}"
    drops = int(np.flatnonzero(hours_h >= level_h)[-1]) + 1
    if drops > last:
        return f"{left}; the last still has {hours(hours_h[last])}."
    when = "from tomorrow on it has" if drops == 1 else f"in {counted_nights(drops)} it drops"
    return f"{left}; {when} under {hours(level_h)} a night."


def too_short_words(tonight: dt.date, hours_h: FloatArray, min_useful_h: float) -> str:
    """Return the sentence for a target whose nights are all too short to count."""
    best = int(np.argmax(hours_h))
    # rounded down: 0.96 h is not 1 h here
    at_most = hours(np.floor(hours_h[best] * 10.0) / 10.0)
    return (
        f"At most {at_most} a night, about {day(tonight + dt.timedelta(days=best))}; "
        f"a night counts from {hours(min_useful_h)} on."
    )


def _longest(tonight: dt.date, hours_h: FloatArray) -> str:
    """Say when the nights are longest."""
    best = int(np.argmax(hours_h))
    return f"longest about {day(tonight + dt.timedelta(days=best))}, {hours(hours_h[best])} a night"
