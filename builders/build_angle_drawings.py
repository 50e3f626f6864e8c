"""Draw docs/pictures/angles-*.svg and write the worked example of docs/angles.md, every figure from the code.

python builders/build_angle_drawings.py
"""

import re
from pathlib import Path

from sidelight.ground.angles import wrap_360
from sidelight.pictures.back import draw_back
from sidelight.pictures.records import BackView
from sidelight.pictures.records import Reading as ShownReading
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, Point, arc_data, circle, group, line, path, polyline_data, rect, sky_point
from sidelight.rig.bench import (
    bench_of_sky_deg,
    camera_bench_deg,
    camera_width_bench_deg,
    clock_position,
    gauge_reading,
    sky_of_bench_deg,
    stem_bench_deg,
)
from sidelight.rig.records import Mount, OffAxisGuider, Rig, Sensor, Telescope

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "angles.md"
FOLDER = ROOT / "docs" / "pictures"
CAMERA_DEG, GUIDER_DEG = 25.0, 70.0
"""The worked example: camera angle p and guider angle g."""
OFFSET_DEG = GUIDER_DEG - CAMERA_DEG


def the_rig(mirrors: int = 2, kind: str = "german") -> Rig:
    """Return an invented rig; only its mount and mirrors matter here."""
    guider = OffAxisGuider(20.0, Sensor(1936, 1216, 2.9))
    mount = Mount("fork") if kind == "fork" else Mount("german")
    return Rig(Telescope(200.0, 1600.0, mirrors=mirrors), Sensor(6248, 4176, 3.76), guider, mount=mount)


RIG = the_rig()
STEM_DEG = float(stem_bench_deg(GUIDER_DEG, RIG))
TOP_DEG = float(camera_bench_deg(CAMERA_DEG, RIG))
WIDTH_DEG = float(camera_width_bench_deg(CAMERA_DEG, RIG))


def turned(centre: Point, angle_deg: float) -> str:
    """Return the transform that turns what is drawn upright counter-clockwise about a centre."""
    return f"rotate({-angle_deg:.2f} {centre[0]:.2f} {centre[1]:.2f})"


def compass(sheet: Sheet, centre: Point, radius: float, north_deg: float = 0.0) -> Element:
    """Draw a circle of sky with its four letters; north at an angle from up, east 90° counter-clockwise of it."""
    parts: list[Element | None] = [
        circle(centre, radius, fill=sheet.colours.tints[0], stroke=sheet.colours.hairline, stroke_width=1.2)
    ]
    for letter, turn in (("N", 0), ("E", 90), ("S", 180), ("W", 270)):
        x, y = sky_point(centre, radius + 17, turn + north_deg)
        parts.append(sheet.write((x, y + 6), letter, size=sheet.body_size, anchor="middle", serif=True, bold=True))
    return group(*parts)


def frame(sheet: Sheet, centre: Point, wide: float, turn_deg: float, reach: float = 0.0) -> Element:
    """Draw the camera's frame with an arrow at its own up; a thin line lengthens it to where an angle is measured."""
    x, y = centre
    high = wide * 4176 / 6248
    top = y - high / 2
    head = polyline_data([(x - 7, top - 10), (x, top - 24), (x + 7, top - 10)], closed=True)
    return group(
        rect(x - wide / 2, top, wide, high, fill=sheet.colours.paper, stroke=sheet.colours.ink, stroke_width=2),
        line((x, y), (x, top - 12), stroke=sheet.colours.ink, stroke_width=1.6),
        path(head, fill=sheet.colours.ink),
        line((x, top - 24), (x, y - reach), stroke=sheet.colours.ink, stroke_width=1.2) if reach else None,
        transform=turned(centre, turn_deg),
    )


def foot(sheet: Sheet, centre: Point, radius: float, turn_deg: float, *, east: bool = False) -> Element:
    """Draw the guide sensor's footprint at an angle from the centre, and the radius to it."""
    x, y = centre
    fill = sheet.colours.lit_east if east else sheet.colours.lit_west
    return group(
        line((x, y), (x, y - radius + 13), stroke=sheet.colours.overlay, stroke_width=1.4, stroke_dasharray="5 4"),
        rect(x - 21, y - radius - 13, 42, 26, fill=fill, stroke=sheet.colours.lit_edge, stroke_width=1.6),
        transform=turned(centre, turn_deg),
    )


