"""The guide sensor as a small picture: where the guide star sits before and after the flip."""

from sidelight.pictures.axes import plain_number
from sidelight.pictures.lettering import Box, fit, text_box, wrap
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import GuideSensorView, SensorPlace, Width
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Anchor, Element, Point, circle, group, line, rect, tip


def draw_guide_sensor(
    view: GuideSensorView,
    *,
    theme: Theme = "day",
    width: Width = "wide",
    prefix: str = "sensor",
    low: bool = False,
) -> str:
    """Return the guide sensor as SVG text: stars as numbered signs, pixels counted from the centre.

    low : in the narrow width, put the key beside the sensor, so that the picture takes little height on a card.
    """
    sheet = Sheet(theme, width, prefix)
    beside = low or not sheet.narrow
    room = 560.0 if not sheet.narrow else (206.0 if low else sheet.across - 2 * sheet.margin)
    scale = min(room / max(1, view.width_px), (0.8 * room) / max(1, view.height_px))
    wide, high = view.width_px * scale, view.height_px * scale
    left, top = sheet.margin, sheet.below_heading + 4
    centre = (left + wide / 2, top + high / 2)
    if beside:
        aside = 14 if sheet.narrow else 36
        key, bottom = _key(sheet, view, (left + max(wide, room * 0.53) + aside, top + (12 if sheet.narrow else 18)))
    else:
        key, bottom = _key(sheet, view, (left, top + high + 28))
    return sheet.finish(
        _plate(sheet, view, Box(left, top, left + wide, top + high), scale),
        _stars(sheet, view, centre, scale, Box(left, top, left + wide, top + high)),
        key,
        height=max(top + high, bottom) + sheet.margin,
        title=view.title,
        desc=describe_guide_sensor(view),
    )


def describe_guide_sensor(view: GuideSensorView) -> str:
    """Return the picture's content in words."""
    places = " ".join(f"{place.label}: {_pixels(place)}." for place in view.places)
    return f"Guide sensor of {view.width_px} by {view.height_px} pixels. {places or 'No star.'}"


def _pixels(place: SensorPlace) -> str:
    """Return how far a star is from the centre, in words."""
    x, y = round(place.x_px), round(place.y_px)
    across = f"{abs(x)} px {'right' if x > 0 else 'left'}" if x else "0 px across"
    up = f"{abs(y)} px {'up' if y > 0 else 'down'}" if y else "0 px up"
    return f"{across}, {up} of centre"


def _plate(sheet: Sheet, view: GuideSensorView, box: Box, scale: float) -> Element:
    """Draw the sensor, what of it is usable, and the lines through its centre."""
    colours = sheet.colours
    x, y = (box.left + box.right) / 2, (box.top + box.bottom) / 2
    wide = (view.usable_width_px if view.usable_width_px is not None else view.width_px) * scale
    high = (view.usable_height_px if view.usable_height_px is not None else view.height_px) * scale
    whole = (box.left, box.top, box.right - box.left, box.bottom - box.top)
    return group(
        rect(*whole, fill=sheet.hatch("land")),
        rect(x - wide / 2, y - high / 2, wide, high, fill=colours.tints[0], stroke=colours.soft_ink),
        line((x, box.top), (x, box.bottom), stroke=colours.hairline, stroke_width=1),
        line((box.left, y), (box.right, y), stroke=colours.hairline, stroke_width=1),
        rect(*whole, fill="none", stroke=colours.ink, stroke_width=2),
    )


def _sign(sheet: Sheet, index: int, at: Point) -> Element:
    """Draw a star's sign: a full disc for the first place, an open one for the second, a square for others."""
    size = 5.5 if sheet.narrow else 7.0
    fill = sheet.colours.overlay if index == 0 else sheet.colours.paper
    line_of = {"fill": fill, "stroke": sheet.colours.overlay, "stroke_width": "2"}
    if index > 1:
        return rect(at[0] - size, at[1] - size, 2 * size, 2 * size, **line_of)
    return circle(at, size, **line_of)


def _stars(sheet: Sheet, view: GuideSensorView, centre: Point, scale: float, frame: Box) -> Element:
    """Draw the star's places with their labels."""
    drawn: list[Element | None] = []
    spots = [(centre[0] + place.x_px * scale, centre[1] - place.y_px * scale) for place in view.places]
    taken = [Box(x - 8, y - 8, x + 8, y + 8) for x, y in spots]
    for index, ((x, y), place) in enumerate(zip(spots, view.places, strict=True)):
        drawn.append(group(tip(f"{place.label}: {_pixels(place)}"), _sign(sheet, index, (x, y))))
        label = fit(place.label, 150, sheet.small_size)
        candidates: list[tuple[Point, Anchor]] = [
            ((x + 13, y + 5), "start"),
            ((x - 13, y + 5), "end"),
            ((x, y - 14), "middle"),
            ((x, y + 24), "middle"),
        ]
        for at, anchor in candidates:
            box = text_box(at, label, sheet.small_size, anchor)
            if box.inside(frame) and not any(box.meets(other) for other in taken):
                taken.append(box)
                drawn.append(sheet.write(at, label, anchor=anchor, bold=True, halo=sheet.colours.tints[0]))
                break
    return group(*drawn, id=sheet.id("stars"))


def _key(sheet: Sheet, view: GuideSensorView, at: Point) -> tuple[Element, float]:
    """Write each place in pixels from the centre; return the key and its lower end."""
    left, y = at
    room = sheet.across - sheet.margin - left
    drawn: list[Element | None] = []
    for index, place in enumerate(view.places):
        drawn.append(_sign(sheet, index, (left + 8, y - 5)))
        label = fit(place.label, (room - 26) / 1.08, sheet.body_size)
        drawn.append(sheet.write((left + 26, y), label, size=sheet.body_size, bold=True))
        for words in filter(None, (_pixels(place), place.note)):
            for text in wrap(words, room - 26, sheet.small_size):
                y += sheet.small_size * 1.4
                drawn.append(sheet.write((left + 26, y), text))
        y += sheet.small_size * 2.1
    if not view.places:
        drawn.append(sheet.write((left, y), "no guide star"))
        y += sheet.small_size * 1.6
    size = f"{plain_number(view.width_px)} × {plain_number(view.height_px)} px"
    drawn.append(sheet.write((left, y), size, ink=sheet.colours.soft_ink))
    if view.usable_width_px is not None or view.usable_height_px is not None:
        y += sheet.small_size * 1.5
        drawn.append(rect(left, y - 11, 20, 12, fill=sheet.hatch("land"), stroke=sheet.colours.soft_ink))
        drawn.append(sheet.write((left + 26, y), "not to be used", ink=sheet.colours.soft_ink))
    return group(*drawn, id=sheet.id("key")), y + 6
