"""What tests against outside references share."""

from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import pytest
from skyfield.api import load_file


@pytest.fixture(scope="session")
def planets() -> Iterator[Any]:
    """Give DE421 from the data package, closed afterwards."""
    kernel = load_file(str(files("skyfield_data") / "data" / "de421.bsp"))
    yield kernel
    kernel.close()
