"""Where things stand on the dial: the tracks, their lanes, what the needle meets on each."""

from collections.abc import Sequence
from dataclasses import dataclass

from sidelight.ground.spans import FULL_CIRCLE, arcs, arcs_intersect, arcs_slack, total
from sidelight.ground.types import FloatArray
from sidelight.pictures.records import Dial, DialRing
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Point


def side_name(side: str) -> str:
    """Return the side as the pictures write it."""
    return "either" if side == "any" else side


@dataclass(frozen=True)
class Lane:
    """One ring with its place on the dial and what the needle meets there."""

    ring: DialRing
    number: int
    inner: float
    outer: float
    lit: FloatArray
    slack_deg: float | None

    @property
    def middle(self) -> float:
        """Radius of the ring's groove."""
        return (self.inner + self.outer) / 2

    @property
    def share_percent(self) -> float:
        """How much of the circle is lit."""
        return 100.0 * total(self.lit) / 360.0


@dataclass(frozen=True)
class Plan:
    """Radii of the dial and what stands on them."""

    sheet: Sheet
    dial: Dial
    centre: Point
    bezel: float
    lanes: tuple[Lane, ...]
    together: FloatArray

    @property
    def hub(self) -> float:
        """Radius of the middle, which holds the reading."""
        return max(self.bezel * 0.27, 50.0)

    @property
    def tracks(self) -> tuple[tuple[Lane, ...], ...]:
        """The lanes of each target, from the outermost track inwards."""
        numbers = dict.fromkeys(lane.number for lane in self.lanes)
        return tuple(tuple(lane for lane in self.lanes if lane.number == number) for number in numbers)

    @property
    def scale(self) -> float:
        """Size relative to the dial on the desk."""
        return self.bezel / 268.0


def slack_at_needle(ring: DialRing, lit: FloatArray, needle_deg: float | None) -> float | None:
    """Return the slack at the needle: given, or measured on the arcs; None without a needle."""
    if needle_deg is None:
        return None
    if ring.slack_deg is not None:
        return ring.slack_deg
    return float(arcs_slack(lit, needle_deg))


def lay_out(sheet: Sheet, dial: Dial) -> Plan:
    """Share the space between hub and border among the tracks."""
    bezel = 152.0 if sheet.narrow else 268.0
    centre = (195.0, sheet.below_heading + bezel + 24) if sheet.narrow else (322.0, sheet.below_heading + bezel + 34)
    scale = bezel / 268.0
    outermost, innermost = bezel - 40 * scale, max(bezel * 0.31, 56.0)
    names = list(dict.fromkeys(ring.target for ring in dial.rings))
    pitch = min(44 * scale, (outermost - innermost) / max(1, len(names)))
    lanes: list[Lane] = []
    for ring in dial.rings:
        number = names.index(ring.target)
        top = outermost - number * pitch
        band = pitch * 0.8
        inner, outer = {
            "west": (top - band * 0.46, top),
            "east": (top - band, top - band * 0.54),
            "any": (top - band * 0.8, top - band * 0.2),
        }[ring.side]
        lit = arcs(list(ring.arcs_deg))
        lanes.append(Lane(ring, number + 1, inner, outer, lit, slack_at_needle(ring, lit, dial.needle_deg)))
    return Plan(sheet, dial, centre, bezel, tuple(lanes), served_together(lanes))


def served_together(lanes: Sequence[Lane]) -> FloatArray:
    """Return the angles at which every needed ring is lit."""
    needed = [lane.lit for lane in lanes if lane.ring.needed]
    every = FULL_CIRCLE if needed else FULL_CIRCLE[:0]
    for lit in needed:
        every = arcs_intersect(every, lit)
    return every


def lit_paint(sheet: Sheet, ring: DialRing) -> str:
    """Return the fill of a ring's lit arcs."""
    if not ring.needed:
        return sheet.colours.paper
    return sheet.hatch("east") if ring.side == "east" else sheet.colours.lit_west
