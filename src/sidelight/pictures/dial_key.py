"""The dial's key: what the shapes mean, then every target with the share and the slack of its rings."""

from collections.abc import Sequence

from sidelight.ground.spans import total
from sidelight.pictures.dial_plan import Lane, Plan, lit_paint, side_name
from sidelight.pictures.lettering import fit, width_of
from sidelight.pictures.records import DialRing
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, Point, group, line, rect

_ROOMY = 5
"""Up to this many targets each ring has its own line with its note."""


def draw_key(plan: Plan) -> tuple[Element, float]:
    """Return the key and the height of its lower end."""
    sheet = plan.sheet
    if sheet.narrow:
        left, top = sheet.margin, plan.centre[1] + plan.bezel + 48
    else:
        left, top = 650.0, sheet.below_heading + 16
    room = sheet.across - sheet.margin - left
    legend, y = _legend(plan, (left, top))
    rows: list[Element | None] = [legend]
    names = list(dict.fromkeys(lane.ring.target for lane in plan.lanes))
    for number, name in enumerate(names, start=1):
        lanes = sorted(
            (lane for lane in plan.lanes if lane.number == number), key=lambda one: one.ring.side != "west"
        )
        rows.append(line((left, y), (left + room, y), stroke=sheet.colours.hairline, stroke_width=0.8))
        y += sheet.body_size * 1.15
        rows.append(_name(sheet, number, name, (left, y), room))
        draw = _line_each if len(names) <= _ROOMY or len(lanes) > 2 else _one_line
        row, y = draw(sheet, lanes, (left, y), room)
        rows.append(row)
        y += sheet.small_size * 0.6
    return group(*rows, id=sheet.id("key")), y


def _legend(plan: Plan, at: Point) -> tuple[Element, float]:
    """Explain the shapes that this dial uses."""
    sheet, (left, y) = plan.sheet, at
    sides = {lane.ring.side for lane in plan.lanes}
    entries: list[tuple[Element, str]] = []
    words = {
        "west": "outer lane: target in the west",
        "east": "inner lane: target in the east",
        "any": "target on either side",
    }
    for side in ("west", "east", "any"):
        if side in sides:
            entries.append((swatch(sheet, DialRing("", side, ()), (left, 0)), words[side]))
    if any(not lane.ring.needed for lane in plan.lanes):
        hollow = swatch(sheet, DialRing("", "west", (), needed=False), (left, 0))
        entries.append((hollow, "hollow: side not needed"))
    if any(lane.ring.shallow_deg for lane in plan.lanes):
        dots = line(
            (left + 2, 6), (left + 22, 6),
            stroke=sheet.colours.soft_ink, stroke_width=2, stroke_linecap="round", stroke_dasharray="0.1 5",
        )  # fmt: skip
        entries.append((dots, "dots: faint stars not known"))
    if plan.lanes:
        share = f"beam: all needed lit, {total(plan.together) / 3.6:.1f} %"
        entries.append((_beam(sheet, left), share))
    drawn = []
    room = sheet.across - sheet.margin - left - 32
    for sample, text in entries:
        drawn.append(group(sample, transform=f"translate(0 {y - 10.5:.2f})"))
        shown = fit(text, room, sheet.small_size)
        drawn.append(sheet.write((left + 32, y), shown, ink=sheet.colours.soft_ink))
        y += sheet.small_size * 1.45
    return group(*drawn), y


def _beam(sheet: Sheet, left: float) -> Element:
    colours = sheet.colours
    return group(
        rect(left, 0, 22, 11, fill=colours.beam),
        *[
            line((left, y), (left + 22, y), stroke=colours.ink, stroke_width=0.8, stroke_dasharray="5 3")
            for y in (0.0, 11.0)
        ],
    )


def swatch(sheet: Sheet, ring: DialRing, at: Point) -> Element:
    """Draw a small piece of a ring's lit arc."""
    low = 0.0 if ring.needed else 2.5
    return rect(
        at[0],
        at[1] + low,
        22,
        11 - 2 * low,
        fill=lit_paint(sheet, ring),
        stroke=sheet.colours.lit_edge if ring.needed else sheet.colours.soft_ink,
        stroke_width=0.7,
    )


def _name(sheet: Sheet, number: int, name: str, at: Point, room: float) -> Element:
    left, y = at
    shown = fit(name, room - 32, sheet.body_size * 1.06)
    return group(
        sheet.write((left, y), str(number), size=sheet.body_size, bold=True),
        sheet.write((left + 32, y), shown, size=sheet.body_size, bold=True),
    )


def _line_each(sheet: Sheet, lanes: Sequence[Lane], at: Point, room: float) -> tuple[Element, float]:
    """Write a line for each ring, with its note."""
    left, y = at
    size, soft = sheet.small_size, sheet.colours.soft_ink
    drawn: list[Element | None] = []
    for lane in lanes:
        y += size * 1.4
        state, ink = _state(sheet, lane)
        share_end = left + 32 + width_of("west   100.0 %", size)
        drawn.append(swatch(sheet, lane.ring, (left, y - 10.5)))
        drawn.append(sheet.write((left + 32, y), side_name(lane.ring.side), ink=soft))
        drawn.append(sheet.write((share_end, y), _share(lane), anchor="end", ink=soft))
        drawn.append(sheet.write((share_end + 12, y), fit(state, left + room - share_end - 10, size), ink=ink))
        if lane.ring.note:
            y += size * 1.25
            drawn.append(sheet.write((left + 32, y), fit(lane.ring.note, room - 32, size), ink=soft))
    return group(*drawn), y


def _one_line(sheet: Sheet, lanes: Sequence[Lane], at: Point, room: float) -> tuple[Element, float]:
    """Write both rings of a target side by side, for dials with many targets."""
    left, y = at
    y += sheet.small_size * 1.4
    half = room / 2
    drawn: list[Element | None] = []
    for index, lane in enumerate(lanes):
        start = left + index * half
        state, ink = _state(sheet, lane)
        drawn.append(swatch(sheet, lane.ring, (start, y - 10.5)))
        letter = {"west": "W ", "east": "E ", "any": ""}[lane.ring.side]
        words = letter + (state or _share(lane))
        drawn.append(sheet.write((start + 32, y), fit(words, half - 34, sheet.small_size), ink=ink))
    return group(*drawn), y


def _share(lane: Lane) -> str:
    return f"{lane.share_percent:.1f} %"


def _state(sheet: Sheet, lane: Lane) -> tuple[str, str]:
    """Return what the needle meets on a ring, in words, and the ink to write it in."""
    if not lane.ring.needed:
        return "not needed", sheet.colours.soft_ink
    if not len(lane.lit):
        return "× never lit", sheet.colours.overlay
    if lane.slack_deg is None:
        return "", sheet.colours.ink
    if lane.slack_deg > 0:
        return f"slack {lane.slack_deg:.1f}°", sheet.colours.ink
    return "× no star", sheet.colours.overlay
