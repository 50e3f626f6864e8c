"""Draw docs/pictures/ring-*.svg and stem-*.svg for docs/angles.md, from the demo's own solution, and what 1 mm does.

python builders/build_dial_drawings.py
"""

import re
import sys
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from builders.build_angle_drawings import notes, turn_arc, turned  # noqa: E402 - builders are no package of their own

from sidelight.desk.demo import DATE, make_demo  # noqa: E402
from sidelight.desk.kept import setup_in_use  # noqa: E402
from sidelight.desk.open import open_notebook  # noqa: E402
from sidelight.desk.setup import SetupReport  # noqa: E402
from sidelight.ground.angles import turn_deg  # noqa: E402
from sidelight.notebook.read import Notebook  # noqa: E402
from sidelight.pictures.sheet import Sheet  # noqa: E402
from sidelight.pictures.svg import (  # noqa: E402
    Element,
    Point,
    arc_data,
    circle,
    group,
    line,
    path,
    polyline_data,
    rect,
    sky_point,
)
from sidelight.rig.optics import plane_mm, rho_q  # noqa: E402
from sidelight.stars.catalogue import embedded  # noqa: E402

PAGE = ROOT / "docs" / "angles.md"
FOLDER = ROOT / "docs" / "pictures"
SHOWN = "NGC 2903"
PX_PER_MM = 8.4
ERRORS_MM = (0.2, 0.5, 1.0)


@dataclass(frozen=True)
class Demo:
    """The demo's notebook and its set-up."""

    book: Notebook
    setup: SetupReport

    @property
    def angle_deg(self) -> float:
        """The guider angle of the set-up."""
        return float(self.setup.guider_angle_deg or 0.0)


def the_demo() -> Demo:
    """Make the demo and solve it."""
    with tempfile.TemporaryDirectory() as scratch:
        make_demo(Path(scratch, "demo"))
        book = open_notebook(Path(scratch, "demo"))
        return Demo(book, setup_in_use(book, DATE))


def lit_spans(demo: Demo, target: str, side: str) -> list[tuple[float, float]]:
    """Return the lit parts of a ring in degrees, joined where stars overlap, the first number from 0 to 360."""
    ring = next(one for one in demo.setup.rings if (one.target, one.side) == (target, side))
    joined: list[tuple[float, float]] = []
    for start, end in sorted((arc.from_deg % 360, arc.from_deg % 360 + (arc.to_deg - arc.from_deg) % 360)
                             for arc in ring.arcs):  # fmt: skip
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    if len(joined) > 1 and joined[0][0] <= joined[-1][1] - 360:
        joined[-1] = (joined[-1][0], max(joined[-1][1], joined.pop(0)[1] + 360))
    return joined


def draw_field(demo: Demo) -> str:
    """Draw one field with its stars, the guide sensor's way round it, and the same way unrolled."""
    sheet, centre = Sheet("day", "wide", "ring-one"), (270.0, 300.0)
    spans = lit_spans(demo, SHOWN, "west")
    colours = sheet.colours
    radius = _stem_mm(demo) * PX_PER_MM
    around = [
        path(arc_data(centre, radius, *span), fill="none", stroke=colours.lit_west, stroke_width=13) for span in spans
    ]
    return sheet.finish(
        circle(centre, 26 * PX_PER_MM, fill=colours.tints[0], stroke=colours.hairline, stroke_width=1.2),
        circle(centre, radius, fill="none", stroke=colours.tints[1], stroke_width=13),
        *around,
        _camera(sheet, centre, demo),
        *_stars(sheet, centre, demo),
        _sensor(sheet, centre, demo),
        turn_arc(sheet, centre, 104, (0, demo.angle_deg), "g"),
        line(centre, (centre[0], centre[1] - 26 * PX_PER_MM), stroke=colours.soft_ink, stroke_width=1.2),
        _letter(sheet, sky_point(centre, 26 * PX_PER_MM + 16, 0), "N"),
        _letter(sheet, sky_point(centre, 26 * PX_PER_MM + 16, 90), "E"),
        notes(sheet, (560, 130), [
            f"{SHOWN}, target in the west:",
            "its real stars to 12 mag, north up.",
            "",
            "The guide sensor's way:",
            "as the guider angle g turns, the sensor",
            "travels round on the pale circle.",
            "",
            "Lit, in yellow:",
            "angles at which a star falls on it.",
            f"Here g is {demo.angle_deg:.1f}°, and there is one.",
            "",
            "Below, the same circle unrolled.",
        ]),
        *_strip(sheet, (70.0, 590.0, 820.0), spans, "west"),
        *_ticks(sheet, (70.0, 636.0, 820.0), (0, 361, 30)),
        _needle(sheet, 70.0 + 820.0 * demo.angle_deg / 360, 578.0, 616.0),
        height=672,
        title="One star field, one ring",
        desc=f"The field of {SHOWN} with its stars; on the circle that the guide sensor travels, the parts where a "
        f"star falls on it are yellow, and below the circle is unrolled into a strip from 0° to 360°.",
    )  # fmt: skip


