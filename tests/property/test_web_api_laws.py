"""Laws of the page's API: whatever is asked, nothing breaks, a refusal has its shape and changes nothing.

SIDELIGHT_FUZZ_CASES=5000 pytest tests/property/test_web_api_laws.py runs more cases of each.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import requests
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from tests.spoilt.records import Spoiling, Try, many
from tests.spoilt.requests import Asked, Page, at_the_page, described, judged, request_spoilings
from tests.strategies.spoiling import CASES

from sidelight.web.app import make_app

EXAMPLES = min(CASES, 200) or 5
WHOLE_DISKS = "POST /api/jobs/frames"
"""A folder made up at random might be the root, and all below it would be read."""


@pytest.mark.parametrize("spoiling", request_spoilings(), ids=lambda one: one.what)
def test_a_spoilt_request_is_answered_or_refused_in_words(tmp_path: Path, spoiling: Spoiling) -> None:
    """No server error, nothing in the log, and after a refusal every file of the notebook is as it was."""
    used, refused = many(spoiling, tmp_path)
    assert used
    assert refused


def test_every_operation_is_among_those_that_are_spoilt(tmp_path: Path) -> None:
    """Each operation that the page describes has a sound request, which is answered."""
    labels = sorted(described())
    with at_the_page(lambda _page, asked, _chance: (asked, {}), labels, tmp_path) as attempt:
        for number, label in enumerate(labels):
            assert attempt(number), label


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Return a page whose notebook the requests may change."""
    folder = tmp_path_factory.mktemp("asked")
    with at_the_page(lambda _page, asked, _chance: (asked, {}), [], folder) as attempt:
        yield page_of(attempt)


def page_of(attempt: Try) -> Page:
    """Return the page that tries go to."""
    made = attempt.page  # type: ignore[attr-defined]
    assert isinstance(made, Page)
    return made


def operations() -> dict[str, Any]:
    """Return every described operation by its method and path."""
    found = schemathesis.openapi.from_dict(make_app(Path("nowhere")).openapi()).get_all_operations()
    return {one.label: one for one in (found.ok() for found in found) if one.label != WHOLE_DISKS}


OPERATIONS = operations()


@pytest.mark.parametrize("label", sorted(OPERATIONS))
def test_nothing_that_the_description_allows_breaks_the_page(page: Page, label: str) -> None:
    """No request made from the description at random is answered with a server error."""

    @given(case=OPERATIONS[label].as_strategy())
    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def ask(case: schemathesis.Case) -> None:
        words = case.as_transport_kwargs(base_url="http://localhost")
        words.pop("cookies", None)
        sent = requests.Request(**words).prepare()
        body = sent.body.encode() if isinstance(sent.body, str) else sent.body or b""
        path, _, query = str(sent.path_url).partition("?")
        asked = Asked(str(sent.method), path, {}, bytes(body))
        kind = [("content-type", sent.headers.get("content-type", "application/json"))]
        answer = page.send(asked, kind, query=query, begun=not label.endswith("/api/begin"))
        judged(page, asked, answer, len(body))

    ask()
