"""What tests of the page share."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.strategies.served import Client, client_at


@pytest.fixture
def page(garden: Path) -> Iterator[Client]:
    """Return a client at this machine, of a notebook that may be written to."""
    client = client_at(garden)
    yield client
    client.app.state.jobs.stop_all()