def star(sheet: Sheet, at: Point, name: str = "") -> Element:
    """Draw a guide star, its name below."""
    low = (at[0], at[1] + 36)
    words = sheet.write(low, name, anchor="middle", halo=sheet.colours.tints[0]) if name else None
    return group(circle(at, 4.5, fill=sheet.colours.ink, stroke=sheet.colours.paper, stroke_width=1), words)


def turn_arc(sheet: Sheet, centre: Point, radius: float, span: tuple[float, float], words: str) -> Element:
    """Draw an arc with an arrow's head from one angle to another, counter-clockwise, and its name in its middle."""
    start, end = span
    heel = end - 500.0 / radius
    head = [sky_point(centre, radius - 5, heel), sky_point(centre, radius, end), sky_point(centre, radius + 5, heel)]
    middle = sky_point(centre, radius, (start + end) / 2)
    ink, paper = sheet.colours.overlay, sheet.colours.paper
    return group(
        path(arc_data(centre, radius, start, end), fill="none", stroke=ink, stroke_width=2),
        path(polyline_data(head, closed=True), fill=ink),
        sheet.write(
            (middle[0], middle[1] + 5), words, size=sheet.body_size, anchor="middle", bold=True, ink=ink, halo=paper
        ),
    )


def notes(sheet: Sheet, at: Point, lines: list[str]) -> Element:
    """Set lines of words; a line that ends in a colon is a heading."""
    return group(
        *[
            sheet.write((at[0], at[1] + 27 * n), words, size=sheet.body_size, bold=words.endswith(":"))
            for n, words in enumerate(lines)
        ]
    )


def draw_sky() -> str:
    """Draw camera angle, guider angle and stem offset on the sky."""
    sheet, centre = Sheet("day", "wide", "angles-sky"), (290.0, 310.0)
    return sheet.finish(
        compass(sheet, centre, 205),
        line(centre, (centre[0], centre[1] - 205), stroke=sheet.colours.soft_ink, stroke_width=1.2),
        frame(sheet, centre, 170, CAMERA_DEG, reach=140),
        line(
            sky_point(centre, 173, GUIDER_DEG),
            sky_point(centre, 200, GUIDER_DEG),
            stroke=sheet.colours.overlay,
            stroke_width=1.4,
            stroke_dasharray="5 4",
        ),
        foot(sheet, centre, 160, GUIDER_DEG),
        star(sheet, sky_point(centre, 163, GUIDER_DEG + 2)),
        turn_arc(sheet, centre, 132, (0, CAMERA_DEG), "p"),
        turn_arc(sheet, centre, 190, (0, GUIDER_DEG), "g"),
        turn_arc(sheet, centre, 108, (CAMERA_DEG, GUIDER_DEG), "θ"),
        notes(
            sheet,
            (580, 130),
            [
                "As on the sky: north up, east to the left.",
                "",
                "Camera angle p:",
                f"{CAMERA_DEG:g}°, from north to the picture's up.",
                "",
                "Guider angle g:",
                f"{GUIDER_DEG:g}°, from north to the guide sensor,",
                "seen from the middle of the field.",
                "",
                "Stem offset θ = g − p:",
                f"{OFFSET_DEG:g}°, fixed by the clamp.",
            ],
        ),
        height=560,
        title="Three angles on the sky",
        desc=f"A camera frame whose up stands {CAMERA_DEG:g}° from north through east; a guide sensor "
        f"{GUIDER_DEG:g}° from north, seen from the field's centre; "
        f"the stem offset between the two is {OFFSET_DEG:g}°.",
    )


def draw_flip() -> str:
    """Draw the same field before and after the flip: the stars stay, everything on the telescope turns by 180°."""
    sheet = Sheet("day", "wide", "angles-flip")
    parts: list[Element | None] = []
    for centre, turn, words in (
        ((240.0, 300.0), 180.0, "target in the east"),
        ((720.0, 300.0), 0.0, "target in the west"),
    ):
        parts += [
            compass(sheet, centre, 180),
            frame(sheet, centre, 150, CAMERA_DEG + turn),
            foot(sheet, centre, 140, GUIDER_DEG + turn, east=turn > 0),
            star(sheet, sky_point(centre, 143, GUIDER_DEG + 2), "A"),
            star(sheet, sky_point(centre, 143, GUIDER_DEG + 178), "B"),
            sheet.write((centre[0], 550), words, size=sheet.body_size, anchor="middle", bold=True),
            sheet.write(
                (centre[0], 576),
                f"up {(CAMERA_DEG + turn) % 360:g}°, guide sensor {(GUIDER_DEG + turn) % 360:g}°",
                anchor="middle",
            ),
        ]
    return sheet.finish(
        *parts,
        height=600,
        title="Before and after the flip: another star",
        desc="The same field twice, north up. In the east the guide sensor lies on star B; after the flip, in the "
        "west, camera and guide sensor have turned by 180° against the stars, and it lies on star A.",
    )


