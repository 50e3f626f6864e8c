"""The light page: the same figures as the command's, boxes left empty, figures that cannot be."""

from html import unescape
from pathlib import Path
from typing import Any

import pytest
from tests.strategies.served import Client, client_at

from sidelight.cards.light_drawings import month_picture
from sidelight.desk.demo import DATE
from sidelight.desk.exposure import exposure_report
from sidelight.desk.exposure_records import ExposureQuestion
from sidelight.desk.hours import light_report
from sidelight.ground.plain import to_plain
from sidelight.notebook.read import read_notebook

NIGHT = {"date": str(DATE)}


@pytest.fixture(scope="module")
def page(demo_folder: Path) -> Client:
    """Return a client of the demo's page."""
    return client_at(demo_folder)


def test_the_answers_are_the_desk_s(page: Client, demo_folder: Path) -> None:
    """What the page answers is what the command line prints as JSON, and its picture is the command's."""
    book = read_notebook(demo_folder)
    report = light_report(book, DATE)
    assert page.get("/api/light", params=NIGHT).json() == to_plain(report)
    drawn = page.get("/pictures/month.svg", params={**NIGHT, "target": "m 81"}).text
    target = next(one for one in report.targets if one.target == "M 81")
    assert drawn == month_picture(report, target, "day")
    exposures = exposure_report(book, ExposureQuestion(DATE, "M 81", hours_h=12.5))
    asked = {**NIGHT, "target": "M 81", "hours": "12,5", "snr": ""}
    assert page.get("/api/exposure", params=asked).json() == to_plain(exposures)


@pytest.mark.parametrize(
    "asked", [{}, {"target": "M 81"}, {"brightness": "22.5", "star": "7", "snr": "30", "share": "10", "hours": "5"}]
)
def test_the_page_shows_what_is_asked(page: Client, asked: dict[str, str]) -> None:
    """The page holds every filter's exposure and its boxes say again what was typed."""
    text = unescape(page.get("/light", params={**NIGHT, **asked}).text)
    exposures = page.get("/api/exposure", params={**NIGHT, **asked}).json()
    for one in exposures["filters"]:
        assert one["sentence"] in text
    for name, value in asked.items():
        if name != "target":
            assert f'name="{name}" value="{value}"' in text
    assert ('data-picture="snr"' in text) == (exposures["brightness_mag_arcsec2"] is not None)


@pytest.mark.parametrize(
    ("asked", "word"),
    [
        ({"hours": "-3"}, "cannot be"),
        ({"share": "1000"}, "cannot be"),
        ({"target": "M 1000"}, "is not on this notebook"),
    ],
)
def test_a_figure_that_cannot_be_leaves_the_page_standing(page: Client, asked: dict[str, str], word: str) -> None:
    """The page says what is wrong beside the boxes and still shows the night; programs get 422."""
    shown = page.get("/light", params={**NIGHT, **asked})
    assert shown.status_code == 200
    assert word in shown.text
    assert "Effective hours of this night" in shown.text
    assert page.get("/api/exposure", params={**NIGHT, **asked}).status_code == 422


@pytest.mark.parametrize("typed", ["1e", "1 2", "--", "e", "1e999"])
def test_what_is_no_number_is_said(page: Client, typed: str) -> None:
    """A box that holds no number is refused by its name."""
    answer = page.get("/api/exposure", params={"hours": typed})
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["key"] == "hours"


@pytest.mark.parametrize("name", ["light", "light-of", "month", "exposure", "snr"])
@pytest.mark.parametrize("look", ["day", "night"])
def test_every_picture_comes_in_both_displays(page: Client, name: str, look: str) -> None:
    """Each picture is SVG that may run nothing."""
    asked: dict[str, Any] = {**NIGHT, "target": "M 81", "look": look}
    if name == "light":
        del asked["target"]
    answer = page.get(f"/pictures/{name}.svg", params=asked)
    assert answer.status_code == 200
    assert answer.text.startswith("<svg")
    assert "sandbox" in answer.headers["content-security-policy"]
