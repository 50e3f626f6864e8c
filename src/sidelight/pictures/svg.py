"""A small SVG writer: elements, escaping, groups, paths, and the document with its title and description.

Only presentation attributes are written, no style sheet and no script, so that a page with a strict
Content-Security-Policy can hold the pictures as they are. The same input gives the same text, byte for byte.
"""

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from sidelight.ground.errors import OurFault, Problem

Value = str | float | int | None
Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]

# what XML 1.0 allows in character data (Extensible Markup Language 1.0, production 2), less the carriage return,
# which a reader would turn into a line feed
_NOT_XML = re.compile("[^\t\n\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def clean(text: str) -> str:
    """Return the text with everything that XML cannot hold replaced by a blank."""
    return _NOT_XML.sub(" ", text)


def escape(text: str) -> str:
    """Return the text for use between tags or inside a double-quoted attribute."""
    safe = clean(text)
    for sign, entity in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;")):
        safe = safe.replace(sign, entity)
    return safe


def number(value: float) -> str:
    """Return a coordinate with at most two decimals, without a trailing zero or a minus before zero."""
    if not math.isfinite(value):
        raise OurFault(Problem("A picture was asked to draw a coordinate that is not finite."))
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


@dataclass(frozen=True)
class Element:
    """One SVG element; children are elements or text."""

    tag: str
    attributes: tuple[tuple[str, str], ...]
    children: tuple["Element | str", ...] = ()

    def __str__(self) -> str:
        names = "".join(f' {name}="{escape(value)}"' for name, value in self.attributes)
        if not self.children:
            return f"<{self.tag}{names}/>"
        inside = "".join(escape(child) if isinstance(child, str) else str(child) for child in self.children)
        return f"<{self.tag}{names}>{inside}</{self.tag}>"


def element(tag: str, *children: Element | str | None, **attributes: Value) -> Element:
    """Make an element; ``stroke_width=2`` becomes ``stroke-width="2"``, None attributes and children are left out."""
    named = tuple(
        (_attribute_name(name), value if isinstance(value, str) else number(value))
        for name, value in attributes.items()
        if value is not None
    )
    return Element(tag, named, tuple(child for child in children if child is not None and child != ""))


def _attribute_name(name: str) -> str:
    """Return the SVG spelling; attributes whose own names hold capitals (viewBox) have no underscore."""
    return name.rstrip("_").replace("_", "-")


def group(*children: Element | None, **attributes: Value) -> Element:
    """Gather elements that share attributes."""
    return element("g", *children, **attributes)


def tip(text: str) -> Element:
    """Make the title child that browsers show when the pointer rests on an element."""
    return element("title", text)


def line(start: Point, end: Point, **attributes: Value) -> Element:
    """Draw a straight line."""
    return element("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], **attributes)


def rect(left: float, top: float, width: float, height: float, **attributes: Value) -> Element:
    """Draw a rectangle; a negative size is drawn as none."""
    return element("rect", x=left, y=top, width=max(0.0, width), height=max(0.0, height), **attributes)


def circle(centre: Point, radius: float, **attributes: Value) -> Element:
    """Draw a circle."""
    return element("circle", cx=centre[0], cy=centre[1], r=max(0.0, radius), **attributes)


def path(data: str, *children: Element | None, **attributes: Value) -> Element:
    """Draw a path from its data; a path that is only stroked is not filled (SVG would fill it black)."""
    if "stroke" in attributes:
        attributes.setdefault("fill", "none")
    return element("path", *children, d=data, **attributes)


def polyline_data(points: Sequence[Point], *, closed: bool = False) -> str:
    """Return path data that joins the points with straight lines; empty text for no points."""
    if not points:
        return ""
    joined = "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{joined}Z" if closed else f"M{joined}"


def sky_point(centre: Point, radius: float, angle_deg: float) -> Point:
    """Return the point at an angle counted counter-clockwise from up: north up, east to the left."""
    angle = math.radians(angle_deg)
    return centre[0] - radius * math.sin(angle), centre[1] - radius * math.cos(angle)


def arc_data(centre: Point, radius: float, from_deg: float, to_deg: float) -> str:
    """Return path data of a circular arc drawn counter-clockwise from one sky angle to another.

    A turn of 360° or more is the full circle, as two half circles (an SVG arc cannot end where it starts).
    """
    if to_deg - from_deg >= 360.0:
        return arc_data(centre, radius, 0.0, 180.0) + _arc_onwards(centre, radius, 180.0, 360.0) + "Z"
    start = sky_point(centre, radius, from_deg)
    return f"M{number(start[0])} {number(start[1])}" + _arc_onwards(centre, radius, from_deg, to_deg)


def sector_data(centre: Point, inner: float, outer: float, from_deg: float, to_deg: float) -> str:
    """Return path data of the piece of a ring between two radii and two sky angles."""
    if to_deg - from_deg >= 360.0:
        return arc_data(centre, outer, 0.0, 360.0) + arc_data(centre, inner, 0.0, 360.0)
    corner = sky_point(centre, inner, to_deg)
    return (
        arc_data(centre, outer, from_deg, to_deg)
        + f"L{number(corner[0])} {number(corner[1])}"
        + _arc_onwards(centre, inner, to_deg, from_deg)
        + "Z"
    )


def _arc_onwards(centre: Point, radius: float, from_deg: float, to_deg: float) -> str:
    """Return the arc command to a sky angle; counter-clockwise on the page has sweep flag 0 (y points down)."""
    end = sky_point(centre, radius, to_deg)
    large = 1 if abs(to_deg - from_deg) > 180.0 else 0
    sweep = 0 if to_deg >= from_deg else 1
    return f"A{number(radius)} {number(radius)} 0 {large} {sweep} {number(end[0])} {number(end[1])}"


def document(
    *body: Element | None,
    size: tuple[float, float],
    prefix: str,
    title: str,
    desc: str,
    background: str,
    font_family: str,
    defs: Iterable[Element] = (),
) -> str:
    """Return the whole picture: as wide as its place, named and described for those who cannot see it.

    `prefix` goes before every id, so that several pictures can stand in one page.
    """
    definitions = tuple(defs)
    root = element(
        "svg",
        element("title", title, id=f"{prefix}-title"),
        element("desc", desc, id=f"{prefix}-desc"),
        element("defs", *definitions) if definitions else None,
        rect(0, 0, size[0], size[1], fill=background),
        *body,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(size[0])} {number(size[1])}",
        role="img",
        aria_labelledby=f"{prefix}-title {prefix}-desc",
        font_family=font_family,
        id=prefix,
    )
    return str(root) + "\n"