def draw_through() -> str:
    """Draw the sky as it stands behind the tube, and why the stem sits opposite its star."""
    sheet, centre = Sheet("day", "wide", "angles-through"), (285.0, 335.0)
    north, catches = float(bench_of_sky_deg(0.0, RIG)), float(bench_of_sky_deg(GUIDER_DEG, RIG))
    there, here = sky_point(centre, 140, catches), sky_point(centre, 140, STEM_DEG)
    ink, colours = sheet.colours.overlay, sheet.colours
    x, y = here
    return sheet.finish(
        _tube(sheet, centre, 248),
        compass(sheet, centre, 190, north),
        line(there, here, stroke=ink, stroke_width=1.6, stroke_dasharray="5 4"),
        circle(centre, 4, fill=ink),
        star(sheet, there),
        sheet.write((there[0] + 12, there[1] + 5), "guide star", bold=True),
        rect(x - 13, y - 13, 26, 26, fill=sheet.hatch("east"), stroke=colours.ink, transform=turned(here, STEM_DEG)),
        sheet.write((x + 24, y + 6), "prism", bold=True, halo=colours.tints[0]),
        turn_arc(sheet, centre, 170, (0, STEM_DEG), f"{STEM_DEG:g}°"),
        line((centre[0], centre[1] - 182), (centre[0], centre[1] - 145), stroke=colours.ink, stroke_width=2),
        _side_view(sheet, (782.0, 500.0)),
        notes(
            sheet,
            (575, 92),
            [
                "Standing behind the telescope:",
                "German mount, target in the west.",
                "",
                "Up, from dovetail to tube:",
                f"east on the sky, at {float(sky_of_bench_deg(0.0, RIG)):g}° from north.",
                "",
                "The focal plane shows the sky",
                "turned by 180°, so the prism catches",
                "the star on the opposite side.",
                "",
                "Stem on the bench = g + 90°:",
                f"{GUIDER_DEG:g}° + 90° = {STEM_DEG:g}°.",
            ],
        ),
        height=680,
        title="Through the telescope",
        desc=f"The sky behind the telescope with east up and north to the right, inside the outline of the tube, its "
        f"dovetail below. The guide star stands at {catches:g}° counter-clockwise from up; the prism that catches it "
        f"stands opposite, at {STEM_DEG:g}°. Beside it, from the side: an eye behind a telescope on a German mount.",
    )


def _tube(sheet: Sheet, centre: Point, radius: float) -> Element:
    """Draw the tube from behind, the dovetail under it, and the way from one to the other, which is up."""
    x, y = centre
    colours = sheet.colours
    foot_y, left = y + radius, x - radius - 14
    head = polyline_data([(left - 6, y - radius + 14), (left, y - radius), (left + 6, y - radius + 14)], closed=True)
    rail = [(x - 62, foot_y + 34), (x - 44, foot_y - 4), (x + 44, foot_y - 4), (x + 62, foot_y + 34)]
    return group(
        path(polyline_data(rail, closed=True), fill=colours.tints[2], stroke=colours.ink, stroke_width=1.6),
        circle(centre, radius, fill=colours.paper, stroke=colours.ink, stroke_width=3),
        circle(centre, radius - 9, fill="none", stroke=colours.ink, stroke_width=1),
        sheet.write((x, foot_y + 26), "dovetail", anchor="middle", bold=True),
        line((left, foot_y + 34), (left, y - radius + 12), stroke=colours.ink, stroke_width=2),
        path(head, fill=colours.ink),
        sheet.write((left + 14, foot_y + 28), "up: dovetail to tube", bold=True),
    )


