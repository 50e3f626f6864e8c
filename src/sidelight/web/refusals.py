"""Refusals: one shape for programs, one page for people, the same words as on the command line."""

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, Literal

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from sidelight.ground.errors import BadInput, OurFault, Problem, SidelightError, SkySaysNo
from sidelight.web.refused_values import refused_value
from sidelight.web.render import show

Kind = Literal["bad_input", "sky_says_no", "our_fault"]


class ProblemShape(BaseModel):
    """One thing that is wrong; `text` is the whole of it as the command line would print it."""

    message: str
    file: str | None = None
    key: str | None = None
    line: int | None = None
    expected: str | None = None
    suggestion: str | None = None
    text: str


class Refusal(BaseModel):
    """What every refused request is answered with."""

    kind: Kind
    problems: list[ProblemShape]


class NotBegunError(Exception):
    """The folder holds no notebook: none yet, and a page leads to its beginning; or, `gone`, no longer."""

    def __init__(self, folder: Path, gone: bool) -> None:
        super().__init__(str(folder))
        self.folder = folder
        self.gone = gone


KINDS: dict[int, tuple[Kind, int]] = {
    BadInput.exit_code: ("bad_input", 422),
    SkySaysNo.exit_code: ("sky_says_no", 409),
    OurFault.exit_code: ("our_fault", 500),
}
"""By the exit code, for a room may have errors of its own: a star service without an answer is no fault of ours."""
RESPONSES: dict[int | str, dict[str, Any]] = {
    code: {"model": Refusal, "description": words}
    for code, words in (
        (404, "There is no such thing here."),
        (409, "The request is fine, the sky or the rig does not allow it."),
        (422, "The words or files cannot be used; nothing was changed."),
    )
}
MISTAKE = "This is a mistake of the program's, not yours; nothing of yours was changed."


def shaped(kind: Kind, problems: Sequence[Problem]) -> dict[str, Any]:
    """Return a refusal's body."""
    return {"kind": kind, "problems": [{**asdict(one), "text": str(one)} for one in problems]}


def refuse(request: Request, kind: Kind, status: int, problems: Sequence[Problem]) -> Response:
    """Answer a program with the shape, a person with a page."""
    if request.url.path.startswith("/api/") or "text/html" not in request.headers.get("accept", ""):
        return JSONResponse(shaped(kind, problems), status)
    return show(request, "problems.html", status, title="To be mended", kind=kind, problems=problems)


def of_error(error: SidelightError) -> tuple[Kind, int]:
    """Return the kind and the status of a refusal."""
    return KINDS.get(error.exit_code, ("our_fault", 500))


def install(app: FastAPI) -> None:
    """Teach the program to answer every error in these two ways."""

    @app.exception_handler(SidelightError)
    def _refused(request: Request, error: SidelightError) -> Response:
        kind, status = of_error(error)
        return refuse(request, kind, status, error.problems)

    @app.exception_handler(NotBegunError)
    def _not_begun(request: Request, lost: NotBegunError) -> Response:
        if lost.gone:
            return _gone(request, lost.folder)
        if _for_a_program(request):
            advice = "Open this server's page and begin a notebook, or run sidelight init."
            return refuse(request, "bad_input", 409, [Problem("There is no notebook here yet.", suggestion=advice)])
        return RedirectResponse("/begin", 303)

    @app.exception_handler(RequestValidationError)
    def _not_valid(request: Request, error: RequestValidationError) -> Response:
        return refuse(request, "bad_input", 422, [refused_value(one) for one in error.errors()])

    @app.exception_handler(HTTPException)
    def _http(request: Request, error: HTTPException) -> Response:
        words = {404: "There is no such page.", 405: "This cannot be done here."}
        message = words.get(error.status_code, str(error.detail))
        advice = "Start again from the row of pages." if error.status_code == 404 else None
        answer = refuse(request, "bad_input", error.status_code, [Problem(message, suggestion=advice)])
        for name, value in (error.headers or {}).items():
            answer.headers[name] = value
        return answer

    @app.exception_handler(Exception)
    def _mistake(request: Request, _: Exception) -> Response:
        return refuse(request, "our_fault", 500, [Problem(MISTAKE)])


def gone_words(folder: Path) -> str:
    """Say that a notebook that was there is there no longer."""
    place = folder.absolute()
    if place.is_dir():
        return f"The notebook's files in {place} are gone (moved or deleted)."
    return f"The folder {place} is gone (moved, deleted, or its drive is off)."


def _gone(request: Request, folder: Path) -> Response:
    """Answer while the notebook is gone: a new one is begun only by somebody who asks for that."""
    message = gone_words(folder)
    if _for_a_program(request):
        advice = "Put it back and ask again; or open this server's page and begin a new notebook."
        return refuse(request, "bad_input", 409, [Problem(message, suggestion=advice)])
    return show(request, "gone.html", 409, title="Gone", message=message)


def _for_a_program(request: Request) -> bool:
    """Tell whether an answer is for a program, or to stand inside a page."""
    return request.url.path.startswith(("/api/", "/pictures/", "/files/"))
