"""Things stand where the numbers say: arcs, needle, frame, sensors, stars, metal, times."""

import datetime as dt
import math
import re
from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from tests.strategies import picture_samples as samples
from tests.strategies.picture_reading import SVG, by_id, parse, points, sky_angle, writings

from sidelight.pictures import records
from sidelight.pictures.axes import clock, hour_ticks, instant_mjd, number_ticks, plain_number, round_step
from sidelight.pictures.back import draw_back
from sidelight.pictures.dial import draw_dial
from sidelight.pictures.field import draw_field
from sidelight.pictures.lettering import Box, wrap
from sidelight.pictures.night import draw_night
from sidelight.pictures.palette import palette
from sidelight.pictures.sensor import draw_guide_sensor
from sidelight.pictures.year import draw_year


def circle_of(element: object) -> tuple[float, float]:
    """Return the centre of a circle element."""
    return tuple(float(element.get(name)) for name in ("cx", "cy"))  # type: ignore[attr-defined, return-value]


def turned_by(element: object) -> tuple[float, tuple[float, float]]:
    """Return the angle on the sky and the pivot of an element's rotation."""
    numbers = re.fullmatch(r"rotate\((\S+) (\S+) (\S+)\)", element.get("transform"))  # type: ignore[attr-defined]
    assert numbers is not None
    angle, x, y = (float(number) for number in numbers.groups())
    return -angle % 360.0, (x, y)


@pytest.mark.parametrize(
    ("start", "end"), [(1.369, 18.425), (348.69, 364.672), (120.0, 350.0), (0.0, 180.0), (359.0, 361.0)]
)
def test_a_lit_arc_ends_at_its_angles(start: float, end: float) -> None:
    """The drawn arc of a ring begins and ends at the angles of its lit arc, across north too."""
    dial = records.Dial("", (records.DialRing("Heron", "west", ((start, end),)),), None)
    root = parse(draw_dial(dial, prefix="d"))
    hub = circle_of(by_id(root, "d-hub"))
    arc = by_id(root, "d-ring-1-west").findall(f"{SVG}path")[0]
    outer_start, outer_end, inner_end, inner_start = points(arc.get("d", ""))[:4]
    for place, angle in ((outer_start, start), (outer_end, end), (inner_end, end), (inner_start, start)):
        # coordinates are written to 0.01 of a unit, some 0.006° at the innermost ring
        assert math.isclose(math.cos(math.radians(sky_angle(hub, place) - angle)), 1.0, abs_tol=1e-7)
    assert math.dist(hub, outer_start) == pytest.approx(math.dist(hub, outer_end), abs=0.02)


def test_a_full_circle_is_closed() -> None:
    """A ring that is lit all round is drawn as a whole ring, hollow inside."""
    dial = records.Dial("", (records.DialRing("Heron", "any", ((0.0, 360.0),)),), 12.0)
    text = draw_dial(dial, prefix="d")
    arc = by_id(parse(text), "d-ring-1-any").findall(f"{SVG}path")[0]
    assert arc.get("fill-rule") == "evenodd"
    assert arc.get("d", "").count("Z") == 2
    assert "slack 180.0°" in text


def test_the_needle_stands_at_its_angle() -> None:
    """The needle's group is turned counter-clockwise by the guider angle about the hub."""
    root = parse(draw_dial(samples.dial(3, 123.4), prefix="d"))
    angle, pivot = turned_by(by_id(root, "d-needle"))
    assert angle == pytest.approx(123.4, abs=0.01)
    assert pivot == circle_of(by_id(root, "d-hub"))
    assert any(writing.content == "123.4°" for writing in writings(root))


def test_sky_convention_of_the_dial() -> None:
    """North is up and east is left."""
    found = {writing.content: writing.box for writing in writings(parse(draw_dial(samples.dial(1))))}
    assert found["E"].right < found["N"].left < found["N"].right < found["W"].left
    assert found["N"].bottom < found["E"].top < found["S"].top


def test_west_is_the_outer_lane_and_needed_rings_are_taller() -> None:
    """A target's west ring lies outside its east ring; a ring that is not needed is drawn lower."""
    arcs = ((10.0, 30.0),)
    rings = (records.DialRing("a", "west", arcs), records.DialRing("a", "east", arcs, needed=False))
    root = parse(draw_dial(records.Dial("", rings, None), prefix="d"))
    hub = circle_of(by_id(root, "d-hub"))
    radii = {}
    for side in ("west", "east"):
        corners = points(by_id(root, f"d-ring-1-{side}").findall(f"{SVG}path")[0].get("d", ""))
        radii[side] = sorted(math.dist(hub, corner) for corner in corners)
    assert radii["west"][0] > radii["east"][-1]
    assert radii["west"][-1] - radii["west"][0] > 1.5 * (radii["east"][-1] - radii["east"][0])


