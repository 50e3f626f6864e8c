"""The sheet that a picture is drawn on: theme, size of writing, ids, hatchings, and the frame that all share."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from sidelight.ground.errors import OurFault, Problem
from sidelight.pictures.palette import Palette, Theme, palette
from sidelight.pictures.records import Width
from sidelight.pictures.svg import (
    Anchor,
    Element,
    Point,
    document,
    element,
    group,
    line,
    polyline_data,
    rect,
)

SANS = "ui-sans-serif, system-ui, sans-serif"
SERIF = "ui-serif, serif"


@dataclass(frozen=True)
class Sheet:
    """Theme, width and id prefix of one picture, and what follows from them.

    Sizes of writing are chosen for the width at which each layout is shown: 960 units on a desk or a page of A4,
    390 units on a phone, one unit being about one CSS pixel there.
    """

    theme: Theme
    width: Width
    prefix: str
    colours: Palette = field(init=False)

    def __post_init__(self) -> None:
        if self.width not in ("wide", "narrow"):
            raise OurFault(Problem(f'"{self.width}" is not a width of the pictures.', expected="wide or narrow"))
        if not self.prefix or not all(sign.isalnum() or sign in "-_" for sign in self.prefix):
            raise OurFault(
                Problem(f'"{self.prefix}" cannot go before an id.', expected="letters, digits, - and _ only")
            )
        object.__setattr__(self, "colours", palette(self.theme))

    @property
    def narrow(self) -> bool:
        """Whether this is the phone's layout."""
        return self.width == "narrow"

    @property
    def across(self) -> float:
        """Width of the picture in its own units."""
        return 390.0 if self.narrow else 960.0

    @property
    def title_size(self) -> float:
        """Size of the heading."""
        return 18.0 if self.narrow else 24.0

    @property
    def body_size(self) -> float:
        """Size of names and figures."""
        return 13.0 if self.narrow else 17.0

    @property
    def small_size(self) -> float:
        """Size of ticks and notes, the smallest there is."""
        return 11.5 if self.narrow else 15.0

    @property
    def margin(self) -> float:
        """Free space at the sheet's edges."""
        return 10.0 if self.narrow else 20.0

    def id(self, name: str) -> str:
        """Return an id of this picture."""
        return f"{self.prefix}-{name}"

    def hatch(self, name: str) -> str:
        """Return the paint of one of the hatchings."""
        return f"url(#{self.id(f'hatch-{name}')})"

    def write(
        self,
        at: Point,
        content: str,
        *,
        size: float | None = None,
        ink: str | None = None,
        anchor: Anchor = "start",
        bold: bool = False,
        serif: bool = False,
        italic: bool = False,
        halo: str | None = None,
        turn: str | None = None,
        name: str = "",
    ) -> Element:
        """Set a line of text; `halo` is the colour of a rim that keeps it legible over lines, `name` makes an id."""
        return element(
            "text",
            content,
            x=at[0],
            y=at[1],
            font_size=size or self.small_size,
            fill=ink or self.colours.ink,
            text_anchor=None if anchor == "start" else anchor,
            font_weight="600" if bold else None,
            font_family=SERIF if serif else None,
            font_style="italic" if italic else None,
            stroke=halo,
            stroke_width=None if halo is None else 3.5,
            stroke_linejoin=None if halo is None else "round",
            paint_order=None if halo is None else "stroke",
            transform=turn,
            id=self.id(name) if name else None,
        )

    def heading(self, title: str) -> Element:
        """Set the picture's title at the top left."""
        from sidelight.pictures.lettering import fit

        shown = fit(title, self.across - 2 * self.margin, self.title_size * 1.08)
        at = (self.margin, self.margin + self.title_size * 0.85)
        return self.write(at, shown, size=self.title_size, serif=True, bold=True)

    @property
    def below_heading(self) -> float:
        """The height at which a picture starts under its title."""
        return self.margin + self.title_size * 1.5

    def finish(self, *body: Element | None, height: float, title: str, desc: str, headed: bool = True) -> str:
        """Return the picture as SVG text, with its heading unless what it stands in names it already."""
        return document(
            self.heading(title) if headed else None,
            *body,
            size=(self.across, height),
            prefix=self.prefix,
            title=title,
            desc=desc,
            background=self.colours.paper,
            font_family=SANS,
            defs=hatchings(self),
        )


