"""Opening a notebook, for all who ask the desk."""

import datetime as dt
from pathlib import Path

from sidelight.desk.clock import tonight
from sidelight.notebook.read import Notebook, read_notebook


def open_notebook(folder: Path) -> Notebook:
    """Read and check a notebook's folder; raises BadInput with every problem at once."""
    return read_notebook(folder)


def open_for(folder: Path, date: dt.date | None) -> tuple[Notebook, dt.date]:
    """Read and check a notebook's folder, and say for which night: the one that is named, else what is on or next."""
    notebook = open_notebook(folder)
    return notebook, date or tonight(notebook.site)