def test_the_beam_is_where_all_needed_rings_are_lit() -> None:
    """The key's share of the beam is that of the common arc of the needed rings only."""
    rings = (
        records.DialRing("a", "west", ((350.0, 370.0),)),
        records.DialRing("a", "east", ((0.0, 90.0),)),
        records.DialRing("b", "west", ((180.0, 190.0),), needed=False),
    )
    root = parse(draw_dial(records.Dial("", rings, 5.0)))
    assert "beam: all needed lit, 2.8 %" in {writing.content for writing in writings(root)}
    assert "slack 5.0°" in {writing.content for writing in writings(root)}


def test_a_dial_with_no_star_says_so() -> None:
    """A needed ring without any arc is said to have none, and the hub does not claim slack."""
    root = parse(draw_dial(records.Dial("", (records.DialRing("a", "west", ()),), 5.0)))
    said = {writing.content for writing in writings(root)}
    assert "× never lit" in said
    assert "not all lit" in said


def test_frame_and_sensors_turn_about_the_fields_centre() -> None:
    """Frame by the camera angle, each sensor by its own angle, all about the chart's middle."""
    root = parse(draw_field(samples.field(34.5, 217.4), prefix="f"))
    frame, middle = turned_by(by_id(root, "f-frame"))
    west, west_pivot = turned_by(by_id(root, "f-sensor-west"))
    east, east_pivot = turned_by(by_id(root, "f-sensor-east"))
    assert (frame, west, east) == pytest.approx((34.5, 217.4, 37.4), abs=0.01)
    assert middle == west_pivot == east_pivot


def test_a_star_at_the_sensors_centre_is_drawn_there() -> None:
    """A star at the stem's radius and angle falls on the middle of the turned sensor, east to the left."""
    angle, radius = 62.0, 40.0
    star = records.FieldStar(radius * math.sin(math.radians(angle)), radius * math.cos(math.radians(angle)), 8.0)
    footprint = records.Footprint("west", angle, radius, 3.0, 5.0)
    view = replace(samples.field(), stars=(star,), footprints=(footprint,), guide_stars=())
    root = parse(draw_field(view, prefix="f"))
    drawn = circle_of(by_id(root, "f-stars")[0])
    turn, pivot = turned_by(by_id(root, "f-sensor-west"))
    sensor = next(one for one in by_id(root, "f-sensor-west") if one.tag == f"{SVG}rect")
    left, top, wide, high = (float(sensor.get(name, "")) for name in ("x", "y", "width", "height"))
    upright = (left + wide / 2, top + high / 2)
    reach = math.dist(upright, pivot)
    assert drawn[0] == pytest.approx(pivot[0] - reach * math.sin(math.radians(turn)), abs=0.05)
    assert drawn[1] == pytest.approx(pivot[1] - reach * math.cos(math.radians(turn)), abs=0.05)
    assert drawn[0] < pivot[0]


def test_outlines_show_what_is_not_known() -> None:
    """A known outline is a firm ellipse, an unknown direction a broken circle, no size a cross."""
    root = parse(draw_field(samples.field()))
    ellipses = root.findall(f".//{SVG}ellipse")
    assert [one.get("stroke-dasharray") is None for one in ellipses] == [True, False]
    assert ellipses[1].get("rx") == ellipses[1].get("ry")
    crosses = [one for one in root.iter(f"{SVG}path") if one.find(f"{SVG}title") is not None]
    assert any(one.findtext(f"{SVG}title") == "Snipe" for one in crosses)


def test_brighter_stars_are_larger() -> None:
    """Discs grow with brightness."""
    stars = tuple(records.FieldStar(float(index), 0.0, mag) for index, mag in enumerate((4.0, 7.0, 10.0)))
    root = parse(draw_field(replace(samples.field(), stars=stars), prefix="f"))
    radii = [float(one.get("r", "")) for one in by_id(root, "f-stars")]
    assert radii == sorted(radii)
    assert radii[0] < radii[-1]