def _side_view(sheet: Sheet, at: Point) -> Element:
    """Draw a telescope on a German mount from the side, and an eye behind it."""
    x, y = at
    lean = -24.0
    plain = {"fill": sheet.colours.paper, "stroke": sheet.colours.ink, "stroke_width": 2}
    metal = {"fill": sheet.colours.tints[2], "stroke": sheet.colours.ink, "stroke_width": 1.6}
    rail = [(x - 62, y + 36), (x - 56, y + 24), (x + 56, y + 24), (x + 62, y + 36)]
    telescope = group(
        rect(x - 9, y + 36, 18, 50, **metal),
        rect(x - 4, y + 86, 8, 30, **metal),
        rect(x - 22, y + 106, 44, 26, rx=4, **metal),
        path(polyline_data(rail, closed=True), **metal),
        rect(x - 118, y - 24, 220, 48, **plain),
        rect(x + 102, y - 11, 22, 22, **plain),
        transform=turned(at, lean),
    )
    hub, eye = sky_point(at, 62, 180.0 + lean), sky_point(at, 158, 270.0 + lean)
    weight, tube = sky_point(at, 119, 180.0 + lean), sky_point(at, 0, 0)
    return group(
        rect(hub[0] - 11, hub[1], 22, 110, **metal),
        rect(hub[0] - 34, hub[1] + 106, 68, 10, **metal),
        circle(hub, 17, **metal),
        telescope,
        _eye(sheet, eye),
        sheet.write((eye[0] + 2, eye[1] + 34), "you", anchor="middle", bold=True),
        sheet.write((tube[0] - 8, tube[1] + 3), "tube", anchor="middle"),
        sheet.write((hub[0] + 20, hub[1] + 66), "pier"),
        sheet.write((weight[0] - 26, weight[1] + 6), "counterweight", anchor="end"),
    )


def _eye(sheet: Sheet, at: Point) -> Element:
    """Draw an eye that looks up along the tube."""
    x, y = at
    ink = sheet.colours.overlay
    return group(
        path(f"M{x - 20:g} {y:g}Q{x:g} {y - 20:g} {x + 20:g} {y:g}Q{x:g} {y + 20:g} {x - 20:g} {y:g}Z",
             fill=sheet.colours.paper, stroke=ink, stroke_width=2),
        circle((x - 3, y - 1), 6, fill=ink),
    )  # fmt: skip


def draw_bench() -> str:
    """Draw the back of the telescope with the example on the metal."""
    stem, camera = gauge_reading(STEM_DEG), gauge_reading(WIDTH_DEG)
    view = BackView(
        title="The same on the metal",
        camera_top_deg=TOP_DEG,
        stem_deg=STEM_DEG,
        camera_width_mm=RIG.camera.width_mm,
        camera_height_mm=RIG.camera.height_mm,
        camera_clock=clock_position(TOP_DEG),
        stem_clock=clock_position(STEM_DEG),
        camera_reading=ShownReading(camera.tilt_deg, camera.low_end),
        stem_reading=ShownReading(stem.tilt_deg, stem.low_end),
    )
    return draw_back(view, prefix="angles-bench")


def draw_gauge() -> str:
    """Draw three faces with the gauge on them: the stem, the camera's long side, a level one."""
    sheet = Sheet("day", "wide", "angles-gauge")
    faces = (("the stem", STEM_DEG), ("the camera's long side", WIDTH_DEG), ("a level face", 90.0))
    parts = [_face(sheet, (165.0 + 315 * n, 250.0), *face) for n, face in enumerate(faces)]
    return sheet.finish(
        *parts,
        height=500,
        title="What the angle gauge shows",
        desc="Three straight faces seen from behind with the tilt from level that the gauge shows and the low end: "
        + "; ".join(f"{name} at bench angle {angle:g}°, {_read(angle)}" for name, angle in faces)
        + ".",
    )


def _read(bench_deg: float) -> str:
    """Return a reading in words."""
    reading = gauge_reading(bench_deg)
    low = "level" if reading.low_end == "neither" else f"{reading.low_end} end low"
    return f"{reading.tilt_deg:g}°, {low}"


