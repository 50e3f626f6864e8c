"""Text in pictures: how wide it runs, cutting it to fit, and setting it down where nothing else stands.

No font is measured: a page may show any system font. The widths are those of a wide one (DejaVu Sans, em
fractions rounded up by classes of letters), so that what fits here fits with the narrower usual ones too.
"""

from dataclasses import dataclass
from functools import lru_cache
from unicodedata import combining, east_asian_width

from sidelight.pictures.svg import Anchor, Point

_NARROW = set("iljI|!'.,:;`·′″’‘ ")
_SLIM = set('frtJ()[]{}/\\-–"*°1')
_BROAD = set("mwMW@%—…")


def width_of(text: str, size: float) -> float:
    """Return the width in picture units that a text of this size takes at most, about."""
    return size * _ems(text)


@lru_cache(maxsize=4096)
def _ems(text: str) -> float:
    """Return a text's width in ems; kept, because labels are tried in many places."""
    return sum(_em(sign) for sign in text)


def _em(sign: str) -> float:
    if combining(sign):
        return 0.0
    if sign in _NARROW:
        return 0.34
    if sign in _SLIM:
        return 0.52 if sign != "1" else 0.64
    if sign in _BROAD:
        return 1.0
    if east_asian_width(sign) in ("W", "F"):
        return 1.05
    return 0.72 if sign.isupper() else 0.64


def fit(text: str, room: float, size: float) -> str:
    """Return the text, cut with an ellipsis if it would run wider than `room`."""
    flat = " ".join(text.split())
    if width_of(flat, size) <= room:
        return flat
    for length in range(len(flat) - 1, 0, -1):
        cut = flat[:length].rstrip() + "…"
        if width_of(cut, size) <= room:
            return cut
    return "…"


def wrap(text: str, room: float, size: float, *, most_lines: int = 6) -> tuple[str, ...]:
    """Return the text in lines no wider than `room`; what does not fit in the last line is cut."""
    lines: list[str] = []
    for word in text.split():
        if lines and width_of(f"{lines[-1]} {word}", size) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    if len(lines) > most_lines:
        lines = [*lines[: most_lines - 1], " ".join(lines[most_lines - 1 :])]
    return tuple(fit(line, room, size) for line in lines)


@dataclass(frozen=True)
class Box:
    """An upright rectangle in picture units."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Box") -> bool:
        """Tell whether the two share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def inside(self, other: "Box") -> bool:
        """Tell whether this lies wholly within the other."""
        return (
            other.left <= self.left
            and self.right <= other.right
            and other.top <= self.top
            and self.bottom <= other.bottom
        )


def text_box(at: Point, text: str, size: float, anchor: Anchor = "start") -> Box:
    """Return the box of a text whose baseline starts, centres or ends at a point."""
    width = width_of(text, size)
    left = at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width
    return Box(left, at[1] - 0.8 * size, left + width, at[1] + 0.22 * size)


def spread(wanted: list[float], gap: float, low: float, high: float) -> list[float]:
    """Return positions near the wanted ones, in their order, at least `gap` apart, between low and high if they fit.

    Used for labels at the ends of curves: clusters are pushed apart evenly about their own middle.
    """
    order = sorted(range(len(wanted)), key=lambda index: wanted[index])
    clusters: list[list[float]] = []  # [sum of (wanted - rank * gap), count]
    for index in order:
        clusters.append([wanted[index], 1.0])
        while len(clusters) > 1 and _start(clusters[-2]) + clusters[-2][1] * gap > _start(clusters[-1]):
            total, count = clusters.pop()
            clusters[-1][0] += total - clusters[-1][1] * gap * count
            clusters[-1][1] += count
        # every cluster keeps its first position as mean(wanted - rank * gap)
    places = [0.0] * len(wanted)
    position = iter(order)
    floor_at = low
    for cluster in clusters:
        start = max(_start(cluster), floor_at)
        for rank in range(int(cluster[1])):
            places[next(position)] = start + rank * gap
        floor_at = start + cluster[1] * gap
    return _pull_down(places, order, gap, low, high)


def _start(cluster: list[float]) -> float:
    return cluster[0] / cluster[1]


def _pull_down(places: list[float], order: list[int], gap: float, low: float, high: float) -> list[float]:
    """Push back from the upper end what runs over it; when all cannot fit, the gap shrinks evenly."""
    if len(order) > 1 and (len(order) - 1) * gap > high - low:
        even = max(0.0, high - low) / (len(order) - 1)
        for rank, index in enumerate(order):
            places[index] = low + rank * even
        return places
    roof = high
    for index in reversed(order):
        places[index] = min(places[index], roof)
        roof = places[index] - gap
    return places
