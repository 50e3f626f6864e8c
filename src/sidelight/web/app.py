"""The page as a whole: its parts, its door."""

from pathlib import Path

from fastapi import APIRouter, FastAPI
from fastapi.responses import Response
from starlette.staticfiles import StaticFiles

from sidelight import __version__
from sidelight.pictures.palette import Palette, palette
from sidelight.web import refusals
from sidelight.web.campaign_pages import campaign
from sidelight.web.drawn import pictures
from sidelight.web.editing import editing
from sidelight.web.first_image import first_image
from sidelight.web.guard import App, Door, Guard
from sidelight.web.job_pages import jobs
from sidelight.web.jobs import Jobs
from sidelight.web.ledger_pages import ledger
from sidelight.web.light_pages import light
from sidelight.web.pages import pages
from sidelight.web.reports import reports
from sidelight.web.shelf import Shelf
from sidelight.web.tray import Tray
from sidelight.web.turn import turn

DAY_TEXT = "--text-plain: var(--ink); --text-soft: var(--soft-ink); --text-mark: var(--overlay);"
RED_TEXT = "--text-plain: #ee0000; --text-soft: #ee0000; --text-mark: #ee0000;"
"""Pure red on black has a contrast of 5.25 (WCAG 2.2) and text has to have 4.5, so there is one red to write in."""
STATIC = Path(__file__).parent / "static"
ROUTERS: tuple[APIRouter, ...] = (pages, pictures, reports, turn, jobs, editing, ledger, first_image, light, campaign)


def make_app(folder: Path) -> FastAPI:
    """Return the page of one notebook's folder, without its door."""
    app = FastAPI(
        title="Sidelight",
        version=__version__,
        summary="The season, set-up, bench and night of one notebook.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    app.state.shelf = Shelf(folder)
    app.state.jobs = Jobs(folder)
    app.state.tray = Tray()
    refusals.install(app)
    for router in ROUTERS:
        app.include_router(router)
    app.add_api_route("/palette.css", _palette_css, include_in_schema=False)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    return app


def guarded(folder: Path, door: Door) -> App:
    """Return the page behind its door."""
    return Guard(make_app(folder), door)


def _palette_css() -> Response:
    """Return the pictures' colours as the page's own."""
    blocks = [
        f":root, [data-look=day] {{ color-scheme: light; {_colours(palette('day'))} {DAY_TEXT} }}",
        f"[data-look=night] {{ color-scheme: dark; {_colours(palette('night'))} {RED_TEXT} }}",
        f"@media print {{ [data-look] {{ color-scheme: light; {_colours(palette('print'))} {DAY_TEXT} }} }}",
    ]
    return Response("\n".join(blocks) + "\n", media_type="text/css")


def _colours(colours: Palette) -> str:
    """Return one theme's colours as custom properties, by the palette's own names."""
    found = []
    for name, value in vars(colours).items():
        shown = name.replace("_", "-")
        many = enumerate(value, start=1) if isinstance(value, tuple) else None
        found += [f"--{shown}-{n}: {one};" for n, one in many] if many else [f"--{shown}: {value};"]
    return " ".join(found)
