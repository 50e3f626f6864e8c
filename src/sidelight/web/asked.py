"""What a request may ask: the parameters that several pages share, each with its range."""

import datetime as dt
from typing import Annotated

from fastapi import Depends, Query, Request

from sidelight.ground.dates import FIRST_DATE, LAST_DATE
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.web.refusals import NotBegunError
from sidelight.web.render import look_of, shelf_of
from sidelight.web.shelf import Shelf


def begun_shelf(request: Request) -> Shelf:
    """Return the shelf of a notebook that has been begun; else the person is led to its beginning."""
    shelf = shelf_of(request)
    if not shelf.state().begun:
        raise NotBegunError(shelf.folder, gone=shelf.held)
    return shelf


def picture_look(request: Request, look: Annotated[Theme | None, Query()] = None) -> Theme:
    """Return the look that is asked for, else the person's own."""
    return look or look_of(request)


Begun = Annotated[Shelf, Depends(begun_shelf)]
Look = Annotated[Theme, Depends(picture_look)]
Night = Annotated[
    dt.date | None,
    Query(ge=FIRST_DATE, le=LAST_DATE, description="The local date of the night's evening; tonight if left out."),
]
Target = Annotated[str, Query(max_length=200, description="A target of the list, by its name.")]
Kept = Annotated[
    str | None,
    Query(alias="setup", max_length=200, description="A set-up kept by name; the one in use, else the best."),
]
Wide = Annotated[Width, Query(description="For a desk, or for a phone held upright.")]
