"""Changing the notebook: every key by its form, the skyline, the first notebook; the same checks as by hand."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel

from sidelight.desk.beginning import begin_from_answers, check_part
from sidelight.desk.form_changes import add_typed_row, change_values, leave_out_table, take_row
from sidelight.desk.forms import NotebookForm, notebook_form
from sidelight.desk.skyline import Skyline, change_skyline, skyline
from sidelight.ground.errors import BadInput
from sidelight.web.asked import Begun, Night
from sidelight.web.bodies import Answers, SkylinePoints, TypedRow, TypedValues, Written
from sidelight.web.models import Plain, model_of
from sidelight.web.refusals import RESPONSES
from sidelight.web.render import shelf_of

editing = APIRouter(prefix="/api", default_response_class=Plain, responses=RESPONSES)
Text = Annotated[str, Query(min_length=1, max_length=200)]
SeenPrint = Annotated[str | None, Query(max_length=64)]


class FilesWritten(BaseModel):
    """The files of a notebook that has been begun."""

    files: list[str]


class Checked(BaseModel):
    """Answers that will do."""

    part: str


@editing.get("/notebook", tags=["notebook"], response_model=model_of(NotebookForm))
def forms(shelf: Begun) -> Response:
    """Return every key of every file with what it says and what it accepts; works for a broken notebook too."""
    return Plain(notebook_form(shelf.folder))


@editing.patch("/notebook/values", tags=["notebook"], response_model=Written)
def values(shelf: Begun, body: TypedValues) -> Response:
    """Set keys of one file, together or not at all; notes in the file stay."""
    return _written(body.file, change_values(shelf.folder, body.file, body.values, body.seen))


@editing.post("/notebook/rows", tags=["notebook"], response_model=Written)
def row(shelf: Begun, body: TypedRow) -> Response:
    """Add a row to a table that repeats."""
    return _written(body.file, add_typed_row(shelf.folder, body.file, body.table, body.values, body.seen))


@editing.delete("/notebook/rows", tags=["notebook"], response_model=Written)
def no_row(
    shelf: Begun, file: Text, table: Text, number: Annotated[int, Query(ge=0, le=10000)], seen: SeenPrint = None
) -> Response:
    """Take a row out of a table that repeats."""
    return _written(file, take_row(shelf.folder, file, table, number, seen))


@editing.delete("/notebook/tables", tags=["notebook"], response_model=Written)
def no_table(shelf: Begun, file: Text, table: Text, seen: SeenPrint = None) -> Response:
    """Switch a table off as a whole; its lines stay as notes."""
    return _written(file, leave_out_table(shelf.folder, file, table, seen))


@editing.get("/notebook/skyline", tags=["notebook"], response_model=model_of(Skyline))
def read_skyline(shelf: Begun, date: Night = None) -> Response:
    """Return the skyline with the targets' paths in one night."""
    return Plain(skyline(shelf.book(), date or shelf.tonight()))


@editing.put("/notebook/skyline", tags=["notebook"], response_model=Written)
def write_skyline(shelf: Begun, body: SkylinePoints) -> Response:
    """Replace the skyline's points; notes in the file stay."""
    return _written("horizon.txt", change_skyline(shelf.folder, body.points_deg, body.seen))


def _written(file: str, fingerprint: str) -> Response:
    """Return the file's new fingerprint."""
    return Plain({"fingerprint": fingerprint, "words": f"{file} is written."})


@editing.post("/begin/check", tags=["notebook"], response_model=Checked)
def check(body: Answers) -> Response:
    """Tell whether the answers to one part of a new notebook will do."""
    part = body.part or "site"
    problems = check_part(part, body.answers, body.targets)
    if problems:
        raise BadInput(problems)
    return Plain({"part": part})


@editing.post("/begin", tags=["notebook"], response_model=FilesWritten, status_code=201)
def begin(request: Request, body: Answers) -> Response:
    """Write a new notebook into this server's folder; a folder that holds one is refused."""
    written = begin_from_answers(shelf_of(request).folder, body.answers, body.targets)
    return Plain({"files": written}, 201)
