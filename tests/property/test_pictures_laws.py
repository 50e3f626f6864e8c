"""What every drawing must hold, whatever it is given."""

import re
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies import picture_samples as samples
from tests.strategies import pictures as given_by
from tests.strategies.picture_reading import attributes, parse, points, touching, writings

from sidelight.pictures.back import draw_back
from sidelight.pictures.campaign import draw_campaign
from sidelight.pictures.collected import draw_collected
from sidelight.pictures.curves import draw_curves
from sidelight.pictures.dial import draw_dial
from sidelight.pictures.field import draw_field
from sidelight.pictures.horizon import draw_horizon
from sidelight.pictures.lettering import Box, fit, spread, width_of, wrap
from sidelight.pictures.night import draw_night
from sidelight.pictures.palette import palette
from sidelight.pictures.regions import above, region_data, thin
from sidelight.pictures.season import draw_season
from sidelight.pictures.sensor import draw_guide_sensor
from sidelight.pictures.svg import clean
from sidelight.pictures.year import draw_year

DRAWINGS: dict[str, tuple[Callable[..., str], st.SearchStrategy[Any]]] = {
    "dial": (draw_dial, given_by.dials),
    "field": (draw_field, given_by.fields),
    "back": (draw_back, given_by.backs),
    "sensor": (draw_guide_sensor, given_by.sensors),
    "year": (draw_year, given_by.years()),
    "night": (draw_night, given_by.nights()),
    "horizon": (draw_horizon, given_by.horizons()),
    "season": (draw_season, given_by.seasons),
    "campaign": (draw_campaign, given_by.campaigns()),
    "collected": (draw_collected, given_by.wishes),
    "curves": (draw_curves, given_by.curves()),
}
ALLOWED_TAGS = {
    "svg", "title", "desc", "defs", "pattern", "clipPath", "g", "path", "rect", "circle", "ellipse", "line", "text",
}  # fmt: skip


def check_picture(text: str, title: str, theme: str, prefix: str) -> None:
    """Hold one picture against the rules that all share."""
    root = parse(text)
    tags = {one.tag.rpartition("}")[2] for one in root.iter()}
    assert tags <= ALLOWED_TAGS
    assert root.get("role") == "img"
    assert root[0].text in (clean(title), None if not clean(title) else clean(title))
    assert root[1].tag.endswith("desc")
    ids = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    assert all(name == prefix or name.startswith(f"{prefix}-") for name in ids)
    colours = {value for _, name, value in attributes(root) if name in ("fill", "stroke") and value.startswith("#")}
    others = {value for _, name, value in attributes(root) if name in ("fill", "stroke")} - colours
    assert all(other == "none" or other.startswith("url(#") for other in others)
    if theme == "night":
        assert all(colour[3:] == "0000" and int(colour[1:3], 16) <= 0xE0 for colour in colours)
    if theme == "print":
        assert all(colour[1:3] == colour[3:5] == colour[5:7] for colour in colours)
    for tag, name, value in attributes(root):
        assert name not in ("style", "href", "class"), (tag, name)
        assert not name.startswith("on"), (tag, name)
        for reference in re.findall(r"url\(#([^)]*)\)", value):
            assert reference in ids


@pytest.mark.parametrize("name", DRAWINGS)
@settings(max_examples=40, deadline=None)
@given(data=st.data(), theme=given_by.themes, width=given_by.widths)
def test_any_input_gives_a_sound_picture(name: str, data: st.DataObject, theme: str, width: str) -> None:
    """Whatever it is given, a drawing is well-formed, self-contained, in its theme's colours, and the same twice."""
    draw, strategy = DRAWINGS[name]
    view = data.draw(strategy)
    text = draw(view, theme=theme, width=width, prefix="p1")
    check_picture(text, view.title, theme, "p1")
    assert text == draw(view, theme=theme, width=width, prefix="p1")


@pytest.mark.parametrize("name", DRAWINGS)
@settings(max_examples=25, deadline=None)
@given(data=st.data(), theme=given_by.themes, width=given_by.widths)
def test_writing_is_in_the_text_inks_and_large_enough(name: str, data: st.DataObject, theme: Any, width: str) -> None:
    """Every line of text is in an ink meant for text and no smaller than 11 units."""
    draw, strategy = DRAWINGS[name]
    root = parse(draw(data.draw(strategy), theme=theme, width=width, prefix="p"))
    for writing in writings(root):
        assert writing.ink in palette(theme).text_inks
        assert writing.size >= 11.0


