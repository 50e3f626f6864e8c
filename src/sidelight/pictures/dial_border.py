"""The dial's graduated border: intervals, ticks, figures, the four points of the sky."""

from sidelight.pictures.dial_plan import Plan
from sidelight.pictures.svg import (
    Element,
    Point,
    circle,
    group,
    path,
    polyline_data,
    sector_data,
    sky_point,
)


def draw_border(plan: Plan) -> Element:
    """Draw the graduated border: intervals of 5° filled in turn, ticks each degree, figures each 30°.

    The figures have the ids ``<prefix>-figure-<degrees>``, for a page that moves something over them.
    """
    sheet, centre, bezel = plan.sheet, plan.centre, plan.bezel
    ink, k = sheet.colours.ink, plan.scale
    inner = bezel - 7 * k
    filled = "".join(sector_data(centre, inner, bezel, angle, angle + 5) for angle in range(0, 360, 10))
    ticks = "".join(
        polyline_data([sky_point(centre, inner - 1, angle), sky_point(centre, inner - _tick(angle) * k, angle)])
        for angle in range(360)
    )
    return group(
        circle(centre, bezel, fill="none", stroke=ink, stroke_width=1.2),
        circle(centre, bezel + 3 * k, fill="none", stroke=ink, stroke_width=0.6),
        circle(centre, inner, fill="none", stroke=ink, stroke_width=0.6),
        path(filled, fill=ink, fill_rule="evenodd"),
        path(ticks, stroke=sheet.colours.soft_ink, stroke_width=0.7),
        *_figures(plan),
        id=sheet.id("border"),
    )


def _figures(plan: Plan) -> list[Element]:
    """Set degrees each 30°, and the points of the sky in letters."""
    sheet, centre, bezel, k = plan.sheet, plan.centre, plan.bezel, plan.scale
    letters = {0: "N", 90: "E", 180: "S", 270: "W"}
    figures = [
        sheet.write(
            _beside(centre, bezel + 7 * k, angle, sheet.small_size),
            f"{angle}°",
            anchor="middle",
            ink=sheet.colours.soft_ink,
            name=f"figure-{angle}",
        )
        for angle in range(0, 360, 30)
        if angle not in letters
    ]
    points = [
        sheet.write(
            _beside(centre, bezel + 5 * k, angle, sheet.body_size * 1.15),
            letter,
            size=sheet.body_size * 1.15,
            anchor="middle",
            serif=True,
            bold=True,
            name=f"figure-{angle}",
        )
        for angle, letter in letters.items()
    ]
    return figures + points


def _tick(angle: int) -> float:
    """Return the length of the tick at a whole degree."""
    return 12.0 if angle % 10 == 0 else (8.0 if angle % 5 == 0 else 4.5)


def _beside(centre: Point, radius: float, angle: float, size: float) -> Point:
    """Return the baseline point of a centred label just outside a radius."""
    x, y = sky_point(centre, radius + 0.95 * size, angle)
    return x, y + 0.36 * size
