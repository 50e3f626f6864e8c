"""Turning the dial: its numbers, solving begun in the background, and set-ups kept by name."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from sidelight.desk.keeping import KeptList, TurnedPose, keep_turned, let_go, put_in_use
from sidelight.desk.live import live_dial
from sidelight.web.asked import Begun, Night
from sidelight.web.bodies import BegunJob, DialQuestion, StarsQuestion, TurnedSetUp
from sidelight.web.dial import Turning, turning
from sidelight.web.job_kinds import setup_question
from sidelight.web.job_pages import begun, jobs_of
from sidelight.web.models import Plain, model_of
from sidelight.web.refusals import RESPONSES
from sidelight.web.shelf import Shelf

turn = APIRouter(prefix="/api", default_response_class=Plain, responses=RESPONSES)
Named = Annotated[str, Query(min_length=1, max_length=200)]


@turn.get("/dial", tags=["set-up"], response_model=model_of(Turning))
def dial(shelf: Begun, date: Night = None, nights: Annotated[int, Query(ge=1, le=400)] = 30) -> Response:
    """Return the dial for the free question: stars, outlines, needs, and the set-ups to jump to."""
    night = date or shelf.tonight()
    return Plain(
        shelf.once(("turning", night, nights), lambda: _free(shelf, DialQuestion(date=night, nights=nights)))
    )


def _free(shelf: Shelf, body: DialQuestion) -> Turning:
    """Return the dial of a question."""
    question = setup_question(body.model_dump(mode="json"), shelf.tonight())
    return turning(live_dial(shelf.book(), question, shelf.solved(question)))


@turn.post("/jobs/dial", tags=["jobs"], response_model=BegunJob, status_code=202)
def begin_dial(request: Request, shelf: Begun, body: DialQuestion) -> Response:
    """Begin to solve a set-up under conditions."""
    shelf.book()
    return begun(jobs_of(request).start("dial", body.model_dump(mode="json")))


@turn.post("/jobs/stars", tags=["jobs"], response_model=BegunJob, status_code=202)
def begin_stars(request: Request, shelf: Begun, body: StarsQuestion) -> Response:
    """Begin to fetch deeper stars round every target; this asks the service that stars.toml names."""
    shelf.book()
    return begun(jobs_of(request).start("stars", body.model_dump(mode="json")))


@turn.post("/setups", tags=["set-up"], response_model=model_of(KeptList))
def keep(shelf: Begun, body: TurnedSetUp) -> Response:
    """Keep angles by name, as they stand on the dial."""
    poses = [TurnedPose(one.target, one.ra_deg, one.dec_deg, one.camera_angle_deg) for one in body.poses]
    today = shelf.tonight()
    book, stem_deg = shelf.book(), body.stem_offset_deg
    return Plain(
        keep_turned(book, body.name, poses, stem_deg, today, body.in_use, body.note, replacing=body.replacing)
    )


@turn.put("/setups/in-use", tags=["set-up"], response_model=model_of(KeptList))
def use(shelf: Begun, name: Named) -> Response:
    """Say which kept set-up is on the telescope."""
    return Plain(put_in_use(shelf.book(), name))


@turn.delete("/setups", tags=["set-up"], response_model=model_of(KeptList))
def forget(shelf: Begun, name: Named) -> Response:
    """Let a kept set-up go."""
    return Plain(let_go(shelf.book(), name))
