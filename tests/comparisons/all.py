"""Every comparison, subject by subject; the accuracy page and its test run the same ones."""

from functools import lru_cache

from tests.comparisons import air, bench, light, odds, season, setup, sky, tables
from tests.comparisons.records import SUBJECTS, Comparison


@lru_cache(maxsize=1)
def every_comparison() -> tuple[Comparison, ...]:
    """Run and return all comparisons in the order of the page, some tens of seconds."""
    makers = (
        season.comparisons,
        tables.events,
        sky.comparisons,
        tables.places,
        light.comparisons,
        air.comparisons,
        setup.comparisons,
        bench.comparisons,
        odds.comparisons,
    )
    every = [one for maker in makers for one in maker()]
    return tuple(sorted(every, key=lambda one: SUBJECTS.index(one.subject)))
