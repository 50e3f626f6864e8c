"""Turning the dial: its numbers, long solving in the background, and set-ups kept by name."""

import time
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import JSONResponse, Response

from sidelight.desk.keeping import KeptList, TurnedPose, keep_turned, let_go, put_in_use
from sidelight.desk.live import live_dial
from sidelight.ground.errors import BadInput, Problem
from sidelight.web.asked import Begun as BegunShelf
from sidelight.web.asked import Night
from sidelight.web.bodies import Begun, DialQuestion, StarsQuestion, TurnedSetUp, WorkState
from sidelight.web.dial import Turning, turning
from sidelight.web.jobs import Job, Jobs
from sidelight.web.models import Plain, model_of
from sidelight.web.refusals import RESPONSES
from sidelight.web.shelf import Shelf
from sidelight.web.work import setup_question

turn = APIRouter(prefix="/api", default_response_class=Plain, responses=RESPONSES)
Named = Annotated[str, Query(min_length=1, max_length=200)]


def jobs_of(request: Request) -> Jobs:
    """Return the list of long work."""
    jobs = request.app.state.jobs
    assert isinstance(jobs, Jobs)
    return jobs


@turn.get("/dial", tags=["set-up"], response_model=model_of(Turning))
def dial(shelf: BegunShelf, date: Night = None, nights: Annotated[int, Query(ge=1, le=400)] = 30) -> Response:
    """Return the dial for the free question: stars, outlines, needs, and the set-ups to jump to."""
    night = date or shelf.tonight()
    return Plain(
        shelf.once(("turning", night, nights), lambda: _free(shelf, DialQuestion(date=night, nights=nights)))
    )


def _free(shelf: Shelf, body: DialQuestion) -> Turning:
    """Return the dial of a question."""
    question = setup_question(body.model_dump(mode="json"), shelf.tonight())
    return turning(live_dial(shelf.book(), question, shelf.solved(question)))


@turn.post("/work/dial", tags=["work"], response_model=Begun, status_code=202)
def begin_dial(request: Request, shelf: BegunShelf, body: DialQuestion) -> Response:
    """Begin to solve a set-up under conditions."""
    shelf.book()
    return _begun(jobs_of(request).start("dial", body.model_dump(mode="json")))


@turn.post("/work/stars", tags=["work"], response_model=Begun, status_code=202)
def begin_stars(request: Request, shelf: BegunShelf, body: StarsQuestion) -> Response:
    """Begin to fetch deeper stars round every target; this asks the service that stars.toml names."""
    shelf.book()
    return _begun(jobs_of(request).start("stars", body.model_dump(mode="json")))


def _begun(job: Job) -> Response:
    """Return the name by which a piece of work is looked at."""
    return JSONResponse({"name": job.name, "state": job.state}, 202)


@turn.get("/work/{name}", tags=["work"], response_model=WorkState)
def look(request: Request, name: str) -> Response:
    """Tell how far a piece of work is."""
    return Plain(_state(jobs_of(request).find(name)))


@turn.get("/work/{name}/answer", tags=["work"], response_model=dict[str, Any])
def answer(request: Request, name: str) -> Response:
    """Return what a piece of work has given."""
    job = jobs_of(request).find(name)
    if job.state != "done":
        raise BadInput(Problem("There is no answer yet.", suggestion="Look at the work's state first."))
    return JSONResponse(job.result)


@turn.delete("/work/{name}", tags=["work"], response_model=WorkState)
def stop(request: Request, name: str) -> Response:
    """Stop a piece of work at once."""
    return Plain(_state(jobs_of(request).stop(name)))


def _state(job: Job) -> dict[str, Any]:
    """Return a piece of work as JSON."""
    until = job.ended_s or time.monotonic()
    return {
        "name": job.name,
        "state": job.state,
        "done_fraction": job.done_fraction,
        "words": job.words,
        "seconds": until - job.began_s,
        "refusal": job.refusal,
    }


@turn.post("/setups", tags=["set-up"], response_model=model_of(KeptList))
def keep(shelf: BegunShelf, body: TurnedSetUp) -> Response:
    """Keep angles by name, as they stand on the dial."""
    poses = [TurnedPose(one.target, one.ra_deg, one.dec_deg, one.camera_angle_deg) for one in body.poses]
    today = shelf.tonight()
    return Plain(keep_turned(shelf.book(), body.name, poses, body.stem_offset_deg, today, body.in_use, body.note))


@turn.put("/setups/in-use", tags=["set-up"], response_model=model_of(KeptList))
def use(shelf: BegunShelf, name: Named) -> Response:
    """Say which kept set-up is on the telescope."""
    return Plain(put_in_use(shelf.book(), name))


@turn.delete("/setups", tags=["set-up"], response_model=model_of(KeptList))
def forget(shelf: BegunShelf, name: Named) -> Response:
    """Let a kept set-up go."""
    return Plain(let_go(shelf.book(), name))
