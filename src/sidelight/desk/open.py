"""Opening a notebook, for all who ask the desk."""

from pathlib import Path

from sidelight.notebook.read import Notebook, read_notebook


def open_notebook(folder: Path) -> Notebook:
    """Read and check a notebook's folder; raises BadInput with every problem at once."""
    return read_notebook(folder)