def _face(sheet: Sheet, centre: Point, name: str, bench_deg: float) -> Element:
    """Draw one face, the level through it, the tilt between them and the gauge's display."""
    x, y = centre
    colours = sheet.colours
    reading = gauge_reading(bench_deg)
    low_deg = 90.0 if reading.low_end == "left" else 270.0
    downhill = low_deg + (reading.tilt_deg if reading.low_end == "left" else -reading.tilt_deg)
    span = sorted((low_deg, downhill))
    arc = path(arc_data(centre, 84, *span), fill="none", stroke=colours.overlay, stroke_width=2)
    middle, end = sky_point(centre, 108, sum(span) / 2), sky_point(centre, 130, downhill)
    figure = sheet.write(
        (middle[0], middle[1] + 6), f"{reading.tilt_deg:g}°", anchor="middle", bold=True, ink=colours.overlay
    )
    low = sheet.write((end[0], end[1] + 5), "low", anchor="middle", italic=True, bold=True)
    return group(
        line((x - 125, y), (x + 125, y), stroke=colours.soft_ink, stroke_width=1, stroke_dasharray="6 4"),
        group(
            rect(x - 9, y - 115, 18, 230, fill=colours.tints[2], stroke=colours.ink, stroke_width=1.6),
            rect(x + 9, y - 30, 22, 60, fill=colours.paper, stroke=colours.ink, stroke_width=1.4, rx=3),
            transform=turned(centre, bench_deg),
        ),
        *([arc, figure, low] if reading.tilt_deg > 0 else []),
        sheet.write((x, y + 160), name, size=sheet.body_size, anchor="middle", bold=True),
        sheet.write((x, y + 184), f"bench angle {bench_deg:g}°", anchor="middle"),
        sheet.write((x, y + 208), f"gauge: {_read(bench_deg)}", anchor="middle", ink=colours.overlay, bold=True),
    )


def drawings() -> dict[str, str]:
    """Return every drawing by its file's name."""
    return {
        "angles-sky.svg": draw_sky(),
        "angles-flip.svg": draw_flip(),
        "angles-through.svg": draw_through(),
        "angles-bench.svg": draw_bench(),
        "angles-gauge.svg": draw_gauge(),
    }


def worked_example() -> str:
    """Return the table of the worked example, computed."""
    east = float(wrap_360(GUIDER_DEG + 180.0)), float(wrap_360(CAMERA_DEG + 180.0))
    stem, camera = gauge_reading(STEM_DEG), gauge_reading(WIDTH_DEG)
    odd, fork = the_rig(mirrors=1), the_rig(kind="fork")
    rows = [
        ("on the sky, target in the west", f"{CAMERA_DEG:g}°", f"{GUIDER_DEG:g}°"),
        ("on the sky, target in the east", f"{east[1]:g}°", f"{east[0]:g}°"),
        ("bench angle (the camera's top; the stem)", f"{TOP_DEG:g}°", f"{STEM_DEG:g}°"),
        ("as the hand of a clock", clock_position(TOP_DEG), clock_position(STEM_DEG)),
        ("face for the gauge", f"long side, {WIDTH_DEG:g}°", f"along the stem, {STEM_DEG:g}°"),
        ("gauge", f"{camera.tilt_deg:g}°, {camera.low_end} end low", f"{stem.tilt_deg:g}°, {stem.low_end} end low"),
        (
            "bench angle with one mirror more",
            _g(camera_bench_deg(CAMERA_DEG, odd)),
            _g(stem_bench_deg(GUIDER_DEG, odd)),
        ),
        (
            "bench angle on a fork, northern site",
            _g(camera_bench_deg(CAMERA_DEG, fork)),
            _g(stem_bench_deg(GUIDER_DEG, fork)),
        ),
    ]
    lines = [f"| {a} | {b} | {c} |" for a, b, c in rows]
    return "\n".join(["| | camera | guider |", "| --- | --: | --: |", *lines])


def _g(angle_deg: object) -> str:
    """Return an angle in degrees."""
    return f"{float(angle_deg):g}°"  # type: ignore[arg-type]


def page() -> str:
    """Return docs/angles.md with the worked example in its place."""
    text = PAGE.read_text(encoding="utf-8")
    block = f"<!-- worked example -->\n\n{worked_example()}\n\n<!-- end of worked example -->"
    return re.sub(r"<!-- worked example -->.*?<!-- end of worked example -->", lambda _: block, text, flags=re.DOTALL)


def main() -> None:
    """Write the drawings and the table."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, svg in drawings().items():
        (FOLDER / name).write_text(svg, encoding="utf-8", newline="\n")
    PAGE.write_text(page(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
