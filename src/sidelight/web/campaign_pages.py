"""The campaign on the page: bars and odds, other goals tried out, and kept only when the person says."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response
from pydantic import Field

from sidelight.desk.campaign_records import CampaignReport
from sidelight.desk.chosen import NO_TARGETS
from sidelight.desk.what_if import HoursWish, KeptGoals, keep_wishes, with_wishes
from sidelight.ground.errors import BadInput, Problem
from sidelight.web.asked import Begun, Look, Night, Wide
from sidelight.web.bodies import BegunJob, Name, Strict
from sidelight.web.drawn import Svg, svg
from sidelight.web.job_pages import begun, jobs_of
from sidelight.web.jobs import Job, Jobs
from sidelight.web.ledger_bodies import Day
from sidelight.web.models import Plain, model_of
from sidelight.web.refusals import RESPONSES
from sidelight.web.render import show

campaign = APIRouter(responses=RESPONSES)
Played = Annotated[str, Query(max_length=64, description="The finished job whose answer is meant.")]
FILES = {"csv": "text/csv; charset=utf-8", "ecsv": "text/plain; charset=utf-8", "ics": "text/calendar; charset=utf-8"}


class Wish(Strict):
    """Effective hours wanted of a target in a filter, "" for hours in all."""

    target: Name
    filter: str = Field(default="", max_length=60)
    hours_h: float = Field(gt=0.0, le=10_000.0, allow_inf_nan=False)


class CampaignQuestion(Strict):
    """A campaign to be planned and played; goals in place of the notebook's are tried out, not written.

    give_up : also what giving up one target, and a further night a week, would do.
    """

    date: Day | None = None
    nights: int | None = Field(default=None, ge=1, le=800)
    goals: list[Wish] = Field(default_factory=list, max_length=200)
    give_up: bool = False


class Wishes(Strict):
    """Goals to be written into the notebook."""

    goals: list[Wish] = Field(min_length=1, max_length=200)


@campaign.get("/campaign", response_class=HTMLResponse, include_in_schema=False)
def page(request: Request, shelf: Begun, date: Night = None) -> Response:
    """Show the campaign's frame; the job itself is begun by the page."""
    book = shelf.book()
    first = date or shelf.tonight()
    return show(
        request,
        "campaign.html",
        title="Campaign",
        date=first,
        date_given=date,
        nights=book.campaign.nights.planned_nights_count,
        targets=[target.key for target in book.targets],
        no_targets=NO_TARGETS,
    )


def wishes_of(goals: list[Wish]) -> tuple[HoursWish, ...]:
    """Return goals as the desk takes them."""
    return tuple(HoursWish(one.target, one.filter, one.hours_h) for one in goals)


@campaign.post("/api/jobs/campaign", tags=["jobs"], response_model=BegunJob, status_code=202)
def begin(request: Request, shelf: Begun, body: CampaignQuestion) -> Response:
    """Begin to plan and play a campaign; what was asked and answered before is answered again."""
    with_wishes(shelf.book(), wishes_of(body.goals))
    asked = {**body.model_dump(mode="json"), "date": str(body.date or shelf.tonight())}
    job: dict[str, str] = shelf.once(
        ("campaign", str(sorted(asked.items()))), dict
    )  # forgotten when the notebook changes
    found = _under_way(jobs_of(request), job.get("name"))
    if found is None:
        found = jobs_of(request).start("campaign", asked)
        job["name"] = found.name
    return begun(found)


def _under_way(jobs: Jobs, name: str | None) -> Job | None:
    """Return a job that is running or done, None when it has to be begun."""
    try:
        found = jobs.find(name) if name else None
    except BadInput:
        return None
    return found if found and found.state in ("running", "done") else None


def _answer(request: Request, name: str) -> dict[str, Any]:
    """Return what a campaign's job has given."""
    job = jobs_of(request).find(name)
    if job.kind != "campaign" or job.state != "done":
        raise BadInput(Problem("There is no campaign of that name.", suggestion="Begin the job again."))
    found: dict[str, Any] = job.result
    return found


@campaign.get("/api/campaign", tags=["reports"], response_model=model_of(CampaignReport), response_class=Plain)
def report(request: Request, _: Begun, job: Played) -> Response:
    """Return the campaign that a job has planned and played."""
    return JSONResponse(_answer(request, job)["report"])


@campaign.get("/pictures/campaign.svg", tags=["pictures"], response_class=Svg)
def plan(request: Request, look: Look, job: Played, width: Wide = "wide") -> Svg:
    """Draw the plan's nights as bars."""
    return _drawn(request, job, "campaign", look, width)


@campaign.get("/pictures/odds.svg", tags=["pictures"], response_class=Svg)
def odds(request: Request, look: Look, job: Played, width: Wide = "wide") -> Svg:
    """Draw the odds of being done over the calendar."""
    return _drawn(request, job, "odds", look, width)


def _drawn(request: Request, job: str, name: str, look: str, width: str) -> Svg:
    """Return one of the pictures that came with the answer."""
    drawn = _answer(request, job)["pictures"].get(f"{name} {look} {width}")
    if drawn is None:
        raise BadInput(Problem("This campaign has no such picture."))
    return svg(drawn, name)


@campaign.get("/files/campaign.{kind}", tags=["reports"], response_class=Response)
def file(request: Request, kind: Literal["csv", "ecsv", "ics"], job: Played) -> Response:
    """Return the plan as CSV, ECSV or iCalendar."""
    named = {"content-disposition": f'attachment; filename="campaign.{kind}"'}
    return Response(_answer(request, job)["files"][kind], media_type=FILES[kind], headers=named)


@campaign.put("/api/goals", tags=["campaign"], response_model=model_of(KeptGoals), response_class=Plain)
def keep(shelf: Begun, body: Wishes) -> Response:
    """Write goals into the notebook."""
    return Plain(keep_wishes(shelf.book(), wishes_of(body.goals)))
