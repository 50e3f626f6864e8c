"""Clock times: to the nearest minute, alike in text and pictures."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from sidelight.desk import labels
from sidelight.ground.clock import clock_time
from sidelight.pictures.axes import clock, instant_mjd

VIENNA = ZoneInfo("Europe/Vienna")


@pytest.mark.parametrize(
    ("second", "minute", "shown"), [(29, 47, "04:47"), (30, 47, "04:48"), (59, 59, "05:00"), (0, 47, "04:47")]
)
def test_clock_times_go_to_the_nearest_minute(second: int, minute: int, shown: str) -> None:
    """Half a minute goes up, over the hour too; text and pictures show the same."""
    instant = dt.datetime(2027, 3, 7, 3, minute, second, tzinfo=dt.UTC)
    assert clock_time(instant, VIENNA) == shown
    assert labels.clock(instant, "Europe/Vienna") == shown
    assert clock(instant_mjd(instant), VIENNA) == shown


def test_rounding_up_into_summer_time() -> None:
    """Rounded up over the hour at which the clocks go forward, the time is the one after (EU rule, tz database)."""
    assert clock_time(dt.datetime(2027, 3, 28, 0, 59, 45, tzinfo=dt.UTC), VIENNA) == "03:00"


def test_places_on_the_sensor_have_a_true_minus() -> None:
    """A place left of or below the centre is written with the minus sign, not a hyphen."""
    assert labels.pixels((261.2, -307.4)) == "+261, −307 px"
