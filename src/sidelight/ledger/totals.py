"""Hours collected, by target, filter and night, and what is missing."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from sidelight.ledger.kept import COUNTED
from sidelight.ledger.store import Ledger


@dataclass(frozen=True)
class Total:
    """Light collected. An empty filter name: none was given. night None: of all nights, or not given by hand.

    hours_h : of exposure. effective_hours_h : weighted by what the sky gave; hours without a weight count in full,
    and unweighted_h says how many these are. by_hand_h : entered by hand. east_h, west_h : by side, as far as known.
    """

    target_key: str
    filter_name: str
    night: dt.date | None
    frames_count: int = 0
    hours_h: float = 0.0
    effective_hours_h: float = 0.0
    unweighted_h: float = 0.0
    by_hand_h: float = 0.0
    east_h: float = 0.0
    west_h: float = 0.0


@dataclass(frozen=True)
class Missing:
    """What a target still wants in a filter ("" for any), in effective hours; missing_h is never negative."""

    target_key: str
    filter_name: str
    wanted_h: float
    collected_h: float

    @property
    def missing_h(self) -> float:
        """Effective hours still missing."""
        return max(0.0, self.wanted_h - self.collected_h)


def totals(ledger: Ledger, filter_names: Mapping[str, str] | None = None) -> tuple[Total, ...]:
    """Return the light that counts by target, filter and night, sorted by these.

    filter_names : what headers call a filter -> its name; capitals make no difference. Others stay as they are.
    """
    rows = ledger.connection.execute(
        "SELECT target_key, filter_name, night, count(*), sum(exposure_s) / 3600.0,"  # noqa: S608 - a constant
        " sum(exposure_s * coalesce(weight, 1.0)) / 3600.0, sum((weight IS NULL) * exposure_s) / 3600.0, 0.0,"
        " sum((side IS 'east') * exposure_s) / 3600.0, sum((side IS 'west') * exposure_s) / 3600.0"
        f" FROM frames WHERE {COUNTED} GROUP BY target_key, filter_name, night"
        " UNION ALL SELECT target_key, filter_name, night, 0, sum(hours_h), sum(hours_h * coalesce(weight, 1.0)),"
        " sum((weight IS NULL) * hours_h), sum(hours_h), 0.0, 0.0"
        " FROM hours GROUP BY target_key, filter_name, night"
    )
    known = {given.casefold(): name for given, name in (filter_names or {}).items()}
    return _summed(
        Total(key, known.get(name.casefold(), name), dt.date.fromisoformat(night) if night else None, *sums)
        for key, name, night, *sums in rows
    )


def by_filter(rows: Iterable[Total]) -> tuple[Total, ...]:
    """Return totals of all nights together, by target and filter."""
    return _summed(replace(row, night=None) for row in rows)


def by_target(rows: Iterable[Total]) -> tuple[Total, ...]:
    """Return totals of all nights and filters together, by target."""
    return _summed(replace(row, night=None, filter_name="") for row in rows)


def by_night(rows: Iterable[Total]) -> tuple[Total, ...]:
    """Return totals of all filters together, by target and night."""
    return _summed(replace(row, filter_name="") for row in rows)


def missing(rows: Iterable[Total], wanted_h: Mapping[tuple[str, str], float]) -> tuple[Missing, ...]:
    """Return what is missing for each (target key, filter name) that is wanted; the filter "" stands for all."""
    every = tuple(rows)
    collected = {(row.target_key, row.filter_name.casefold()): row.effective_hours_h for row in by_filter(every)}
    collected |= {(row.target_key, ""): row.effective_hours_h for row in by_target(every)}
    return tuple(
        Missing(key, name, wants, collected.get((key, name.casefold()), 0.0))
        for (key, name), wants in wanted_h.items()
    )


def _summed(rows: Iterable[Total]) -> tuple[Total, ...]:
    """Add up rows of the same target, filter (whatever its capitals) and night."""
    sums: dict[tuple[str, str, dt.date | None], Total] = {}
    for row in rows:
        place = (row.target_key, row.filter_name.casefold(), row.night)
        before = sums.get(place)
        sums[place] = row if before is None else _plus(before, row)
    return tuple(sums[place] for place in sorted(sums, key=lambda place: (place[:2], place[2] or dt.date.min)))


def _plus(one: Total, other: Total) -> Total:
    """Return two totals added up."""
    return replace(
        one,
        frames_count=one.frames_count + other.frames_count,
        hours_h=one.hours_h + other.hours_h,
        effective_hours_h=one.effective_hours_h + other.effective_hours_h,
        unweighted_h=one.unweighted_h + other.unweighted_h,
        by_hand_h=one.by_hand_h + other.by_hand_h,
        east_h=one.east_h + other.east_h,
        west_h=one.west_h + other.west_h,
    )
