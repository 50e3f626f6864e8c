"""The fewest set-ups that serve everything: exact set cover over the finitely many sets that any angles serve."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import BoolArray


@dataclass(frozen=True)
class Cover:
    """chosen : rows of the given table, as few as possible. left_out : columns that no row covers."""

    chosen: tuple[int, ...]
    left_out: tuple[int, ...]


def minimum_cover(table: BoolArray) -> Cover:
    """Return the fewest rows of `table` (sets, elements) that together hold every element that any row holds.

    Exact: a branch on the element with the fewest sets, sets inside other sets dropped first, and a branch given up
    when even sets as large as the largest would not finish in fewer than the best so far. Exponential at
    worst; a wish list of some 20 rings takes milliseconds.
    """
    coverable = table.any(axis=0)
    left_out = tuple(int(i) for i in np.flatnonzero(~coverable))
    masks = [sum(1 << int(i) for i in np.flatnonzero(row)) for row in table]
    kept = _undominated(masks)
    everything = sum(1 << int(i) for i in np.flatnonzero(coverable))
    best = _greedy(masks, kept, everything)
    chosen = _branch(masks, kept, everything, [], best)
    return Cover(tuple(chosen), left_out)


def _undominated(masks: Sequence[int]) -> list[int]:
    """Return the rows that are no subset of another, the first of equal ones, in their order."""
    order = sorted(range(len(masks)), key=lambda row: (-masks[row].bit_count(), row))
    kept: list[int] = []
    for row in order:
        if masks[row] and all(masks[row] & ~masks[other] for other in kept):
            kept.append(row)
    return sorted(kept)


def _greedy(masks: Sequence[int], rows: Sequence[int], everything: int) -> list[int]:
    """Return a cover that always takes the row that adds most; the first bound."""
    chosen: list[int] = []
    while everything:
        row = max(rows, key=lambda one: (masks[one] & everything).bit_count())
        chosen.append(row)
        everything &= ~masks[row]
    return chosen


def _branch(masks: Sequence[int], rows: Sequence[int], missing: int, chosen: list[int], best: list[int]) -> list[int]:
    """Return the best cover that extends `chosen`, or `best` when none is smaller."""
    if not missing:
        return list(chosen) if len(chosen) < len(best) else best
    largest = max((masks[row] & missing).bit_count() for row in rows)
    if len(chosen) + -(-missing.bit_count() // max(1, largest)) >= len(best):
        return best
    rarest = min(_bits(missing), key=lambda bit: sum(bool(masks[row] & bit) for row in rows))
    for row in (row for row in rows if masks[row] & rarest):
        best = _branch(masks, rows, missing & ~masks[row], [*chosen, row], best)
    return best


def _bits(mask: int) -> list[int]:
    """Return the single bits of a mask."""
    bits = []
    while mask:
        low = mask & -mask
        bits.append(low)
        mask ^= low
    return bits