def _letter(sheet: Sheet, at: Point, letter: str) -> Element:
    """Write a letter of the compass."""
    return sheet.write((at[0], at[1] + 6), letter, size=sheet.body_size, anchor="middle", serif=True, bold=True)


def _stem_mm(demo: Demo) -> float:
    """Return the demo's stem radius."""
    assert demo.book.rig.guider is not None
    return demo.book.rig.guider.stem_radius_mm


def _stars(sheet: Sheet, centre: Point, demo: Demo) -> list[Element]:
    """Draw the field's stars at their places in the focal plane, brighter ones larger."""
    target = next(one for one in demo.book.targets if one.key == SHOWN)
    near = embedded().cone(target.ra_deg, target.dec_deg, 1.0, 12.0)
    across, up = plane_mm(near.ra_deg, near.dec_deg, target.ra_deg, target.dec_deg, 1624.0)
    far, turn = rho_q(across, up)
    return [
        circle(sky_point(centre, rho * PX_PER_MM, q), 1.1 + 0.75 * (12.2 - mag), fill=sheet.colours.ink)
        for rho, q, mag in zip(far.tolist(), turn.tolist(), near.mag.tolist(), strict=True)
        if rho < 25.2
    ]


def _camera(sheet: Sheet, centre: Point, demo: Demo) -> Element:
    """Draw the camera's frame."""
    camera, (x, y) = demo.book.rig.camera, centre
    wide, high = camera.width_mm * PX_PER_MM, camera.height_mm * PX_PER_MM
    return rect(x - wide / 2, y - high / 2, wide, high, fill="none", stroke=sheet.colours.soft_ink, stroke_width=1.4,
                transform=turned(centre, float(demo.setup.camera_angle_deg or 0.0)))  # fmt: skip


def _sensor(sheet: Sheet, centre: Point, demo: Demo) -> Element:
    """Draw the guide sensor at the set-up's angle, its width across the stem, and the way out to it."""
    assert demo.book.rig.guider is not None
    sensor, (x, y) = demo.book.rig.guider.sensor, centre
    wide, high, out = sensor.width_mm * PX_PER_MM, sensor.height_mm * PX_PER_MM, _stem_mm(demo) * PX_PER_MM
    ink = sheet.colours.overlay
    return group(
        line((x, y), (x, y - out + high / 2), stroke=ink, stroke_width=1.6, stroke_dasharray="5 4"),
        rect(x - wide / 2, y - out - high / 2, wide, high, fill="none", stroke=ink, stroke_width=2.4),
        transform=turned(centre, demo.angle_deg),
    )


