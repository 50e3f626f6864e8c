"""Every comparison, room by room; the accuracy page and its test run the same ones."""

from functools import lru_cache

from tests.comparisons import geometry, light, sky
from tests.comparisons.records import Comparison


@lru_cache(maxsize=1)
def every_comparison() -> tuple[Comparison, ...]:
    """Run and return all comparisons, some tens of seconds."""
    return tuple(one for room in (sky, light, geometry) for one in room.comparisons())
