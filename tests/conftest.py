"""What many tests share: the demo's notebook, made once, read once, and copied for those that write."""

import shutil
from pathlib import Path

import pytest

from sidelight.desk.demo import make_demo
from sidelight.desk.open import open_notebook
from sidelight.notebook.read import Notebook


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo's notebook; tests that write take `garden`."""
    folder = tmp_path_factory.mktemp("demo") / "garden"
    make_demo(folder)
    return folder


@pytest.fixture(scope="session")
def book(demo_folder: Path) -> Notebook:
    """Return the demo's notebook, read."""
    return open_notebook(demo_folder)


@pytest.fixture
def garden(tmp_path: Path, demo_folder: Path) -> Path:
    """Return a copy of the demo's notebook that may be written to."""
    return Path(shutil.copytree(demo_folder, tmp_path / "garden"))