def _strip(
    sheet: Sheet, place: tuple[float, float, float], spans: list[tuple[float, float]], side: str,
    window: tuple[float, float] = (0.0, 360.0), high: float = 24.0,
) -> list[Element]:  # fmt: skip
    """Draw a ring unrolled between two angles: place is its left, top and width."""
    left, top, wide = place
    scale = wide / (window[1] - window[0])
    fill = sheet.colours.lit_west if side == "west" else sheet.hatch("east")
    parts = [rect(left, top, wide, high, fill=sheet.colours.tints[1])]
    for start, end in spans:
        for shift in (-360.0, 0.0):
            low, top_end = max(start + shift, window[0]), min(end + shift, window[1])
            if top_end > low:
                parts.append(rect(left + (low - window[0]) * scale, top, (top_end - low) * scale, high, fill=fill,
                                  stroke=sheet.colours.lit_edge, stroke_width=1))  # fmt: skip
    return parts


def _ticks(
    sheet: Sheet, place: tuple[float, float, float], steps: tuple[int, int, int],
    window: tuple[float, float] = (0.0, 360.0),
) -> list[Element]:  # fmt: skip
    """Write angles under a strip."""
    left, y, wide = place
    scale = wide / (window[1] - window[0])
    return [
        sheet.write((left + (angle - window[0]) * scale, y), f"{angle}°", anchor="middle", ink=sheet.colours.soft_ink)
        for angle in range(*steps)
    ]


def _needle(sheet: Sheet, x: float, top: float, foot: float) -> Element:
    """Draw the needle, upright."""
    head = polyline_data([(x - 6, top - 11), (x, top), (x + 6, top - 11)], closed=True)
    ink = sheet.colours.overlay
    return group(line((x, top), (x, foot), stroke=ink, stroke_width=2.2), path(head, fill=ink))


