"""Every drawing at its fullest: nothing written over other writing, nothing outside, contrast, words for all."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from tests.strategies import picture_samples as samples
from tests.strategies.picture_reading import attributes, parse, touching, writings

from sidelight.ground.errors import OurFault
from sidelight.pictures import chart_records as charts
from sidelight.pictures import records
from sidelight.pictures.back import draw_back
from sidelight.pictures.campaign import draw_campaign
from sidelight.pictures.collected import draw_collected
from sidelight.pictures.curves import draw_curves
from sidelight.pictures.dial import draw_dial
from sidelight.pictures.field import draw_field
from sidelight.pictures.horizon import draw_horizon
from sidelight.pictures.night import draw_night
from sidelight.pictures.palette import contrast
from sidelight.pictures.season import draw_season
from sidelight.pictures.sensor import draw_guide_sensor
from sidelight.pictures.year import draw_year


def _low_sensor(view: records.GuideSensorView, **asked: Any) -> str:
    """Draw the guide sensor as a card has it."""
    return draw_guide_sensor(view, low=True, **asked)


def _low_night(view: charts.NightView, **asked: Any) -> str:
    """Draw the night as a card has it."""
    return draw_night(view, plot_height=222.0, **asked)


FULL: dict[str, tuple[Callable[..., str], Any]] = {
    "dial": (draw_dial, samples.dial()),
    "small dial": (draw_dial, samples.dial(3)),
    "dial without needle": (draw_dial, samples.dial(4, None)),
    "field": (draw_field, samples.field()),
    "field upright": (draw_field, samples.field(0.0, 45.0)),
    "back": (draw_back, samples.back()),
    "back, no guider": (draw_back, samples.back(90.0, None)),
    "fork": (draw_back, samples.back(237.2, 147.3, "fork")),
    "focuser": (draw_back, samples.back(124.5, 37.4, "focuser")),
    "sensor": (draw_guide_sensor, samples.sensor()),
    "sensor on a card": (_low_sensor, samples.sensor()),
    "night on a card": (_low_night, samples.night()),
    "year": (draw_year, samples.year()),
    "night": (draw_night, samples.night()),
    "horizon": (draw_horizon, samples.horizon()),
    "season": (draw_season, samples.season()),
    "campaign": (draw_campaign, samples.campaign()),
    "collected": (draw_collected, samples.collected()),
    "odds": (draw_curves, samples.odds()),
}
every_picture = pytest.mark.parametrize("name", FULL)
both_widths = pytest.mark.parametrize("width", ["wide", "narrow"])
SOURCE = Path(__file__).resolve().parents[2] / "src" / "sidelight" / "pictures"


@every_picture
@both_widths
def test_no_text_is_written_over_another(name: str, width: str) -> None:
    """No two lines of text overlap, with the widths of a wide font."""
    draw, view = FULL[name]
    assert touching(parse(draw(view, width=width)), slack=1.0) == []


@every_picture
@both_widths
def test_text_stays_on_the_sheet(name: str, width: str) -> None:
    """No line of text runs over the edge of the picture."""
    draw, view = FULL[name]
    root = parse(draw(view, width=width))
    wide, high = (float(word) for word in root.get("viewBox", "").split()[2:])
    outside = [
        writing.content
        for writing in writings(root)
        if writing.box.left < 0 or writing.box.right > wide or writing.box.top < 0 or writing.box.bottom > high
    ]
    assert outside == []


@every_picture
@both_widths
@pytest.mark.parametrize("theme", ["day", "print"])
def test_text_keeps_the_contrast_for_reading(name: str, width: str, theme: str) -> None:
    """Each text has at least 4.5 : 1 against its ground (WCAG 2.2, success criterion 1.4.3, level AA)."""
    draw, view = FULL[name]
    weak = [
        (writing.content, writing.ink, writing.ground)
        for writing in writings(parse(draw(view, width=width, theme=theme)))
        if contrast(writing.ink, writing.ground) < 4.5
    ]
    assert weak == []


@every_picture
def test_night_text_stays_legible(name: str) -> None:
    """In the red theme each text has at least 2 : 1 on its ground and is the brighter of the two."""
    draw, view = FULL[name]
    for writing in writings(parse(draw(view, theme="night"))):
        assert int(writing.ink[1:3], 16) > int(writing.ground[1:3], 16)
        assert contrast(writing.ink, writing.ground) >= 2.0, writing


@every_picture
def test_a_picture_says_what_it_shows(name: str) -> None:
    """Title and description are there, and the description names what the picture names."""
    draw, view = FULL[name]
    root = parse(draw(view, prefix="x"))
    assert root.get("aria-labelledby") == "x-title x-desc"
    assert root[0].text == view.title
    assert len(root[1].text or "") > 20


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("dial", ["Heron, west", "no star at the needle", "not needed", "217.4°"]),
        ("field", ["50.4′ by 33.7′", "Reed bed", "star 14", "magnitude 8.7"]),
        ("back", ["304.5°", "clock position 1:45", "low end at the prism"]),
        ("sensor", ["before: 212 px right, 148 px down of centre"]),
        ("year", ["365 nights", "37 nights are left"]),
        ("night", ["Heron from", "flip at", "Moon 34 %"]),
        ("horizon", ["38° at azimuth 61°", "Path of Fen"]),
        ("season", ["Heron: most on 25 Nov 2026"]),
        ("campaign", ["6 of 30 h, odds 20 %, last call 25 Jan 2027"]),
        ("odds", ["Heron: 0 % at 25 Nov 2026"]),
    ],
)
def test_the_description_holds_the_content(name: str, words: list[str]) -> None:
    """What can be seen can be read in the description."""
    draw, view = FULL[name]
    if name == "dial":
        view = samples.dial(10, 300.0)
        words = [word.replace("217.4°", "300.0°") for word in words]
    said = parse(draw(view))[1].text or ""
    assert [word for word in words if word not in said] == []


@every_picture
def test_several_pictures_share_a_page(name: str) -> None:
    """With different prefixes no id is used twice."""
    draw, view = FULL[name]
    first, second = (
        {value for _, key, value in attributes(parse(draw(view, prefix=prefix))) if key == "id"}
        for prefix in ("a", "b")
    )
    assert first
    assert not first & second


@every_picture
def test_every_shape_says_how_it_is_filled(name: str) -> None:
    """No shape relies on SVG's default black fill, which no theme knows."""
    draw, view = FULL[name]
    root = parse(draw(view, theme="night"))
    parents = {child: parent for parent in root.iter() for child in parent}
    for shape in root.iter():
        if shape.tag.rpartition("}")[2] not in ("path", "rect", "circle", "ellipse"):
            continue
        up = shape
        while up.get("fill") is None and up in parents:
            up = parents[up]
        in_clip = parents[shape].tag.endswith("clipPath")
        assert up.get("fill") is not None or in_clip, (shape.tag, shape.attrib)


