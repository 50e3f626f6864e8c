"""The ledger on the page: what was collected, frames that do not count, hours by hand, folders taken in."""

import datetime as dt
import ipaddress
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from sidelight.cards.ledger_drawings import collected_picture
from sidelight.desk.ledger_decisions import (
    ChangeReport,
    assign_frames,
    enter_hours,
    exclude_frames,
    restore_frames,
    take_back_hours,
)
from sidelight.desk.ledger_show import FramesReport, LedgerReport, frames_report, ledger_report
from sidelight.ground.errors import BadInput, Problem
from sidelight.web.asked import Begun, Look, Night, Wide
from sidelight.web.bodies import BegunJob
from sidelight.web.drawn import Svg, known_target, svg
from sidelight.web.job_kinds import folder_of
from sidelight.web.job_pages import begun, jobs_of
from sidelight.web.ledger_bodies import Folders, Frames, GivenFrames, HandHours
from sidelight.web.models import Plain, model_of
from sidelight.web.refusals import RESPONSES
from sidelight.web.render import show
from sidelight.web.shelf import Shelf

ledger = APIRouter(responses=RESPONSES)
Change = model_of(ChangeReport)


def collected(shelf: Shelf) -> LedgerReport:
    """Return everything collected."""
    return shelf.once("ledger", lambda: ledger_report(shelf.book()))


def at_this_machine(request: Request) -> bool:
    """Tell whether the person sits at the machine whose folders would be read."""
    try:
        return request.client is not None and ipaddress.ip_address(request.client.host).is_loopback
    except ValueError:
        return False


@ledger.get("/ledger", response_class=HTMLResponse, include_in_schema=False)
def page(request: Request, shelf: Begun, date: Night = None) -> Response:
    """Show what was collected, what is missing, and what the first image says."""
    book, report = shelf.book(), collected(shelf)
    return show(
        request,
        "ledger.html",
        title="Ledger",
        report=report,
        targets=[target.key for target in book.targets],
        filters=[one.name for one in book.light.filters],
        setups=book.setups,
        guided=book.rig.guider is not None,
        rows_by_night=sorted(report.rows, key=lambda row: row.night or dt.date.max, reverse=True),
        nights=sorted({row.night for row in report.rows if row.night and row.frames_count}, reverse=True),
        date_given=date,
        here_sits=at_this_machine(request),
    )


@ledger.get("/pictures/collected.svg", tags=["pictures"], response_class=Svg)
def picture(shelf: Begun, look: Look, width: Wide = "wide") -> Svg:
    """Draw what was collected of what is wanted."""
    return svg(collected_picture(collected(shelf), look, width), "collected")


@ledger.get("/api/ledger", tags=["ledger"], response_model=model_of(LedgerReport))
def whole(shelf: Begun) -> Response:
    """Return everything collected and what is missing."""
    return Plain(collected(shelf))


@ledger.get("/api/ledger/frames", tags=["ledger"], response_model=model_of(FramesReport))
def frames(
    shelf: Begun,
    target: Annotated[str | None, Query(max_length=200)] = None,
    night: Night = None,
    not_counted: bool = False,
) -> Response:
    """Return frames in the order of time: of one target, of one night, or those that do not count."""
    only = (known_target(shelf, target),) if target else ()
    return Plain(frames_report(shelf.book(), only, night, not_counted=not_counted))


@ledger.post("/api/ledger/exclude", tags=["ledger"], response_model=Change)
def exclude(shelf: Begun, body: Frames) -> Response:
    """Let frames not count; nothing is deleted."""
    return Plain(exclude_frames(shelf.book(), body.frames, body.reason))


@ledger.post("/api/ledger/restore", tags=["ledger"], response_model=Change)
def restore(shelf: Begun, body: Frames) -> Response:
    """Let excluded frames count again."""
    return Plain(restore_frames(shelf.book(), body.frames))


@ledger.post("/api/ledger/assign", tags=["ledger"], response_model=Change)
def assign(shelf: Begun, body: GivenFrames) -> Response:
    """Give frames to a target by hand, or take them from it."""
    return Plain(assign_frames(shelf.book(), body.target, body.frames))


@ledger.post("/api/ledger/hours", tags=["ledger"], response_model=Change)
def enter(shelf: Begun, body: HandHours) -> Response:
    """Enter hours for which there are no files."""
    done = enter_hours(
        shelf.book(),
        body.target,
        body.hours_h,
        filter_name=body.filter,
        night=body.night,
        weight_ratio=body.weight,
        note=body.note,
    )
    return Plain(done)


@ledger.delete("/api/ledger/hours", tags=["ledger"], response_model=Change)
def take_back(shelf: Begun, number: Annotated[int, Query(ge=1, le=2**31)]) -> Response:
    """Take back hours that were entered by hand."""
    return Plain(take_back_hours(shelf.book(), number))


@ledger.post("/api/jobs/frames", tags=["jobs"], response_model=BegunJob, status_code=202)
def begin_frames(request: Request, shelf: Begun, body: Folders) -> Response:
    """Begin to take in the frames below folders of this machine; only who sits at it may."""
    shelf.book()
    if not at_this_machine(request):
        advice = "Do it at the machine on which Sidelight runs."
        raise BadInput(Problem("Folders are read only for who sits at this machine.", suggestion=advice))
    if not body.folders and not body.afresh:
        raise BadInput(Problem("No folder was named.", key="folders", expected="the whole path of a folder"))
    for one in body.folders:
        folder_of(one)
    return begun(jobs_of(request).start("frames", body.model_dump(mode="json")))