def draw_rings(demo: Demo) -> str:
    """Draw all rings unrolled under one another, the needle through them, and its neighbourhood enlarged."""
    sheet, best = Sheet("day", "wide", "ring-all"), demo.angle_deg
    full, near = (0.0, 360.0), (best - 9.0, best + 9.0)
    left, wide, zoom, narrow = 160.0, 440.0, 650.0, 280.0
    parts: list[Element] = []
    ends: list[tuple[float, float]] = []
    for row, ring in enumerate(demo.setup.rings):
        top = 112.0 + 34 * row + 12 * (row // 2)
        spans = lit_spans(demo, ring.target, ring.side)
        ends += [(turn_deg(best, edge), top + 12) for span in spans for edge in span]
        parts += [
            sheet.write((20, top + 17), ring.target, bold=True) if row % 2 == 0 else group(),
            sheet.write((150, top + 17), ring.side, anchor="end", ink=sheet.colours.soft_ink),
            *_strip(sheet, (left, top, wide), spans, ring.side, full),
            *_strip(sheet, (zoom, top, narrow), spans, ring.side, near),
        ]
    foot, middle, scale = 112.0 + 34 * 10 + 12 * 4, zoom + narrow / 2, narrow / 18.0
    slack = min(abs(turn) for turn, _ in ends)
    nearest = [(middle + turn * scale, y) for turn, y in ends if abs(turn) < slack + 0.05]
    return sheet.finish(
        rect(middle - slack * scale, 100, 2 * slack * scale, foot - 96, fill=sheet.colours.beam),
        *parts,
        _slack(sheet, nearest, (middle + slack * scale, slack)),
        _needle(sheet, left + wide * best / 360, 98, foot),
        _needle(sheet, middle, 98, foot),
        *_ticks(sheet, (left, foot + 22, wide), (0, 361, 60)),
        *_ticks(sheet, (zoom, foot + 22, narrow), (round(near[0]) + 1, round(near[1]), 4), near),
        sheet.write((left, 78), "all angles", bold=True),
        sheet.write((zoom, 78), "enlarged", bold=True),
        height=foot + 44,
        title="Five targets, ten rings, one needle",
        desc="The rings of five targets, east and west of the meridian, unrolled under one another; a needle at "
        f"{best:.1f}° stands where all ten are lit. Enlarged beside it: the nearest end of a lit part is "
        f"{slack:.1f}° away: that is the slack.",
    )


def _slack(sheet: Sheet, ends: list[Point], word: tuple[float, float]) -> Element:
    """Mark the ends that are nearest to the needle; the slack is written from there on."""
    ink = sheet.colours.overlay
    name = sheet.write((word[0] + 8, 92), f"slack {word[1]:.1f}°", ink=ink, bold=True)
    return group(*(circle(end, 5, fill=ink) for end in ends), name)


def draw_stem(demo: Demo) -> str:
    """Draw what is to be measured on an off-axis guider: seen along the light, and from the side."""
    sheet, centre = Sheet("day", "wide", "stem-measures"), (250.0, 370.0)
    guider = demo.book.rig.guider
    assert guider is not None
    colours, (x, y) = sheet.colours, centre
    scale, hole = 9.5, 21.0 * 9.5
    stem, along, across = guider.stem_radius_mm, guider.prism_along_mm, guider.prism_across_mm
    prism_y, tall, wide = y - stem * scale, along * scale, across * scale
    metal = {"fill": colours.tints[2], "stroke": colours.ink, "stroke_width": 1.8}
    return sheet.finish(
        rect(x - wide / 2 - 8, 74, wide + 16, y - hole - 60, **metal),
        circle(centre, hole + 26, **metal),
        circle(centre, hole, fill=colours.paper, stroke=colours.ink, stroke_width=1.8),
        rect(x - wide / 2, prism_y - tall / 2, wide, tall, fill=sheet.hatch("east"), stroke=colours.ink),
        circle(centre, 4, fill=colours.overlay),
        _measure(sheet, centre, (x, prism_y), "stem radius", 14.0),
        _measure(
            sheet, (x - wide / 2, prism_y + tall / 2 + 16), (x + wide / 2, prism_y + tall / 2 + 16), "across", 0
        ),
        _measure(
            sheet, (x + wide / 2 + 18, prism_y - tall / 2), (x + wide / 2 + 18, prism_y + tall / 2), "along", 12
        ),
        sheet.write((x, y + 28), "middle of the opening", anchor="middle"),
        sheet.write((x, y + hole + 58), "seen along the light", anchor="middle", bold=True),
        *_from_the_side(sheet, demo, (610.0, 370.0)),
        height=690,
        title="What to measure on the off-axis guider",
        desc="Seen along the light: a round opening with the prism reaching in from above; the stem radius goes "
        "from the middle of the opening to the middle of the prism, which has a side along the stem and one across. "
        "From the side: the prism distance goes from the middle of the prism to the camera's sensor.",
    )


def _from_the_side(sheet: Sheet, demo: Demo, at: Point) -> list[Element]:
    """Draw prism, guide camera and main camera cut open from the side, light coming from the left."""
    guider = demo.book.rig.guider
    assert guider is not None
    x, axis_y = at
    colours = sheet.colours
    prism_y, sensor_x = axis_y - guider.stem_radius_mm * 9.5 + 60, x + 210
    half = guider.prism_along_mm * 4.0
    metal = {"fill": colours.tints[2], "stroke": colours.ink, "stroke_width": 1.8}
    light = {"stroke": colours.lit_edge, "stroke_width": 1.6, "stroke_dasharray": "7 4"}
    corner = [(x - half, prism_y + half), (x + half, prism_y - half), (x - half, prism_y - half)]
    return [
        rect(x - 34, prism_y - 150, 68, 60, rx=4, **metal),
        sheet.write((x + 44, prism_y - 114), "guide camera"),
        sheet.write((x + half + 10, prism_y + 5), "prism"),
        rect(sensor_x, axis_y - 92, 84, 184, rx=6, **metal),
        sheet.write((sensor_x + 42, axis_y + 6), "camera", anchor="middle"),
        line((sensor_x, axis_y - 74), (sensor_x, axis_y + 74), stroke=colours.overlay, stroke_width=5),
        path(polyline_data(corner, closed=True), fill=colours.tints[1], stroke=colours.ink, stroke_width=1.6),
        line((x - 90, axis_y), (sensor_x, axis_y), **light),
        line((x - 90, prism_y), (x, prism_y), **light),
        line((x, prism_y), (x, prism_y - 90), **light),
        sheet.write((x - 90, axis_y + 22), "light", ink=colours.soft_ink),
        line((x, prism_y + half), (x, axis_y + 140), stroke=colours.hairline, stroke_width=1.2),
        line((sensor_x, axis_y + 92), (sensor_x, axis_y + 140), stroke=colours.hairline, stroke_width=1.2),
        _measure(sheet, (x, axis_y + 126), (sensor_x, axis_y + 126), "prism distance", 0),
        sheet.write((x + 90, axis_y + 258), "seen from the side", anchor="middle", bold=True),
    ]


def _measure(sheet: Sheet, start: Point, end: Point, words: str, right: float) -> Element:
    """Draw a measure with a head at each end; its name stands to the right by so much, or below its middle."""
    ink = sheet.colours.overlay
    middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    upright = abs(end[0] - start[0]) < 1
    ticks = [line(_by(one, -6, upright), _by(one, 6, upright), stroke=ink, stroke_width=1.8) for one in (start, end)]
    place = (middle[0] + right, middle[1] + 5) if upright else (middle[0], middle[1] + 20)
    name = sheet.write(place, words, ink=ink, bold=True, anchor="start" if upright else "middle",
                       halo=sheet.colours.paper)  # fmt: skip
    return group(line(start, end, stroke=ink, stroke_width=1.8), *ticks, name)


def _by(point: Point, shift: float, sideways: bool) -> Point:
    """Return a point moved sideways or upright."""
    return (point[0] + shift, point[1]) if sideways else (point[0], point[1] + shift)


def drawings(demo: Demo) -> dict[str, str]:
    """Return every drawing by its file's name."""
    return {"ring-one.svg": draw_field(demo), "ring-all.svg": draw_rings(demo), "stem-measures.svg": draw_stem(demo)}


def still_lit(demo: Demo, error_mm: float) -> int:
    """Return how many rings stay lit at the demo's angle when the true stem radius differs from the notebook's."""
    guider = demo.book.rig.guider
    assert guider is not None
    longer = replace(guider, stem_radius_mm=guider.stem_radius_mm + error_mm)
    other = Demo(replace(demo.book, rig=replace(demo.book.rig, guider=longer)), demo.setup)
    true = replace(other, setup=setup_in_use(other.book, DATE))
    spans = (lit_spans(true, ring.target, ring.side) for ring in true.setup.rings)
    return sum(any((demo.angle_deg - start) % 360 <= end - start for start, end in of_ring) for of_ring in spans)


def table_of_errors(demo: Demo) -> str:
    """Return what a wrong stem radius does to the demo, computed."""
    guider = demo.book.rig.guider
    assert guider is not None
    pixel_mm = guider.sensor.pixel_um / 1000.0
    rows = [
        f"| {size:g} mm | {size / pixel_mm:.0f} px of {guider.sensor.height_px} | {still_lit(demo, size)} "
        f"| {still_lit(demo, -size)} |"
        for size in ERRORS_MM
    ]
    head = "| error | a guide star stands off by | rings left of 10, if too short | if too long |"
    return "\n".join([head, "| --: | --: | --: | --: |", *rows])


def page(demo: Demo) -> str:
    """Return docs/angles.md with the table in its place."""
    text = PAGE.read_text(encoding="utf-8")
    block = f"<!-- stem errors -->\n\n{table_of_errors(demo)}\n\n<!-- end of stem errors -->"
    return re.sub(r"<!-- stem errors -->.*?<!-- end of stem errors -->", lambda _: block, text, flags=re.DOTALL)


def main() -> None:
    """Write the drawings and the table."""
    demo = the_demo()
    for name, svg in drawings(demo).items():
        (FOLDER / name).write_text(svg, encoding="utf-8", newline="\n")
    PAGE.write_text(page(demo), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
