"""Which stars the guider is offered: the catalogue of a notebook and the magnitudes between which it can guide."""

import datetime as dt
from pathlib import Path

from sidelight.light.reach import GuiderReach, guider_reach
from sidelight.notebook.read import Notebook
from sidelight.sky.time import mjd_from_datetime
from sidelight.stars.cone import Catalogue
from sidelight.stars.merged import catalogue_for

NOON = dt.time(12, tzinfo=dt.UTC)
DEFAULT_FAINT_MAG = 11.5
"""Where there is no guider whose reach could be worked out: the embedded catalogue's complete depth."""


def stars_folder(notebook: Notebook) -> Path:
    """Return where a notebook keeps its deeper stars."""
    return notebook.folder / "stars"


def guide_catalogue(notebook: Notebook, date: dt.date) -> Catalogue:
    """Return the stars that a notebook's set-ups rest on: its own deeper ones over the shipped catalogue.

    Proper motion is applied up to noon of the date; in half a year the fastest guide star moves by a pixel or two.
    """
    return catalogue_for(stars_folder(notebook), mjd_from_datetime(dt.datetime.combine(date, NOON)))


def guide_limits(notebook: Notebook) -> tuple[float, float | None]:
    """Return the faintest and the brightest usable magnitude; bright None means no bound.

    The person's own where rig.toml has them; else the faintest is the guider's reach. The brightest is where stars
    saturate when those are refused and that is fainter; else they are judged one by one (`Reach.judged_by`).
    """
    faint, bright, reach = notebook.rig.guide_limit_mag, notebook.rig.guide_bright_mag, reach_of(notebook)
    if faint is None:
        faint = DEFAULT_FAINT_MAG if reach is None else reach.limit_mag
    if reach is not None and reach.bright_mag is not None and notebook.guiding.refuse_saturating:
        bright = reach.bright_mag if bright is None else max(bright, reach.bright_mag)
    return faint, bright


def reach_of(notebook: Notebook) -> GuiderReach | None:
    """Return what the guide camera can use under this sky; None without a guider."""
    if notebook.rig.guider is None:
        return None
    return guider_reach(notebook.rig, notebook.light.sky, notebook.guiding)
