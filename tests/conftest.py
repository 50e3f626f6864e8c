"""What several tests share: the demo's notebook, made once."""

from pathlib import Path

import pytest

from sidelight.desk.demo import make_demo


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo's notebook; tests that write make their own copy."""
    folder = tmp_path_factory.mktemp("demo") / "garden"
    make_demo(folder)
    return folder
