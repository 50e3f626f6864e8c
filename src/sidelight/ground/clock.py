"""Clock times as people read them: one rounding for text and pictures, so that the two never differ by a minute."""

import datetime as dt

_HALF_A_MINUTE = dt.timedelta(seconds=30)


def clock_time(instant: dt.datetime, zone: dt.tzinfo) -> str:
    """Return an aware instant's local time to the nearest minute, "22:41"; half a minute goes up."""
    return (instant.astimezone(dt.UTC) + _HALF_A_MINUTE).astimezone(zone).strftime("%H:%M")
