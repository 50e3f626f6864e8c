"""The dates that can be asked for."""

import datetime as dt

FIRST_DATE, LAST_DATE = dt.date(1900, 1, 1), dt.date(2199, 12, 31)
"""Nights of three centuries: far beyond any plan, well inside what the formulas hold for."""
EXAMPLE = "2027-03-06"


def askable(date: dt.date) -> bool:
    """Tell whether a date can be asked for."""
    return FIRST_DATE <= date <= LAST_DATE
