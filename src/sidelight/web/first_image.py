"""The first image on the page: dropped, judged, pictured, learnt."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from sidelight.cards.drawings import dial_picture, field_picture, file_name
from sidelight.desk.first_image import check_images
from sidelight.desk.first_image_records import CheckQuestion, FirstImageReport
from sidelight.desk.sightings import GuideSpot
from sidelight.ground.errors import BadInput, Problem, SidelightError
from sidelight.web.asked import Begun, Look, Wide
from sidelight.web.drawn import Svg, svg
from sidelight.web.ledger_bodies import Checked, ImagesAsked, OnTray
from sidelight.web.models import Plain
from sidelight.web.refusals import RESPONSES
from sidelight.web.tray import LONGEST_FILE_BYTES, Tray

first_image = APIRouter(responses=RESPONSES)
BODY = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}
Check = Annotated[str, Query(max_length=64, description="What a check of images answered as its name.")]


def tray_of(request: Request) -> Tray:
    """Return this server's tray."""
    tray = request.app.state.tray
    assert isinstance(tray, Tray)
    return tray


@first_image.post(
    "/api/images", tags=["first image"], response_model=OnTray, response_class=Plain, openapi_extra=BODY
)
async def take(
    request: Request,
    _: Begun,
    name: Annotated[str, Query(min_length=1, max_length=300, description="The file's name.")],
    whole_bytes: Annotated[
        int | None,
        Query(ge=1, le=LONGEST_FILE_BYTES, description="The file's length when only its beginning is sent."),
    ] = None,
) -> Response:
    """Lay a solved FITS image on the tray; nothing is written into the notebook."""
    return Plain(await tray_of(request).take(name, request.stream(), whole_bytes))


@first_image.post("/api/check", tags=["first image"], response_model=Checked, response_class=Plain)
def check(request: Request, shelf: Begun, body: ImagesAsked) -> Response:
    """Say by solved images how camera and guider really stand: turn them, or leave them."""
    tray = tray_of(request)
    paths = tray.paths([one.image for one in body.images])
    sides = [one.side for one in body.images]
    if any(sides) and not all(sides):
        raise BadInput(Problem("Name the side of every image, or of none.", key="images.side"))
    spots = tuple(
        GuideSpot(str(path), one.guide_star.x_px, one.guide_star.y_px)
        for path, one in zip(paths, body.images, strict=True)
        if one.guide_star
    )
    known = tuple(side for side in sides if side is not None)
    question = CheckQuestion(paths, body.date, body.setup, known, spots, body.bench_day)
    try:
        report = tray.by_name(check_images(shelf.book(), question, keep=body.learn))
    except SidelightError as refusal:
        raise type(refusal)(tray.named(refusal.problems)) from refusal
    return Plain(
        {
            "check": tray.remember(report),
            "guided": bool(report.now and report.now.rings),
            "pictured": _pictured(report),
            "report": report,
        }
    )


def _pictured(report: FirstImageReport) -> list[str]:
    """Return the targets whose field can be drawn as it now stands."""
    return [field.target for field in report.now.fields] if report.now else []


@first_image.get("/pictures/now-dial.svg", tags=["pictures"], response_class=Svg)
def now_dial(request: Request, look: Look, check: Check, width: Wide = "wide") -> Svg:
    """Draw the dial with the needle where the guider now stands."""
    report = tray_of(request).recall(check)
    if report.now is None or not report.now.rings:
        raise BadInput(Problem("This rig has no guider, and so no dial."))
    return svg(dial_picture(report.now, look, width), "now-dial")


@first_image.get("/pictures/now-field.svg", tags=["pictures"], response_class=Svg)
def now_field(
    request: Request,
    look: Look,
    check: Check,
    target: Annotated[str, Query(max_length=200)],
    width: Wide = "narrow",
) -> Svg:
    """Draw one target's field with frame and guide sensor as they now stand."""
    now = tray_of(request).recall(check).now
    found = next((one for one in now.fields if one.target == target), None) if now else None
    if found is None:
        raise BadInput(Problem(f'"{target}" has no field in this check.'))
    name = f"now-field-{file_name(target)}"
    return svg(field_picture(found, look, width), name)
