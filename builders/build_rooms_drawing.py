"""Draw docs/pictures/rooms.svg from the table of rooms in ARCHITECTURE.md.

python builders/build_rooms_drawing.py
"""

import re
from pathlib import Path

from sidelight.pictures.palette import palette
from sidelight.pictures.svg import Element, Point, document, element, group, path, rect

ROOT = Path(__file__).resolve().parents[1]
TABLE = ROOT / "ARCHITECTURE.md"
DRAWING = ROOT / "docs" / "pictures" / "rooms.svg"
PLACES = {
    "cli": 160, "web": 160, "cards": 160, "desk": 230, "notebook": 500, "campaign": 780, "setup": 490, "light": 635,
    "season": 780, "pictures": 95, "ledger": 240, "stars": 385, "rig": 530, "sky": 675, "targets": 820, "ground": 460,
}  # fmt: skip
"""Where each room's middle stands across the drawing, so that arrows cross little; its height is its level's."""
ACROSS, STEP, TALL, WIDE, TOP = 920.0, 62.0, 32.0, 112.0, 24.0
LEGEND = "An arrow: imports. What follows through another room is not drawn again."


def room_table() -> dict[str, tuple[int, set[str]]]:
    """Read the table under "Rooms": room -> its level and the rooms it may import."""
    text = TABLE.read_text(encoding="utf-8")
    table: dict[str, tuple[int, set[str]]] = {}
    for level, rooms, may in re.findall(r"^\| *(\d+) *\|([^|]+)\|[^|]+\|([^|]+)\|$", text, flags=re.MULTILINE):
        for room in re.findall(r"`(\w+)`", rooms):
            table[room] = int(level), set(re.findall(r"`(\w+)`", may))
    return table


def arrows(table: dict[str, tuple[int, set[str]]]) -> list[tuple[str, str]]:
    """Return who imports whom, less what follows from the rest; the table's rooms stand from the ground up."""
    below: dict[str, set[str]] = {}
    for room, (_, may) in table.items():
        below[room] = may.union(*(below[other] for other in may))
    return [
        (room, other)
        for room, (_, may) in table.items()
        for other in sorted(may)
        if not any(other in below[third] for third in may - {other})
    ]


def drawing() -> str:
    """Return the drawing: the ground at the foot, what a person meets at the top."""
    table = room_table()
    highest = max(level for level, _ in table.values())
    middle = {
        room: (float(PLACES[room]), TOP + TALL / 2 + STEP * (highest - level)) for room, (level, _) in table.items()
    }
    pairs = arrows(table)
    colours = palette("day")
    wires = [_arrow(*_ends(room, other, pairs, middle), colours.soft_ink) for room, other in pairs]
    boxes = [_box(room, middle[room], ACROSS - 40 if room == "ground" else WIDE) for room in table]
    foot = TOP + STEP * highest + TALL + 30.0
    words = [f"{room} imports {', '.join(other for one, other in pairs if one == room)}" for room in reversed(table)]
    return document(
        group(*wires, id="rooms-arrows"),
        group(*boxes, id="rooms-boxes"),
        _text((20.0, foot), LEGEND, colours.soft_ink, size=14.0),
        size=(ACROSS, foot + 14.0),
        prefix="rooms",
        title="The rooms of Sidelight and what imports what",
        desc=f"{'; '.join(words[:-1])}; {words[-1].split()[0]} imports nothing. What follows is not said again.",
        background=colours.paper,
        font_family="ui-sans-serif, system-ui, sans-serif",
    )


def _ends(room: str, other: str, pairs: list[tuple[str, str]], middle: dict[str, Point]) -> tuple[Point, Point]:
    """Return where an arrow leaves a room and where it enters the other, side by side with that room's others."""
    (x, y), (to_x, to_y) = middle[room], middle[other]
    leaving = sorted((middle[to][0] for one, to in pairs if one == room))
    entering = sorted((middle[one][0] for one, to in pairs if to == other))
    start = x + 30.0 * (leaving.index(to_x) - (len(leaving) - 1) / 2), y + TALL / 2
    side = 0.0 if other == "ground" else 26.0 * (entering.index(x) - (len(entering) - 1) / 2)
    return start, ((x if other == "ground" else to_x + side), to_y - TALL / 2)


def _arrow(start: Point, end: Point, ink: str) -> Element:
    """Draw an arrow that leaves and enters upright."""
    bend = (end[1] - start[1]) / 2
    way = f"M{start[0]:.1f} {start[1]:.1f}C{start[0]:.1f} {start[1] + bend:.1f} {end[0]:.1f} {end[1] - bend:.1f} "
    head = f"M{end[0] - 4:.1f} {end[1] - 8:.1f}L{end[0]:.1f} {end[1] - 0.5:.1f}L{end[0] + 4:.1f} {end[1] - 8:.1f}"
    return path(f"{way}{end[0]:.1f} {end[1] - 1:.1f}{head}", fill="none", stroke=ink, stroke_width=1.4)


def _box(room: str, at: Point, wide: float) -> Element:
    """Draw a room with its name."""
    colours = palette("day")
    frame = rect(
        at[0] - wide / 2,
        at[1] - TALL / 2,
        wide,
        TALL,
        rx=5,
        fill=colours.tints[0],
        stroke=colours.ink,
        stroke_width=1,
    )
    return group(frame, _text((at[0], at[1] + 5.5), room, colours.ink, anchor="middle"))


def _text(at: Point, words: str, ink: str, *, size: float = 16.0, anchor: str | None = None) -> Element:
    """Set a line of text."""
    return element("text", words, x=at[0], y=at[1], font_size=size, fill=ink, text_anchor=anchor)


def main() -> None:
    """Write the drawing."""
    DRAWING.write_text(drawing(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
