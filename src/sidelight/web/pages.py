"""The pages that people read: season, bench, night, and the printable cards."""

import base64
import hashlib
import re
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from sidelight.cards.bench import bench_card, learnt_words, pole_words
from sidelight.cards.night import night_card
from sidelight.desk.beginning import asked_parts
from sidelight.desk.clock import utc
from sidelight.desk.forms import notebook_form
from sidelight.desk.night_records import NightReport, TargetNightReport
from sidelight.desk.setup import SetupQuestion
from sidelight.ground.errors import SkySaysNo
from sidelight.pictures.palette import Theme
from sidelight.web.asked import Begun, Kept, Night
from sidelight.web.render import LOOK_COOKIE, shelf_of, show

pages = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
A_YEAR_S = 365 * 86400


@pages.get("/")
def front(_: Begun) -> Response:
    """Lead to the first question."""
    return RedirectResponse("/season", 303)


@pages.post("/look")
def choose_look(request: Request, look: Annotated[str, Form(pattern="^(day|night)$")]) -> Response:
    """Remember which display the person wants."""
    answer = RedirectResponse(_same_page(request), 303)
    answer.set_cookie(LOOK_COOKIE, look, max_age=A_YEAR_S, samesite="strict", path="/")
    return answer


def _same_page(request: Request) -> str:
    """Return the path of the page that the request came from, never another host's."""
    found = re.match(r"https?://[^/]+(/[^/\\].*|/)$", request.headers.get("referer", ""))
    return found[1] if found else "/"


@pages.get("/season")
def season(request: Request, shelf: Begun, date: Night = None) -> Response:
    """Show when in the year each target gives usable dark hours."""
    first = date or shelf.tonight()
    return show(request, "season.html", title="Season", report=shelf.season(first), date=first, date_given=date)


@pages.get("/bench")
def bench(request: Request, shelf: Begun, date: Night = None, kept: Kept = None) -> Response:
    """Show the set-up as angles on the metal."""
    first = date or shelf.tonight()
    context = {"title": "Bench", "date": first, "date_given": date, "kept": kept, "setups": shelf.book().setups}
    setup = shelf.setup(first, kept)
    try:
        report = shelf.bench(first, kept)
    except SkySaysNo as refusal:
        return show(request, "bench.html", report=None, refusal=refusal.problems[0], setup=setup, **context)
    words = [line for line in (report.turns_together, report.budget_sentence, pole_words(report)) if line]
    words += [line for line in (learnt_words(report), *report.notes) if line and line != setup.goes_by]
    context["goes_by"] = setup.goes_by
    return show(request, "bench.html", report=report, words=words, setup=setup, **context)


@pages.get("/night")
def night(request: Request, shelf: Begun, date: Night = None, kept: Kept = None) -> Response:
    """Show tonight's run with the clock."""
    evening = date or shelf.tonight()
    report = shelf.night(evening, kept)
    times = report.curves.times_mjd
    return show(
        request,
        "night.html",
        title="Night",
        report=report,
        span=(utc(times[0]), utc(times[-1])) if len(times) else None,
        by_name={target.target: target for target in report.targets},
        in_order=in_order_of_the_run(report),
        flips=any(one.sides != ("any",) for one in report.plan),
        goes_by=report.set_up,
        date=evening,
        date_given=date,
        kept=kept,
        setups=shelf.book().setups,
        setup=shelf.setup(evening, kept),
    )


def in_order_of_the_run(report: NightReport) -> list[TargetNightReport]:
    """Return the night's targets: those that are planned as the run has them, then the others."""
    by_name = {target.target: target for target in report.targets}
    planned = [by_name[name] for name in dict.fromkeys(one.target for one in report.plan)]
    return planned + [target for target in report.targets if target not in planned]


@pages.get("/notebook")
def notebook(request: Request, shelf: Begun, date: Night = None) -> Response:
    """Show every file of the notebook as a form, and the skyline to be drawn."""
    form = notebook_form(shelf.folder)
    sound = not form.problems
    return show(
        request,
        "notebook.html",
        title="Notebook",
        form=form,
        sound=sound,
        wrong={problem.file for problem in form.problems},
        date=date or (shelf.tonight() if sound else None),
        date_given=date,
    )


@pages.get("/begin")
def begin(request: Request) -> Response:
    """Show the way from an empty folder to a notebook."""
    shelf = shelf_of(request)
    if shelf.state().begun:
        return RedirectResponse("/season", 303)
    return show(request, "begin.html", title="Begin", parts=asked_parts(), folder=str(shelf.folder.absolute()))


@pages.get("/cards/bench")
def bench_sheet(shelf: Begun, date: Night = None, kept: Kept = None, look: Theme = "print") -> Response:
    """Show the bench card by itself, to be printed."""
    return _card(bench_card(shelf.bench(date or shelf.tonight(), kept), look))


@pages.get("/cards/night")
def night_sheet(shelf: Begun, date: Night = None, kept: Kept = None, look: Theme = "print") -> Response:
    """Show the night card by itself, to be printed."""
    return _card(night_card(shelf.night(date or shelf.tonight(), kept), look))


def _card(html: str) -> Response:
    """Return a card; its own style sheet is the only thing in it that the browser may use."""
    styles = " ".join(
        f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
        for text in re.findall(r"<style>(.*?)</style>", html, re.DOTALL)
    )
    policy = f"default-src 'none'; style-src {styles}; frame-ancestors 'none'; base-uri 'none'"
    return HTMLResponse(html, headers={"content-security-policy": policy})


@pages.get("/setup")
def setup(request: Request, shelf: Begun, date: Night = None) -> Response:
    """Show the dial to be turned by hand."""
    first = date or shelf.tonight()
    report = shelf.solved(SetupQuestion(first))
    book = shelf.book()
    return show(
        request,
        "setup.html",
        title="Set-up",
        report=report,
        date=first,
        date_given=date,
        names=[target.key for target in book.targets],
        guided=book.rig.guider is not None,
    )