def test_metal_stands_at_its_bench_angles() -> None:
    """Camera and stem are turned counter-clockwise from up by their bench angles about the same axis."""
    root = parse(draw_back(samples.back(304.5, 307.4), prefix="b"))
    camera, axis = turned_by(by_id(root, "b-camera"))
    stem, stem_axis = turned_by(by_id(root, "b-stem"))
    assert (camera, stem) == pytest.approx((304.5, 307.4), abs=0.01)
    assert axis == stem_axis


@pytest.mark.parametrize(
    ("view", "up", "foot"),
    [
        ("back", "up: from the dovetail to the tube", "dovetail"),
        ("fork", "up: away from the drive base", "drive base"),
        ("focuser", "up: to the open end of the tube", ""),
    ],
)
def test_what_the_telescope_stands_on(view: str, up: str, foot: str) -> None:
    """Each view says what up is there, and shows a dovetail, the drive base of a fork, or neither."""
    said = {writing.content for writing in writings(parse(draw_back(samples.back(view=view))))}
    assert up in said
    assert said & {"dovetail", "drive base"} == ({foot} if foot else set())


@pytest.mark.parametrize(("stem", "low_is_inside"), [(0.0, True), (40.0, True), (140.0, False), (270.0 - 1, False)])
def test_the_low_end_is_marked_on_the_metal(stem: float, low_is_inside: bool) -> None:
    """The stem's low end is its prism when it points up, its outer end when it points down."""
    view = replace(samples.back(0.0, stem), camera_reading=None)
    root = parse(draw_back(view, prefix="b"))
    _, axis = turned_by(by_id(root, "b-stem"))
    thread = by_id(root, "b-low").find(f".//{SVG}line")
    assert thread is not None
    hangs_from = (float(thread.get("x1", "")), float(thread.get("y1", "")))
    assert (math.dist(hangs_from, axis) < 216.0) == low_is_inside


@pytest.mark.parametrize("camera", [0, 60, 85, 90, 95, 180, 265, 270, 275])
@pytest.mark.parametrize("width", ["wide", "narrow"])
def test_the_plumb_covers_no_hour(camera: int, width: str) -> None:
    """The camera's plumb hangs aside of its low end's middle rather than over a figure of the clock."""
    root = parse(draw_back(samples.back(camera, None), width=width, prefix="b"))  # type: ignore[arg-type]
    thread = next(by_id(root, "b-low").iter(f"{SVG}line"))
    x, y = float(thread.get("x1", "")), float(thread.get("y1", ""))
    plumb = Box(x - 6, y, x + 6, y + 25)
    hours = [one for one in writings(root) if one.content in ("12", "3", "6", "9")]
    assert len(hours) == 4
    assert [one.content for one in hours if one.box.meets(plumb)] == []


def test_a_level_face_has_no_low_end() -> None:
    """A gauge that reads zero is said to be level, and no end is marked low."""
    view = replace(samples.back(), camera_reading=records.Reading(0.0, ""), stem_reading=None)
    root = parse(draw_back(view, prefix="b"))
    said = {writing.content for writing in writings(root)}
    assert "gauge on its long side: level" in said
    assert not any("low end" in words for words in said)


def test_star_on_the_guide_sensor() -> None:
    """X counts to the right and y up from the sensor's centre, true to scale."""
    root = parse(draw_guide_sensor(samples.sensor(), prefix="s"))
    before, after = (circle_of(one) for one in by_id(root, "s-stars").iter(f"{SVG}circle"))
    scale = (before[0] - after[0]) / (212 + 310)
    assert scale > 0
    assert after[1] - before[1] == pytest.approx(-(148 + 95) * scale, abs=0.02)


def test_planned_stretches_begin_and_end_on_time() -> None:
    """The broad band along a curve spans the planned stretch on the time axis."""
    view = samples.night()
    root = parse(draw_night(view, prefix="n"))
    frame = by_id(root, "n-clip")[0]
    left, wide = float(frame.get("x", "")), float(frame.get("width", ""))
    start, end = view.times_mjd[0], view.times_mjd[-1]
    bands = by_id(root, "n-plan").findall(f"{SVG}path")[1::2]
    for band, stretch in zip(bands, view.plan, strict=True):
        drawn = points(band.get("d", ""))
        for at, x in ((stretch.start_mjd, drawn[0][0]), (stretch.end_mjd, drawn[-1][0])):
            assert x == pytest.approx(left + wide * (at - start) / (end - start), abs=0.02)


