"""Jobs in the background: how far one is, what it has given, and stopping it."""

import time
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response

from sidelight.ground.errors import BadInput, Problem
from sidelight.web.bodies import JobState
from sidelight.web.jobs import Job, Jobs
from sidelight.web.models import Plain
from sidelight.web.refusals import RESPONSES

jobs = APIRouter(prefix="/api/jobs", tags=["jobs"], default_response_class=Plain, responses=RESPONSES)


def jobs_of(request: Request) -> Jobs:
    """Return the server's list of jobs."""
    found = request.app.state.jobs
    assert isinstance(found, Jobs)
    return found


def begun(job: Job) -> Response:
    """Return the name by which a job is looked at."""
    return JSONResponse({"name": job.name, "state": job.state}, 202)


@jobs.get("/{name}", response_model=JobState)
def look(request: Request, name: str) -> Response:
    """Tell how far a job is."""
    return Plain(_state(jobs_of(request).find(name)))


@jobs.get("/{name}/answer", response_model=dict[str, Any])
def answer(request: Request, name: str) -> Response:
    """Return what a job has given."""
    job = jobs_of(request).find(name)
    if job.state != "done":
        raise BadInput(Problem("There is no answer yet.", suggestion="Look at the job's state first."))
    return JSONResponse(job.result)


@jobs.delete("/{name}", response_model=JobState)
def stop(request: Request, name: str) -> Response:
    """Stop a job at once."""
    return Plain(_state(jobs_of(request).stop(name)))


def _state(job: Job) -> dict[str, Any]:
    """Return a job as JSON."""
    until = job.ended_s or time.monotonic()
    return {
        "name": job.name,
        "state": job.state,
        "done_fraction": job.done_fraction,
        "words": job.words,
        "seconds": until - job.began_s,
        "refusal": job.refusal,
    }
