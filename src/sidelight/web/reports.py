"""Reports for programs: the same JSON that the command line prints."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from sidelight.desk.bench_records import BenchReport
from sidelight.desk.finding import FoundObjects, add_target, find_objects, remove_target
from sidelight.desk.night_records import NightReport
from sidelight.desk.season import SeasonReport
from sidelight.desk.setup import SetupQuestion, SetupReport
from sidelight.desk.watch import FolderState
from sidelight.web.asked import Begun, Kept, Night
from sidelight.web.bodies import NewTarget, Written
from sidelight.web.drawn import known_target
from sidelight.web.models import Plain, model_of
from sidelight.web.refusals import RESPONSES
from sidelight.web.render import shelf_of

reports = APIRouter(prefix="/api", default_response_class=Plain, responses=RESPONSES)
ANGLE = Query(ge=-360.0, le=360.0, allow_inf_nan=False)


@reports.get("/season", tags=["reports"], response_model=model_of(SeasonReport))
def season(
    shelf: Begun,
    date: Night = None,
    nights: Annotated[int, Query(ge=1, le=800)] = 365,
    only: Annotated[str | None, Query(max_length=200)] = None,
) -> Response:
    """Tell when each target gives usable dark hours, night by night."""
    night = date or shelf.tonight()
    if only is None:
        return Plain(shelf.season(night, nights))
    return Plain(shelf.season(night, nights, drawings_of=known_target(shelf, only)))


@reports.get("/setup", tags=["reports"], response_model=model_of(SetupReport))
def setup(shelf: Begun, date: Night = None, kept: Kept = None) -> Response:
    """Return the set-up of a date: a kept one by name, else the one in use, else the best."""
    return Plain(shelf.setup(date or shelf.tonight(), kept))


@reports.get("/solve", tags=["reports"], response_model=model_of(SetupReport))
def solve(
    shelf: Begun,
    date: Night = None,
    nights: Annotated[int, Query(ge=1, le=400)] = 30,
    camera_angle_deg: Annotated[float | None, ANGLE] = None,
    stem_offset_deg: Annotated[float | None, ANGLE] = None,
    grant_shift_arcmin: Annotated[float | None, Query(ge=0.0, le=60.0)] = None,
    leave_out: Annotated[list[str] | None, Query(max_length=50)] = None,
) -> Response:
    """Return the best set-up under conditions; the page itself asks for this in the background."""
    question = SetupQuestion(
        date or shelf.tonight(),
        nights,
        camera_angle_deg,
        stem_offset_deg,
        grant_shift_arcmin,
        tuple(leave_out or ()),
    )
    return Plain(shelf.solved(question))


@reports.get("/bench", tags=["reports"], response_model=model_of(BenchReport))
def bench(shelf: Begun, date: Night = None, kept: Kept = None) -> Response:
    """Return the set-up as angles on the metal."""
    return Plain(shelf.bench(date or shelf.tonight(), kept))


@reports.get("/night", tags=["reports"], response_model=model_of(NightReport))
def night(shelf: Begun, date: Night = None, kept: Kept = None) -> Response:
    """Return one night's plan."""
    return Plain(shelf.night(date or shelf.tonight(), kept))


@reports.get("/objects", tags=["targets"], response_model=model_of(FoundObjects))
def objects(text: Annotated[str, Query(max_length=80)], most: Annotated[int, Query(ge=1, le=30)] = 8) -> Response:
    """Return objects of the catalogue for a name that is being typed."""
    return Plain(find_objects(text, most))


@reports.post("/targets", tags=["targets"], response_model=Written)
def add(shelf: Begun, body: NewTarget) -> Response:
    """Put an object on the list of targets."""
    return Plain(
        {"fingerprint": add_target(shelf.folder, body.name, body.seen), "words": f"{body.name} is on the list."}
    )


@reports.delete("/targets", tags=["targets"], response_model=Written)
def remove(
    shelf: Begun,
    name: Annotated[str, Query(max_length=200)],
    seen: Annotated[str | None, Query(max_length=64)] = None,
) -> Response:
    """Take a target off the list."""
    return Plain({"fingerprint": remove_target(shelf.folder, name, seen), "words": f"{name} is off the list."})


@reports.get("/notebook/state", tags=["notebook"], response_model=model_of(FolderState))
def state(request: Request) -> Response:
    """Return fingerprints of the notebook's files, to notice a change."""
    return Plain(shelf_of(request).state())
