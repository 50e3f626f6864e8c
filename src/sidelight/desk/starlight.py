"""Which stars the guider is offered: the catalogue of a notebook and the magnitudes between which it can guide."""

import datetime as dt
from pathlib import Path

from sidelight.notebook.read import Notebook
from sidelight.sky.time import mjd_from_datetime
from sidelight.stars.catalogue import Catalogue
from sidelight.stars.merged import catalogue_for

DEFAULT_FAINT_MAG = 11.5
"""Used while neither the person nor the guider's reach says otherwise: the embedded catalogue's complete depth."""


def stars_folder(notebook: Notebook) -> Path:
    """Return where a notebook keeps its deeper stars."""
    return notebook.folder / "stars"


def guide_catalogue(notebook: Notebook) -> Catalogue:
    """Return the stars that a notebook's set-ups rest on: its own deeper ones over the shipped catalogue.

    Proper motion is applied to the current year; in half a year the fastest guide star moves by a pixel or two.
    """
    return catalogue_for(stars_folder(notebook), mjd_from_datetime(dt.datetime.now(dt.UTC)))


def guide_limits(notebook: Notebook) -> tuple[float, float | None]:
    """Return the faintest and the brightest usable magnitude; bright None means no bound."""
    faint = notebook.rig.guide_limit_mag
    return (DEFAULT_FAINT_MAG if faint is None else faint), notebook.rig.guide_bright_mag
