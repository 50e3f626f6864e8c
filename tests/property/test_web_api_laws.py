"""Laws of the page's API: whatever is asked, nothing breaks, and every refusal has its shape."""

import shutil
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error

from sidelight.web.app import make_app

EXAMPLES = 8
SLOW = ("/api/solve", "/api/jobs", "/api/campaign", "/api/suggest", "/pictures/campaign", "/pictures/odds")
"""Answers that take seconds; the unit tests ask for them."""


def operations(app: Any) -> dict[str, Any]:
    """Return every described operation by its method and path, those that take seconds left out."""
    found = schemathesis.openapi.from_asgi("/api/openapi.json", app).get_all_operations()
    every = [one.ok() for one in found]
    return {one.label: one for one in every if not one.path.startswith(SLOW)}


@pytest.fixture(scope="module")
def asked(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Return the operations of a copy of the demo, which the requests may change."""
    folder = tmp_path_factory.mktemp("asked") / "garden"
    shutil.copytree(demo_folder, folder)
    return operations(make_app(folder))


@pytest.mark.parametrize("label", sorted(operations(make_app(Path("nowhere")))))
def test_nothing_that_is_asked_breaks_the_page(asked: dict[str, Any], label: str) -> None:
    """No request made from the description, right or wrong, is answered with a server error."""

    @given(case=asked[label].as_strategy())
    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def ask(case: schemathesis.Case) -> None:
        answer = case.call()
        case.validate_response(answer, checks=[not_a_server_error])
        if answer.status_code >= 400:
            body = answer.json()
            assert set(body) == {"kind", "problems"}
            assert body["problems"]

    ask()
