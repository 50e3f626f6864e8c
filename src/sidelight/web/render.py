"""Templates, and what every page has around it."""

import datetime as dt
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from urllib.parse import urlencode

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined

from sidelight import __version__
from sidelight.ground.errors import SidelightError
from sidelight.pictures.palette import Theme, palette
from sidelight.web.shelf import Shelf
from sidelight.web.words import FILTERS

LOOK_COOKIE = "sidelight_look"


@dataclass(frozen=True)
class Tab:
    """One page in the row of pages: what question it answers stands beside it on a desk."""

    path: str
    name: str
    question: str


TABS = (
    Tab("/season", "Season", "What am I about to lose?"),
    Tab("/setup", "Set-up", "Which two angles serve them all?"),
    Tab("/bench", "Bench", "What is that on the metal?"),
    Tab("/night", "Night", "What do I shoot, and when?"),
    Tab("/light", "Light", "What is an hour worth?"),
    Tab("/campaign", "Campaign", "Will it be finished?"),
    Tab("/ledger", "Ledger", "What have I got?"),
    Tab("/notebook", "Notebook", "Site, rig, skyline, targets"),
)


@lru_cache(maxsize=1)
def environment() -> Environment:
    """Return the templates, with everything escaped that is not marked as HTML."""
    made = Environment(
        loader=PackageLoader("sidelight.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(FILTERS)
    return made


def look_of(request: Request) -> Theme:
    """Return the display that the person has chosen: day, or the red one for dark-adapted eyes."""
    return "night" if request.cookies.get(LOOK_COOKIE) == "night" else "day"


def shelf_of(request: Request) -> Shelf:
    """Return the shelf of this server's notebook."""
    shelf = request.app.state.shelf
    assert isinstance(shelf, Shelf)
    return shelf


def query(**values: object) -> str:
    """Return a query string of the values that are given."""
    return urlencode({name: str(value) for name, value in values.items() if value not in (None, "")})


def show(request: Request, template: str, status: int = 200, /, **context: Any) -> HTMLResponse:  # noqa: ANN401
    """Return a page."""
    look = look_of(request)
    date: dt.date | None = context.get("date_given")
    values = {
        "look": look,
        "paper": palette(look).paper,
        "tabs": TABS,
        "here": request.url.path,
        "version": __version__,
        "keep_date": f"?date={date}" if date else "",
        "query": query,
        "place": _place(request),
        **context,
    }
    return HTMLResponse(environment().get_template(template).render(values), status)


def _place(request: Request) -> dict[str, str] | None:
    """Return the site's name and zone for the page's head, None while the notebook cannot be read."""
    shelf = shelf_of(request)
    try:
        if not shelf.state().begun:
            return None
        site = shelf.book().site
    except SidelightError:
        return {"name": shelf.folder.name, "zone": "", "folder": str(shelf.folder)}
    return {"name": site.name, "zone": site.time_zone, "folder": str(shelf.folder)}