@settings(max_examples=50, deadline=None)
@given(
    camera_deg=st.floats(0.0, 360.0),
    stem_deg=st.one_of(st.none(), st.floats(0.0, 360.0)),
    view=st.sampled_from(["back", "fork", "focuser"]),
    width=given_by.widths,
)
def test_the_figures_of_the_bench_stand_free(
    camera_deg: float, stem_deg: float | None, view: str, width: str
) -> None:
    """Wherever camera and stem stand, no writing meets other writing, and all of it stays on the sheet."""
    root = parse(draw_back(samples.back(camera_deg, stem_deg, view), width=width))  # type: ignore[arg-type]
    across, high = (float(word) for word in root.get("viewBox", "").split()[2:])
    assert touching(root) == []
    sheet = Box(0.0, 0.0, across, high)
    assert [one.content for one in writings(root) if not one.box.inside(sheet)] == []


@settings(max_examples=50, deadline=None)
@given(text=given_by.names, room=st.floats(5.0, 400.0), size=st.floats(8.0, 30.0))
def test_fitted_text_fits(text: str, room: float, size: float) -> None:
    """A fitted text is the whole text, or ends in an ellipsis and fits (a lone ellipsis may be wider)."""
    shown = fit(text, room, size)
    assert width_of(shown, size) <= room or shown == "…"
    assert shown == " ".join(text.split()) or shown.endswith("…")
    assert all(width_of(line, size) <= room or line == "…" for line in wrap(text, room, size))


@settings(max_examples=50, deadline=None)
@given(
    wanted=st.lists(st.floats(0.0, 100.0), min_size=1, max_size=12),
    gap=st.floats(0.5, 8.0),
)
def test_spread_labels_keep_their_order_and_distance(wanted: list[float], gap: float) -> None:
    """Labels pushed apart keep their order, their gap and the range they were given."""
    places = spread(wanted, gap, 0.0, 100.0)
    order = sorted(range(len(wanted)), key=lambda index: wanted[index])
    steps = [places[b] - places[a] for a, b in pairwise(order)]
    assert all(step >= gap - 1e-6 for step in steps)
    assert min(places) >= -1e-6
    assert max(places) <= 100.0 + 1e-6


@settings(max_examples=50, deadline=None)
@given(
    line=st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100)), min_size=2, max_size=40),
    tolerance=st.floats(0.1, 10.0),
)
def test_thinned_lines_stay_within_the_tolerance(line: list[tuple[float, float]], tolerance: float) -> None:
    """Every point that thinning drops lies within the tolerance of the straight lines that stay, ends kept."""
    kept = thin(line, tolerance)
    assert kept[0] == line[0]
    assert kept[-1] == line[-1]
    position = 0
    for start, end in pairwise(kept):
        first = line.index(start, position)
        last = line.index(end, first + 1)
        position = last
        length = max(1e-12, ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5)
        for x, y in line[first + 1 : last]:
            if length < 1e-9:
                assert ((x - start[0]) ** 2 + (y - start[1]) ** 2) ** 0.5 <= tolerance + 1e-6
            else:
                cross = (x - start[0]) * (end[1] - start[1]) - (y - start[1]) * (end[0] - start[0])
                assert abs(cross) / length <= tolerance + 1e-6


@settings(max_examples=40, deadline=None)
@given(data=st.data(), level=st.floats(-40, 40))
def test_spans_above_a_level_agree_with_dense_sampling(data: st.DataObject, level: float) -> None:
    """Spans above a level hold exactly where the straight-line curve is above it."""
    y = np.array(data.draw(st.lists(st.floats(-50, 50), min_size=2, max_size=12)))
    x = np.arange(len(y), dtype=float)
    spans = above(x, y, level)
    at = np.linspace(0.0, len(y) - 1.0, 997)
    inside = np.any((at[:, None] > spans[:, 0] + 1e-9) & (at[:, None] < spans[:, 1] - 1e-9), axis=1)
    curve = np.interp(at, x, y)
    assert np.all(curve[inside] >= level - 1e-9)
    outside = np.all((at[:, None] < spans[:, 0] - 1e-9) | (at[:, None] > spans[:, 1] + 1e-9), axis=1)
    assert np.all(curve[outside] <= level + 1e-9)


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_regions_cover_the_columns_they_are_made_of(data: st.DataObject) -> None:
    """The outline of a region reaches exactly the lowest and highest span of its columns."""
    columns = [
        np.array(data.draw(st.lists(st.tuples(st.floats(0, 5), st.floats(5.5, 9)), max_size=1))).reshape(-1, 2)
        for _ in range(data.draw(st.integers(1, 8)))
    ]
    drawn = points(region_data(columns, lambda x: 10 * x, lambda y: 10 * y))
    every = [value for column in columns for value in column.ravel()]
    if not every:
        assert not drawn
        return
    assert abs(min(y for _, y in drawn) - 10 * min(every)) < 0.32
    assert abs(max(y for _, y in drawn) - 10 * max(every)) < 0.32