def test_flips_of_the_plan_are_strong_and_others_pale() -> None:
    """Only the flip of a planned stay is filled with the overlay; a card's chart leaves heading and list out."""
    view = samples.night()
    idle = (samples.TARGETS[1], view.times_mjd[60])
    root = parse(draw_night(replace(view, flips_mjd=(*view.flips_mjd, idle)), prefix="n"))
    strong, pale = by_id(root, "n-flips")
    assert strong.get("fill") == palette("day").overlay
    assert pale.get("fill") == palette("day").paper
    said = {one.content for one in writings(parse(draw_night(view, plot_height=200.0)))}
    assert {"target in the east", "target in the west", "flip"} <= said
    assert view.title not in said


def test_a_night_without_darkness_says_so() -> None:
    """When the Sun stays above the limit the picture says it."""
    view = samples.night()
    bright = replace(view, sun_altitude_deg=np.full_like(view.times_mjd, -10.0))
    assert "no darkness this night" in {writing.content for writing in writings(parse(draw_night(bright)))}


def test_the_years_line_of_tonight() -> None:
    """A night's line stands at its place, named as said, and there is none when it is not in the year."""
    view = samples.year()
    root = parse(draw_year(view, prefix="y"))
    frame = by_id(root, "y-clip")[0]
    left, wide = float(frame.get("x", "")), float(frame.get("width", ""))
    index = (dt.date(2027, 7, 14) - dt.date(2027, 1, 1)).days
    line = by_id(root, "y-today").findall(f"{SVG}line")[-1]
    assert float(line.get("x1", "")) == pytest.approx(left + wide * (index + 0.5) / 365, abs=0.02)
    assert "from 14 Jul" in {writing.content for writing in writings(root)}
    assert "tonight 14 Jul" in draw_year(replace(view, marked_as="tonight"))
    text = draw_year(replace(view, today=dt.date(2030, 1, 1)), prefix="y")
    assert "y-today" not in text


def test_the_year_has_one_vertical_axis() -> None:
    """Figures of the vertical axis are clock times, all at the left, rising from evening to morning."""
    root = parse(draw_year(samples.year()))
    times = [one for one in writings(root) if re.fullmatch(r"\d\d:00", one.content)]
    assert len({round(one.box.right, 1) for one in times}) == 1
    by_height = [one.content for one in sorted(times, key=lambda one: -one.box.top)]
    hours = [(int(word[:2]) - 12) % 24 for word in by_height]
    assert hours == sorted(hours)


def test_hours_where_the_clocks_change() -> None:
    """The repeated hour in autumn has two ticks, the skipped one in spring has none (EU rule, tz database)."""
    berlin = ZoneInfo("Europe/Berlin")
    for day, expected in (
        (dt.datetime(2026, 10, 25, 0, 0, tzinfo=berlin), ["00:00", "01:00", "02:00", "02:00", "03:00", "04:00"]),
        (dt.datetime(2027, 3, 28, 0, 0, tzinfo=berlin), ["00:00", "01:00", "03:00", "04:00", "05:00", "06:00"]),
    ):
        start = instant_mjd(day)
        assert [tick.label for tick in hour_ticks(start, start + 5 / 24, berlin)] == expected


def test_hours_in_a_zone_of_half_hours() -> None:
    """Ticks stand at full local hours where the zone is half an hour off UTC."""
    delhi = ZoneInfo("Asia/Kolkata")
    ticks = hour_ticks(61000.0, 61000.2, delhi)
    assert [clock(tick.at, delhi) for tick in ticks] == ["06:00", "07:00", "08:00", "09:00", "10:00"]


@pytest.mark.parametrize(
    ("span", "most", "step"), [(10.0, 5, 2.0), (1.0, 4, 0.5), (97.0, 10, 10.0), (0.0, 5, 1.0), (3e-4, 3, 1e-4)]
)
def test_round_steps(span: float, most: int, step: float) -> None:
    """Ticks step by 1, 2 or 5 times a power of ten."""
    assert round_step(span, most) == pytest.approx(step)


def test_number_ticks_are_round_and_inside() -> None:
    """Ticks lie within the range, labelled without needless digits and with a true minus."""
    ticks = number_ticks(-0.35, 0.5, 5)
    assert [tick.label for tick in ticks] == ["−0.2", "0", "0.2", "0.4"]
    assert plain_number(12345.0) == "12\u202f345"


def test_wrapped_lines_keep_every_word() -> None:
    """Wrapping drops no word while there are lines enough."""
    words = "an hour before midnight in October is worth three in December"
    assert " ".join(wrap(words, 160, 12)) == words
