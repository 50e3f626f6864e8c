"""Light on the page: what an hour is worth tonight and through the month, and how long to expose."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse, Response

from sidelight.cards import light_drawings
from sidelight.cards.drawings import file_name
from sidelight.desk.exposure import exposure_report
from sidelight.desk.exposure_records import ExposureQuestion, ExposureReport
from sidelight.desk.hours import DEFAULT_NIGHTS, light_report
from sidelight.desk.hours_records import LightReport
from sidelight.ground.errors import BadInput, Problem, SkySaysNo
from sidelight.web.asked import Begun, Look, Night, Target, Wide
from sidelight.web.drawn import Svg, known_target, svg
from sidelight.web.light_asked import Exposing, exposing, figure_texts
from sidelight.web.models import Plain, model_of
from sidelight.web.refusals import RESPONSES
from sidelight.web.render import show
from sidelight.web.shelf import Shelf

light = APIRouter(responses=RESPONSES)
Nights = Annotated[int, Query(ge=1, le=400, description="How many nights.")]
Exposed = Annotated[Exposing, Depends(exposing)]


def hours_of(shelf: Shelf, date: Night, nights: int = DEFAULT_NIGHTS) -> LightReport:
    """Return what hours are worth."""
    first = date or shelf.tonight()
    return shelf.once(("light", first, nights), lambda: light_report(shelf.book(), first, nights))


def exposures_of(shelf: Shelf, asked: Exposing) -> ExposureReport:
    """Return exposures for a question."""
    question = ExposureQuestion(
        asked.date or shelf.tonight(),
        known_target(shelf, asked.target) if asked.target else None,
        (),
        asked.hours_h,
        asked.brightness_mag_arcsec2,
        asked.wanted_snr,
        asked.read_noise_share_percent,
        asked.star_mag,
    )
    return shelf.once(("exposure", question), lambda: exposure_report(shelf.book(), question))


@light.get("/light", response_class=HTMLResponse, include_in_schema=False)
def page(request: Request, shelf: Begun, asked: Exposed) -> Response:
    """Show what an hour is worth, and how long to expose."""
    first = asked.date or shelf.tonight()
    report = hours_of(shelf, first)
    try:
        exposures, refusal = exposures_of(shelf, asked), None
    except BadInput as error:
        exposures, refusal = None, error.problems
    return show(
        request,
        "light.html",
        title="Light",
        report=report,
        exposures=exposures,
        refusal=refusal,
        asked=asked,
        typed=figure_texts(asked),
        date=first,
        date_given=asked.date,
        names=[one.target for one in report.targets],
    )


@light.get("/api/light", tags=["reports"], response_model=model_of(LightReport), response_class=Plain)
def whole(shelf: Begun, date: Night = None, nights: Nights = DEFAULT_NIGHTS) -> Response:
    """Return what hours are worth, by target, filter and night."""
    return Plain(hours_of(shelf, date, nights))


@light.get("/api/exposure", tags=["reports"], response_model=model_of(ExposureReport), response_class=Plain)
def exposures(shelf: Begun, asked: Exposed) -> Response:
    """Return single exposures, their number, and what they reach."""
    return Plain(exposures_of(shelf, asked))


@light.get("/pictures/light.svg", tags=["pictures"], response_class=Svg)
def through_the_night(shelf: Begun, look: Look, date: Night = None, width: Wide = "wide") -> Svg:
    """Draw what an hour on each target is worth through the night, in its main filter."""
    report = hours_of(shelf, date)
    if not report.times_utc or not report.targets:
        raise SkySaysNo(Problem(report.sentence))
    return svg(light_drawings.weights_picture(report, look, width), f"light-{report.date}")


@light.get("/pictures/light-of.svg", tags=["pictures"], response_class=Svg)
def of_one(shelf: Begun, look: Look, target: Target, date: Night = None, width: Wide = "wide") -> Svg:
    """Draw what an hour on one target is worth through the night, in each filter."""
    report = hours_of(shelf, date)
    key = known_target(shelf, target)
    found = next(one for one in report.targets if one.target == key)
    if not report.times_utc:
        raise SkySaysNo(Problem(report.sentence))
    drawn = light_drawings.target_weights_picture(report, found, look, width)
    return svg(drawn, f"light-{file_name(key)}")


@light.get("/pictures/month.svg", tags=["pictures"], response_class=Svg)
def month(shelf: Begun, look: Look, target: Target, date: Night = None, width: Wide = "wide") -> Svg:
    """Draw one target's nights: dark hours and what they are worth in each filter."""
    report = hours_of(shelf, date)
    key = known_target(shelf, target)
    found = next(one for one in report.targets if one.target == key)
    return svg(light_drawings.month_picture(report, found, look, width), f"month-{file_name(key)}")


@light.get("/pictures/exposure.svg", tags=["pictures"], response_class=Svg)
def one_exposure(shelf: Begun, look: Look, asked: Exposed, width: Wide = "wide") -> Svg:
    """Draw what read noise adds over the length of one exposure."""
    return svg(light_drawings.read_noise_picture(exposures_of(shelf, asked), look, width), "exposure")


@light.get("/pictures/snr.svg", tags=["pictures"], response_class=Svg)
def reached(shelf: Begun, look: Look, asked: Exposed, width: Wide = "wide") -> Svg:
    """Draw the signal-to-noise that hours reach."""
    report = exposures_of(shelf, asked)
    if report.curves.snr_per_arcsec2 is None:
        raise BadInput(Problem("The object's brightness is not known.", suggestion="Give it in mag/arcsec²."))
    return svg(light_drawings.snr_picture(report, look, width), "signal-to-noise")