def hatchings(sheet: Sheet) -> tuple[Element, ...]:
    """Return the hatchings as pattern definitions: east, land, moon."""
    colours = sheet.colours
    print_theme = sheet.theme == "print"
    east_line = colours.lit_edge if print_theme else colours.paper
    moon_line = colours.ink if print_theme else colours.moonlight
    return (
        _stripes(sheet, "east", colours.lit_east, east_line, pitch=4.0, weight=1.5 if print_theme else 1.1, turn=0),
        _stripes(sheet, "land", colours.land, colours.land_ink, pitch=7.0, weight=0.8, turn=-35),
        _stripes(sheet, "moon", "none", moon_line, pitch=7.0, weight=1.0 if print_theme else 2.0, turn=45),
    )


def _stripes(sheet: Sheet, name: str, ground: str, ink: str, *, pitch: float, weight: float, turn: float) -> Element:
    """Return a pattern of parallel lines."""
    return element(
        "pattern",
        None if ground == "none" else rect(0, 0, pitch, pitch, fill=ground),
        line((pitch / 2, 0), (pitch / 2, pitch), stroke=ink, stroke_width=weight),
        id=sheet.id(f"hatch-{name}"),
        width=pitch,
        height=pitch,
        patternUnits="userSpaceOnUse",
        patternTransform=f"rotate({turn})" if turn else None,
    )


def zebra(sheet: Sheet, edges: Sequence[float], at: float, thick: float, *, upright: bool = False) -> Element:
    """Draw a scale bar whose intervals are filled in turn, as along the border of a sea chart."""
    colours = sheet.colours
    ink = colours.soft_ink if sheet.theme == "night" else colours.ink  # so much filled area must stay dim
    pieces: list[Element | None] = []
    for index, (start, end) in enumerate(pairwise(edges)):
        low, length = min(start, end), abs(end - start)
        place = (at, low, thick, length) if upright else (low, at, length, thick)
        pieces.append(rect(*place, fill=ink if index % 2 else colours.paper))
    if edges:
        low, length = min(edges), max(edges) - min(edges)
        place = (at, low, thick, length) if upright else (low, at, length, thick)
        pieces.append(rect(*place, fill="none", stroke=ink, stroke_width=1))
    return group(*pieces)


def north_arrow(sheet: Sheet, foot: Point, length: float) -> Element:
    """Draw a slender arrow, one half dark and one half light, that points up, with its N."""
    x, y = foot
    half = length * 0.14
    tip_at, heel = (x, y - length), (x, y - length * 0.18)
    left = polyline_data([tip_at, (x - half, y), heel], closed=True)
    right = polyline_data([tip_at, (x + half, y), heel], closed=True)
    colours = sheet.colours
    return group(
        element("path", d=left, fill=colours.ink, stroke=colours.ink, stroke_width=1, stroke_linejoin="round"),
        element("path", d=right, fill=colours.paper, stroke=colours.ink, stroke_width=1, stroke_linejoin="round"),
        sheet.write((x, y - length - 5), "N", anchor="middle", bold=True, serif=True, size=sheet.body_size),
    )


def moon_disc(sheet: Sheet, centre: Point, radius: float, lit_fraction: float, *, waxing: bool = True) -> Element:
    """Draw the Moon with its lit part light and its dark part inked, lit on the right when waxing (north up)."""
    lit = min(1.0, max(0.0, lit_fraction))
    x, y = centre
    bulge = abs(1.0 - 2.0 * lit) * radius  # half-axis of the terminator's ellipse
    side = 1 if waxing else 0
    inner = side if lit < 0.5 else 1 - side
    data = (
        f"M{x:.2f} {y - radius:.2f}A{radius:.2f} {radius:.2f} 0 0 {side} {x:.2f} {y + radius:.2f}"
        f"A{bulge:.2f} {radius:.2f} 0 0 {1 - inner} {x:.2f} {y - radius:.2f}Z"
    )
    colours = sheet.colours
    bright = colours.soft_ink if sheet.theme == "night" else colours.paper
    dark = colours.paper if sheet.theme == "night" else colours.ink
    return group(
        element("circle", cx=x, cy=y, r=radius, fill=dark, stroke=colours.ink, stroke_width=1),
        element("path", d=data, fill=bright) if lit > 0 else None,
    )
