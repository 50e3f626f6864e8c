"""Pictures by address: the same drawings that the command line writes."""

import datetime as dt
from collections.abc import Callable

import numpy as np
from fastapi import APIRouter
from fastapi.responses import Response

from sidelight.cards import drawings
from sidelight.desk.chosen import chosen_targets
from sidelight.desk.skyline import Skyline, skyline
from sidelight.ground.errors import BadInput, Problem, SkySaysNo
from sidelight.pictures.chart_records import HorizonView, SkyTrack
from sidelight.pictures.horizon import draw_horizon
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.web.asked import Begun, Kept, Look, Night, Target, Wide
from sidelight.web.dial import in_variables
from sidelight.web.refusals import RESPONSES
from sidelight.web.shelf import Shelf

pictures = APIRouter(prefix="/pictures", tags=["pictures"], responses=RESPONSES)


class Svg(Response):
    """A picture."""

    media_type = "image/svg+xml"


def svg(content: str, name: str) -> Svg:
    """Return a picture; nothing in it may run or be fetched, even when it is opened by itself."""
    policy = "default-src 'none'; style-src 'none'; sandbox"
    named = f'inline; filename="{name}.svg"'
    return Svg(content, headers={"content-security-policy": policy, "content-disposition": named})


@pictures.get("/season.svg", response_class=Svg)
def season(shelf: Begun, look: Look, date: Night = None, width: Wide = "wide") -> Svg:
    """Draw the dark hours of all targets through the year."""
    night = date or shelf.tonight()
    draw = lambda: drawings.season_picture(shelf.season(night), look, width)  # noqa: E731 - made once, kept
    return svg(shelf.once(("season.svg", night, look, width), draw), "season")


@pictures.get("/year.svg", response_class=Svg)
def year(shelf: Begun, look: Look, target: Target, date: Night = None, width: Wide = "wide") -> Svg:
    """Draw the year of one target."""
    night = date or shelf.tonight()
    key = known_target(shelf, target)
    name = f"year-{drawings.file_name(key)}"

    def draw() -> str:
        return drawings.year_pictures(shelf.season(night, drawings_of=key), look, width)[name]

    return svg(shelf.once((name, key, night, look, width), draw), name)


@pictures.get("/dial.svg", response_class=Svg)
def dial(shelf: Begun, look: Look, date: Night = None, kept: Kept = None, width: Wide = "wide") -> Svg:
    """Draw the dial of the set-up."""
    night = date or shelf.tonight()
    return svg(drawings.dial_picture(shelf.setup(night, kept), look, width), "dial")


@pictures.get("/field.svg", response_class=Svg)
def field(
    shelf: Begun, look: Look, target: Target, date: Night = None, kept: Kept = None, width: Wide = "wide"
) -> Svg:
    """Draw the field of one target with the frame and both places of the guide sensor."""
    report = shelf.setup(date or shelf.tonight(), kept)
    key = known_target(shelf, target)
    found = next((one for one in report.fields if one.target == key), None)
    if found is None:
        raise BadInput(Problem(f"{key} is left out of this set-up.", suggestion="Choose another set-up."))
    name = f"field-{drawings.file_name(key)}"
    return svg(drawings.field_picture(found, look, width), name)


@pictures.get("/bench.svg", response_class=Svg)
def bench(shelf: Begun, look: Look, date: Night = None, kept: Kept = None, width: Wide = "wide") -> Svg:
    """Draw the back of the telescope with the angles."""
    return svg(drawings.bench_picture(shelf.bench(date or shelf.tonight(), kept), look, width), "bench")


@pictures.get("/night.svg", response_class=Svg)
def night(shelf: Begun, look: Look, date: Night = None, kept: Kept = None, width: Wide = "wide") -> Svg:
    """Draw the night's altitudes with its plan."""
    evening = date or shelf.tonight()
    draw = _night_draw(shelf, evening, kept, look, width)
    return svg(shelf.once(("night.svg", evening, kept, look, width), draw), f"night-{evening}")


def _night_draw(shelf: Shelf, evening: dt.date, kept: str | None, look: Theme, width: Wide) -> Callable[[], str]:
    """Return what draws the night."""
    return lambda: drawings.night_picture(shelf.night(evening, kept), look, width)


@pictures.get("/sensor.svg", response_class=Svg)
def sensor(
    shelf: Begun, look: Look, target: Target, date: Night = None, kept: Kept = None, width: Wide = "narrow"
) -> Svg:
    """Draw where one target's guide star sits before and after the flip."""
    report = shelf.night(date or shelf.tonight(), kept)
    key = known_target(shelf, target)
    seen = next(one for one in report.targets if one.target == key)
    drawn = drawings.sensor_picture(seen, report, look, width)
    if drawn is None:
        raise SkySaysNo(Problem(f"This set-up has no guide star for {key}."))
    return svg(drawn, f"sensor-{drawings.file_name(key)}")


@pictures.get("/skyline.svg", response_class=Svg)
def horizon(shelf: Begun, look: Look, date: Night = None, width: Wide = "wide", live: bool = False) -> Svg:
    """Draw the skyline with the targets' paths over it; `live` leaves the colours to the page."""
    drawn = draw_skyline(skyline(shelf.book(), date or shelf.tonight()), "day" if live else look, width)
    return svg(in_variables(drawn) if live else drawn, "skyline")


def draw_skyline(seen: Skyline, look: Theme, width: Width) -> str:
    """Return the skyline's picture; facing south, or north from the southern hemisphere."""
    tracks = [SkyTrack(one.target, one.azimuth_deg, one.altitude_deg, one.labels) for one in seen.paths]
    view = HorizonView(
        _skyline_title(seen, bool(tracks), width),
        np.array(seen.azimuth_deg),
        np.array(seen.altitude_deg),
        seen.floor_deg,
        tuple(tracks),
        0.0 if seen.southern else 180.0,
    )
    return draw_horizon(view, theme=look, width=width)


def _skyline_title(seen: Skyline, with_night: bool, width: Width) -> str:
    """Return the skyline's title; on a phone it is shorter, to stand whole in one line."""
    if not with_night:
        return "The skyline"
    return f"Skyline, night of {seen.date}" if width == "narrow" else f"The skyline, with the night of {seen.date}"


def known_target(shelf: Shelf, name: str) -> str:
    """Return a target's name as the notebook has it; raises BadInput for one that is not on the list."""
    return str(chosen_targets(shelf.book(), (name,))[0].key)