@pytest.mark.parametrize("prefix", ["", "a b", 'x"y', "a#b"])
def test_a_prefix_that_cannot_be_an_id_is_refused(prefix: str) -> None:
    """A prefix that would break ids or links is our own fault and says what would be accepted."""
    with pytest.raises(OurFault, match="letters, digits"):
        draw_dial(samples.dial(1), prefix=prefix)


@pytest.mark.parametrize(("option", "value"), [("theme", "dawn"), ("width", "huge")])
def test_an_unknown_theme_or_width_is_refused(option: str, value: str) -> None:
    """A theme or width that does not exist is named, with what does."""
    with pytest.raises(OurFault, match=value):
        draw_dial(samples.dial(1), **{option: value})


def test_a_coordinate_that_is_not_finite_is_refused() -> None:
    """A picture never holds a coordinate that is not a number."""
    with pytest.raises(OurFault, match="not finite"):
        draw_back(samples.back(float("nan")))


def test_a_full_year_is_small() -> None:
    """A year's picture takes under 60 kB, so that a page holds one for each target."""
    assert len(draw_year(samples.year()).encode()) < 60_000


def test_colours_live_in_the_palette_alone() -> None:
    """No other module of the room writes a colour."""
    others = [path for path in SOURCE.glob("*.py") if path.name != "palette.py"]
    guilty = [path.name for path in others if re.search(r"#[0-9a-fA-F]{6}", path.read_text("utf-8"))]
    assert others
    assert guilty == []


def test_a_night_lists_the_flips_that_the_mount_makes() -> None:
    """A flip within a planned stay is listed and told; one of a target that nobody is on keeps its mark only."""
    view = samples.night(6)
    planned = {stay.name for stay in view.plan}
    idle = next(curve.name for curve in view.curves if curve.name not in planned)
    middle = (view.plan[0].start_mjd + view.plan[0].end_mjd) / 2
    view = replace(view, flips_mjd=((view.plan[0].name, middle), (idle, middle)))
    root = parse(draw_night(view))
    listed = [writing.content for writing in writings(root) if writing.content.startswith("flip: ")]
    assert listed == [f"flip: {view.plan[0].name}"]
    assert f"{idle}: flip" not in (root[1].text or "")
    assert any(f"{idle}: flip at" in (one.text or "") for one in root.iter() if one.tag.endswith("title"))
