"""Everything that is spoilt, in the order of the page that tells of it."""

from tests.spoilt.commands import command_spoilings
from tests.spoilt.files import file_spoilings
from tests.spoilt.records import Spoiling
from tests.spoilt.requests import request_spoilings


def every_spoiling() -> tuple[Spoiling, ...]:
    """Return every kind of thing that is handed in spoilt."""
    return (*file_spoilings(), *command_spoilings(), *request_spoilings())
