"""The field's key, and the signs that chart and key share: star sizes, the guide star's flare, the sides' fills."""

from sidelight.pictures.axes import plain_number
from sidelight.pictures.lettering import fit, width_of, wrap
from sidelight.pictures.records import FieldView
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, Point, circle, group, number, path, rect


def star_radius(sheet: Sheet, mag: float) -> float:
    """Return the disc's radius for a magnitude; straight in magnitudes between 3 and 12."""
    size = 6.6 - 0.62 * (min(12.0, max(3.0, mag)) - 3.0)
    return max(0.7, size * (0.72 if sheet.narrow else 1.0))


def side_paint(sheet: Sheet, side: str) -> str:
    """Return the fill that stands for a side, the same as on the dial."""
    return sheet.hatch("east") if side == "east" else sheet.colours.lit_west


def flare(sheet: Sheet, at: Point, radius: float, angle_deg: float) -> Element:
    """Draw a ring about a star, and the drop-shaped flare that marks a light, towards an angle."""
    x, y = at
    k = 0.75 if sheet.narrow else 1.0
    near, far, half = y - radius - 5 * k, y - radius - 27 * k, 5.5 * k
    drop = (
        f"M{number(x)} {number(near)}C{number(x - half * 0.4)} {number(near - 9 * k)} {number(x - half)} "
        f"{number(far + 9 * k)} {number(x - half)} {number(far + 5 * k)}A{number(half)} {number(half)} 0 0 1 "
        f"{number(x + half)} {number(far + 5 * k)}C{number(x + half)} {number(far + 9 * k)} "
        f"{number(x + half * 0.4)} {number(near - 9 * k)} {number(x)} {number(near)}Z"
    )
    colours = sheet.colours
    return group(
        circle(at, radius + 3.5 * k, fill="none", stroke=colours.overlay, stroke_width=1.6),
        path(
            drop,
            fill=colours.overlay,
            stroke=colours.tints[0],
            stroke_width=0.8,
            transform=f"rotate({-angle_deg % 360:.2f} {x:.2f} {y:.2f})",
        ),
    )


def draw_key(sheet: Sheet, view: FieldView, at: Point) -> tuple[Element, float]:
    """Return the key and the height of its lower end."""
    left, y = at
    room = sheet.across - sheet.margin - left
    written: list[Element | None] = []

    def put(sample: Element | None, words: str, *, strong: bool = False) -> None:
        nonlocal y
        ink = sheet.colours.ink if strong else sheet.colours.soft_ink
        if sample is not None:
            written.append(group(sample, transform=f"translate({left:.2f} {y - 5:.2f})"))
        for text in wrap(words, room - 40, sheet.small_size, most_lines=3):
            written.append(sheet.write((left + 40, y), text, ink=ink, bold=strong))
            y += sheet.small_size * 1.3
        y += sheet.small_size * 0.35

    wide, high = (plain_number(round(side, 1)) for side in (view.frame_width_arcmin, view.frame_height_arcmin))
    put(_frame_sample(sheet), f"Camera, up at {view.camera_angle_deg % 360:.1f}°", strong=True)
    put(None, f"{wide}′ × {high}′")
    for footprint in view.footprints:
        letter = {"west": "W: guider", "east": "E: guider", "any": "Guider"}[footprint.side]
        where = "on either side" if footprint.side == "any" else f"when the target is {footprint.side}"
        put(_sensor_sample(sheet, footprint.side), f"{letter} at {footprint.angle_deg % 360:.1f}°", strong=True)
        put(None, where)
        stars = [star for star in view.guide_stars if star.side == footprint.side]
        for star in stars:
            sign = flare(sheet, (6.0, 3.0), star_radius(sheet, star.mag), 290)
            put(sign, f"{star.name} {star.mag:.1f} mag".strip())
        if not stars:
            put(None, "no guide star chosen")
        y += sheet.small_size * 0.3
    if any(o.semi_major_arcmin > 0 and o.position_angle_deg is None for o in view.outlines):
        put(_circle_sample(sheet), "broken circle: direction not known")
    written.append(_magnitudes(sheet, view, (left, y + 8), room))
    return group(*written, id=sheet.id("key")), y + 8 + sheet.small_size * 2.6


def _frame_sample(sheet: Sheet) -> Element:
    ink = sheet.colours.ink
    return group(rect(1, -7, 26, 17, fill="none", stroke=ink, stroke_width=2), path("M10 -7L14 -12L18 -7Z", fill=ink))


def _sensor_sample(sheet: Sheet, side: str) -> Element:
    return rect(
        3,
        -7,
        22,
        14,
        fill=side_paint(sheet, side),
        fill_opacity=0.45,
        stroke=sheet.colours.ink,
        stroke_width=1.8,
        stroke_dasharray="6 4" if side == "east" else None,
    )


def _circle_sample(sheet: Sheet) -> Element:
    colours = sheet.colours
    return circle((14, 0), 9, fill=colours.land, stroke=colours.land_ink, stroke_width=1.2, stroke_dasharray="6 4")


def _magnitudes(sheet: Sheet, view: FieldView, at: Point, room: float) -> Element | None:
    """Draw a row of discs with their magnitudes, whole numbers over the range that the field holds."""
    if not view.stars:
        return sheet.write(at, fit("no catalogue star in this field", room, sheet.small_size))
    low, high = (round(pick(star.mag for star in view.stars)) for pick in (min, max))
    step = max(1, -(-(high - low) // 5))
    left, y = at
    drawn: list[Element | None] = [sheet.write((left, y + 4), "mag", ink=sheet.colours.soft_ink)]
    x = left + width_of("mag ", sheet.small_size) + 12
    for mag in range(low, high + 1, step):
        drawn.append(circle((x, y), star_radius(sheet, mag), fill=sheet.colours.ink))
        drawn.append(
            sheet.write((x, y + sheet.small_size * 1.7), str(mag), anchor="middle", ink=sheet.colours.soft_ink)
        )
        x += 28 if sheet.narrow else 36
    return group(*drawn)
