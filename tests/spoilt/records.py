"""What spoiling one kind of thing looks like: made ready in a scratch folder, then tried seed after seed."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from tests.strategies.spoiling import CASES

Try = Callable[[int], bool]
"""Spoil with this seed and hand in: True when it was used, False when it was refused in words.

Whatever else happens is an exception, an AssertionError where nothing was raised but something is wrong.
"""


@dataclass(frozen=True)
class Spoiling:
    """One kind of thing that is handed in.

    group : files, requests or commands. what : the thing, in a person's words. how : in what ways it is spoilt.
    few : cases in the tests of every day. ready : makes everything ready in an empty folder.
    share : of the big number of cases; the rest of what is asked is slow.
    """

    group: str
    what: str
    how: str
    few: int
    ready: Callable[[Path], AbstractContextManager[Try]]
    share: float = 1.0


def many(spoiling: Spoiling, scratch: Path, cases: int = CASES) -> tuple[int, int]:
    """Hand in as many as are asked for, else a few; return how many were used and how many were refused."""
    count = max(1, round(cases * spoiling.share)) if cases else spoiling.few
    with spoiling.ready(scratch) as attempt:
        used = sum(attempt(seed) for seed in range(count))
    return used, count - used
