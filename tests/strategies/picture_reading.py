"""Reading pictures back: parse SVG text, find text boxes and what lies under them, follow paths."""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

from sidelight.pictures.lettering import Box, text_box

SVG = "{http://www.w3.org/2000/svg}"


def parse(text: str) -> ElementTree.Element:
    """Parse a picture; raises when it is not well-formed."""
    return ElementTree.fromstring(text)


def by_id(root: ElementTree.Element, name: str) -> ElementTree.Element:
    """Return the element with an id."""
    return next(one for one in root.iter() if one.get("id") == name)


def attributes(root: ElementTree.Element) -> Iterator[tuple[str, str, str]]:
    """Yield (tag, attribute, value) of every element."""
    for one in root.iter():
        for name, value in one.attrib.items():
            yield one.tag.removeprefix(SVG), name, value


@dataclass(frozen=True)
class Writing:
    """A line of text in a picture: what, where, in which ink, on which ground."""

    content: str
    box: Box
    size: float
    ink: str
    ground: str


def writings(root: ElementTree.Element) -> list[Writing]:
    """Return every text with its box and the colour under it: its halo, else the last plain rectangle around it."""
    found: list[Writing] = []
    grounds: list[tuple[Box, str]] = []
    for one in root.iter():
        if one.tag == f"{SVG}rect" and one.get("fill", "").startswith("#") and one.get("transform") is None:
            left, top, wide, high = (float(one.get(name, "0")) for name in ("x", "y", "width", "height"))
            grounds.append((Box(left, top, left + wide, top + high), one.get("fill", "")))
        if one.tag != f"{SVG}text":
            continue
        x, y, size = (float(one.get(name, "0")) for name in ("x", "y", "font-size"))
        content = "".join(one.itertext())
        box = text_box((x, y), content, size, one.get("text-anchor", "start"))  # type: ignore[arg-type]
        middle = ((box.left + box.right) / 2, (box.top + box.bottom) / 2)
        under = [colour for ground, colour in grounds if _holds(ground, middle)]
        found.append(Writing(content, box, size, one.get("fill", ""), one.get("stroke") or under[-1]))
    return found


def _holds(box: Box, at: tuple[float, float]) -> bool:
    return box.left <= at[0] <= box.right and box.top <= at[1] <= box.bottom


def touching(root: ElementTree.Element, slack: float = 0.0) -> list[tuple[str, str]]:
    """Return the pairs of texts whose boxes overlap by more than `slack` units in both directions."""
    every = writings(root)
    pairs = []
    for index, one in enumerate(every):
        for other in every[index + 1 :]:
            wide = min(one.box.right, other.box.right) - max(one.box.left, other.box.left)
            high = min(one.box.bottom, other.box.bottom) - max(one.box.top, other.box.top)
            if wide > slack and high > slack:
                pairs.append((one.content, other.content))
    return pairs


_COMMAND = re.compile(r"([MLAZ])([^MLAZ]*)")


def commands(data: str) -> list[tuple[str, list[float]]]:
    """Return a path's commands with their numbers."""
    return [(name, [float(word) for word in rest.split()]) for name, rest in _COMMAND.findall(data)]


def points(data: str) -> list[tuple[float, float]]:
    """Return the end points of a path's commands."""
    return [(numbers[-2], numbers[-1]) for _, numbers in commands(data) if numbers]


def arc_centre(
    start: tuple[float, float], end: tuple[float, float], radius: float, large: int, sweep: int
) -> tuple[float, float]:
    """Return the centre of a circular arc from its end points (SVG 1.1, appendix F.6.5, with rx = ry, phi = 0)."""
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    rest = max(0.0, radius**2 / (dx**2 + dy**2) - 1.0)
    sign = 1.0 if large != sweep else -1.0
    cx, cy = sign * math.sqrt(rest) * dy, -sign * math.sqrt(rest) * dx
    return cx + (start[0] + end[0]) / 2, cy + (start[1] + end[1]) / 2


def sky_angle(centre: tuple[float, float], at: tuple[float, float]) -> float:
    """Return the angle of a point about a centre, counter-clockwise from up on the page, in [0, 360)."""
    return math.degrees(math.atan2(-(at[0] - centre[0]), -(at[1] - centre[1]))) % 360.0
