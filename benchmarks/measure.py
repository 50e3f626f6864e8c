"""What the benchmarks share: a figure beside the plain way, points of growth, tables, peak memory.

Each benchmark prints what it found as text; with --json one record a line, from which run_all.py makes the page.
"""

import gc
import json
import math
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

Work = Callable[[], object]
now = time.process_time
"""Times are the process's own processor time, which other work on the machine disturbs little; nothing here waits."""
LONG_S = 1.0
"""What takes longer than this is run once."""


@dataclass(frozen=True)
class Figure:
    """One thing measured, beside the plain way of doing it in the same run.

    plain : the plain way in words, its library named; what there is instead when there is none. peak_mb : of the
    process while ours ran, Python and libraries included; None where the system does not tell.
    """

    what: str
    size: str
    ours_s: float
    peak_mb: float | None = None
    plain: str = ""
    plain_s: float | None = None

    @property
    def ratio(self) -> float | None:
        """How many times as long the plain way takes."""
        return None if self.plain_s is None else self.plain_s / self.ours_s

    def __str__(self) -> str:
        words = f"{self.what}, {self.size}: {clock(self.ours_s)}, peak {memory(self.peak_mb)}"
        if self.plain_s is None or self.ratio is None:
            return words
        return f"{words}\n    {self.plain}: {clock(self.plain_s)}, {ratio(self.ratio)} times that"


@dataclass(frozen=True)
class Point:
    """What one size costs. what : the work; axis : what there is more of; unit : one of it."""

    what: str
    axis: str
    unit: str
    size: float
    ours_s: float
    peak_mb: float | None = None

    def __str__(self) -> str:
        return f"{self.what}, {self.size:,.0f} {self.axis}: {clock(self.ours_s)}, peak {memory(self.peak_mb)}"


@dataclass(frozen=True)
class Table:
    """A table of text, the first column its rows' names."""

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def __str__(self) -> str:
        every = [self.header, *self.rows]
        wide = [max(len(row[k]) for row in every) for k in range(len(self.header))]
        lines = ["  ".join(cell.ljust(wide[k]) for k, cell in enumerate(row)).rstrip() for row in every]
        return "\n".join([self.title, *lines])


@dataclass(frozen=True)
class Words:
    """A sentence about what was found."""

    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Ran:
    """How a benchmark ran: its time, and how busy the machine was before it; why it gave nothing, if it failed."""

    took_s: float
    load: float | None
    failed: str = ""

    def __str__(self) -> str:
        return f"took {clock(self.took_s)}"


Record = Figure | Point | Table | Words | Ran
KINDS = {kind.__name__: kind for kind in (Figure, Point, Table, Words, Ran)}


def emit(record: Record) -> None:
    """Print one record, as text or as a line of JSON."""
    line = json.dumps({"kind": type(record).__name__, **asdict(record)}) if "--json" in sys.argv else str(record)
    print(line, flush=True)


def read(text: str) -> list[Record]:
    """Return the records of a benchmark's lines of JSON."""
    found: list[Record] = []
    for line in text.splitlines():
        fields = json.loads(line)
        kind = KINDS[fields.pop("kind")]
        if kind is Table:
            fields["header"] = tuple(fields["header"])
            fields["rows"] = tuple(tuple(row) for row in fields["rows"])
        found.append(kind(**fields))
    return found


def seconds(work: Work, repeats: int = 3) -> float:
    """Return the shortest time of one call."""
    best = math.inf
    for _ in range(repeats):
        start = now()
        work()
        best = min(best, now() - start)
        if best > LONG_S:
            break
    return best


def measured(work: Work, repeats: int = 3) -> tuple[float, float | None]:
    """Return the shortest time of one call, and the process's peak memory in the first, MB."""
    gc.collect()
    whole_life = not _forget_peak()
    start = now()
    work()
    first = now() - start
    peak = _peak_mb(whole_life)
    return (first if first > LONG_S or repeats < 2 else min(first, seconds(work, repeats - 1))), peak


def figure(
    what: str,
    size: str,
    work: Work,
    plain: str,
    plain_work: Work | None = None,
    *,
    times: float = 1.0,
    repeats: int = 3,
) -> Figure:
    """Measure ours, then the plain way, and print both. times : how often the plain work is needed for the same."""
    ours_s, peak = measured(work, repeats)
    plain_s = None if plain_work is None else seconds(plain_work, 2) * times
    made = Figure(what, size, ours_s, peak, plain, plain_s)
    emit(made)
    return made


def grow(
    what: str, axis: str, unit: str, sizes: Sequence[int], prepare: Callable[[int], Work], repeats: int = 3
) -> None:
    """Measure the work that `prepare` returns for each size, smallest first, and print the points."""
    for size in sorted(sizes):
        emit(Point(what, axis, unit, size, *measured(prepare(size), repeats)))


def exponent(points: Sequence[Point]) -> float:
    """Return k of the power law size^k that fits the times best (least squares of the logarithms)."""
    import numpy as np

    x, y = np.log([one.size for one in points]), np.log([one.ours_s for one in points])
    return float(np.polyfit(x, y, 1)[0])


def series(records: Sequence[Record]) -> list[list[Point]]:
    """Return the points by what they measure, each smallest first, in the order of their first points."""
    found: dict[tuple[str, str], list[Point]] = {}
    for one in records:
        if isinstance(one, Point):
            found.setdefault((one.what, one.axis), []).append(one)
    return [sorted(points, key=lambda point: point.size) for points in found.values()]


def _forget_peak() -> bool:
    """Let the system count the process's peak memory anew; False where it cannot."""
    try:
        Path("/proc/self/clear_refs").write_text("5", encoding="ascii")
    except OSError:
        return False
    return True


def _peak_mb(whole_life: bool) -> float | None:
    """Return the process's peak memory, MB: since it was last forgotten, or else of its whole life."""
    if not whole_life:
        for line in Path("/proc/self/status").read_text(encoding="ascii", errors="replace").splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024.0
    try:
        import resource
    except ImportError:
        return None
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (2**20 if sys.platform == "darwin" else 2**10)


def clock(value_s: float) -> str:
    """Return a time with its unit, two or three figures."""
    for limit, factor, unit in ((1e-6, 1e9, "ns"), (1e-3, 1e6, "µs"), (0.9995, 1e3, "ms"), (119.5, 1.0, "s")):
        if value_s < limit:
            return f"{three(value_s * factor)} {unit}"
    return f"{three(value_s / 60.0)} min" if value_s < 7170 else f"{three(value_s / 3600.0)} h"


def three(value: float) -> str:
    """Return a number with three figures at most, thousands apart."""
    if value >= 99.95:
        return f"{float(f'{value:.3g}'):,.0f}"
    return f"{value:.3g}" if value >= 1.0 else f"{value:.2g}"


def ratio(value: float) -> str:
    """Return a ratio with two figures."""
    return f"{float(f'{value:.2g}'):,.0f}" if value >= 10 else f"{value:.1f}"


def memory(value_mb: float | None) -> str:
    """Return megabytes as text."""
    return "not told" if value_mb is None else f"{value_mb:,.0f} MB"
