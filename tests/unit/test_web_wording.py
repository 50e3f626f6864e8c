"""What the pages say: headings in order, refusals in plain words, a notebook that is gone, an empty list."""

import re
import shutil
import time
from html import unescape
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from tests.strategies.served import Client, client_at

from sidelight.desk.chosen import NO_TARGETS
from sidelight.desk.demo import DATE
from sidelight.desk.kept import setup_in_use
from sidelight.desk.live import live_dial
from sidelight.desk.night import night_report
from sidelight.desk.open import open_notebook
from sidelight.desk.season import season_report
from sidelight.desk.setup import SetupQuestion
from sidelight.web.job_kinds import setup_question

PEOPLE = {"accept": "text/html"}
PAGES = ("season", "setup", "bench", "night", "light", "campaign", "ledger", "notebook")


def read(client: Client, path: str) -> str:
    """Return a page as a person reads it, its marks-up included."""
    return unescape(client.get(path, headers=PEOPLE).text)


def levels(page: str) -> list[int]:
    """Return the levels of a page's headings in the order of the page."""
    return [int(one) for one in re.findall(r"<h([1-6])\b", page)]


def in_order(found: list[int]) -> bool:
    """Tell whether headings begin with the one first level and never skip one going down."""
    return found[0] == 1 and found.count(1) == 1 and all(b - a <= 1 for a, b in pairwise(found))


@pytest.fixture
def empty(tmp_path: Path, demo_folder: Path) -> Path:
    """Return a notebook without a target."""
    folder = Path(shutil.copytree(demo_folder, tmp_path / "bare"))
    (folder / "targets.toml").write_text("", encoding="utf-8")
    return folder


@pytest.mark.parametrize("page", PAGES)
def test_headings_never_skip_a_level(demo_folder: Path, page: str) -> None:
    """Every page has one first heading, and no level is left out below it."""
    assert in_order(levels(read(client_at(demo_folder), f"/{page}?date={DATE}")))


@pytest.mark.parametrize("page", PAGES)
def test_headings_of_an_empty_list_never_skip_a_level(empty: Path, page: str) -> None:
    """The same without a target, and where a page is refused."""
    client = client_at(empty)
    assert in_order(levels(read(client, f"/{page}?date={DATE}")))
    assert in_order(levels(read(client, f"/{page}?date=yesterday")))


def test_headings_of_a_beginning_never_skip_a_level(tmp_path: Path) -> None:
    """The way to a new notebook has its headings in order as well."""
    assert in_order(levels(read(client_at(tmp_path / "new"), "/begin")))


def test_a_mistyped_folder_is_said_to_be_new(tmp_path: Path) -> None:
    """A page that begins a notebook says so first."""
    assert "No notebook is there yet; this page begins one." in read(client_at(tmp_path / "nope"), "/begin")


def test_a_notebook_that_goes_away_is_missed(garden: Path) -> None:
    """Pages and programs are told that the folder is gone; put back, it is there again; nothing is made meanwhile."""
    client = client_at(garden)
    assert client.get(f"/bench?date={DATE}", headers=PEOPLE).status_code == 200
    away = garden.rename(garden.with_name("elsewhere"))
    for page in PAGES:
        answer = client.get(f"/{page}", headers=PEOPLE)
        assert answer.status_code == 409
        assert f"The folder {garden.absolute()} is gone" in unescape(answer.text)
        assert 'href="/begin"' in answer.text
        assert in_order(levels(answer.text))
    for path in ("/api/season", "/pictures/night.svg"):
        told = client.get(path)
        assert told.status_code == 409
        assert "Put it back" in told.json()["problems"][0]["text"]
    assert not garden.exists()
    away.rename(garden)
    assert client.get(f"/bench?date={DATE}", headers=PEOPLE).status_code == 200


def test_a_folder_emptied_is_missed_too(garden: Path) -> None:
    """Where only the files are gone, it is they that are missed, also when nobody had asked before."""
    client = client_at(garden)
    for path in garden.glob("*"):
        shutil.rmtree(path) if path.is_dir() else path.unlink()
    assert "files in" in read(client, "/season")
    assert "A new notebook" in read(client, "/begin")


@pytest.mark.parametrize("page", ["season", "setup", "light", "campaign", "night"])
def test_an_empty_list_is_told_in_the_report_s_own_words(empty: Path, page: str) -> None:
    """Every page says of an empty list what the command line says."""
    assert NO_TARGETS in read(client_at(empty), f"/{page}?date={DATE}")


REFUSED: list[tuple[str, str, Any, str]] = [
    ("POST", "/api/targets", {"name": ""}, "name: Type a name first."),
    ("POST", "/api/targets", {"name": "x" * 300}, "name: That is too long. Expected: at most 200 signs."),
    ("POST", "/api/targets", {}, "name: It is missing. Expected: a value. Give it and try again."),
    ("POST", "/api/targets", {"name": 3}, 'name: "3" is no text. Expected: text.'),
    ("POST", "/api/targets", {"name": "M 1", "colour": "blue"}, "colour: There is nothing of this name."),
    ("POST", "/api/jobs/dial", {"nights": 0}, 'nights: "0" is too small. Expected: at least 1.'),
    ("POST", "/api/jobs/dial", {"nights": 1.5}, 'nights: "1.5" is no whole number.'),
    ("POST", "/api/jobs/dial", {"grant_shift_arcmin": 99}, '"99" is too large. Expected: at most 60.'),
    ("POST", "/api/jobs/dial", {"camera_angle_deg": "west"}, '"west" is no number. Expected: a number such as 12.5.'),
    ("POST", "/api/jobs/dial", {"date": "9999-01-01"}, "Expected: a date such as 2027-03-06, between 1900 and 2199."),
    ("POST", "/api/jobs/dial", {"date": "soon"}, 'date: "soon" is no date that can be used.'),
    ("POST", "/api/jobs/dial", {"leave_out": "M 81"}, "is no list. Expected: a list."),
    ("POST", "/api/jobs/dial", {"refuse": ["double"]}, "Expected: 'saturating' or 'companions'."),
    ("POST", "/api/setups", {"name": "A", "poses": []}, "poses: These are too few. Expected: at least 1."),
    ("POST", "/api/jobs/campaign", {"give_up": "perhaps"}, "Expected: true or false."),
    ("GET", "/api/season?nights=0", None, 'nights: "0" is too small. Expected: at least 1.'),
    ("GET", "/api/season?nights=many", None, 'nights: "many" is no whole number.'),
]


@pytest.mark.parametrize(("method", "path", "body", "words"), REFUSED)
def test_a_value_is_refused_in_plain_words(page: Client, method: str, path: str, body: Any, words: str) -> None:
    """What is wrong, what is expected, and nothing in the words of the checking library."""
    answer = page.ask(method, path, json=body)
    assert answer.status_code == 422
    text = answer.json()["problems"][0]["text"]
    assert words in text
    assert not re.search(r"\b(String|Input|Field|List|Value) (should|required)|valid ", text)


def test_wanted_hours_stand_beside_hours_of_the_same_kind(demo_folder: Path) -> None:
    """Effective hours left stand beside the effective hours wanted; dark hours have a name of their own."""
    shown = read(client_at(demo_folder), f"/season?date={DATE}")
    for target in season_report(open_notebook(demo_folder), DATE).targets:
        words = (
            f"effective hours left, of {target.hours_wanted:g} h wanted</dt><dd>{target.effective_hours_left:.0f} h"
        )
        assert words in shown
        assert f'<td class="right" data-value="{target.hours_left}">{target.hours_left:.0f} h</td>' in shown
    assert "dark hours left" in shown


@pytest.mark.parametrize("name", ["m 81", "M81", "Bode's Galaxy", "NGC 3031"])
def test_a_target_goes_by_any_of_its_names(page: Client, name: str) -> None:
    """A picture is found by every name that the command line takes."""
    asked = {"target": name, "date": str(DATE)}
    assert page.get("/pictures/field.svg", params=asked).text.startswith("<svg")


def test_the_night_says_once_what_it_goes_by(demo_folder: Path) -> None:
    """Set-up, effective hours with their filter, and the camera before and after the flip; the run's stars first."""
    book = open_notebook(demo_folder)
    report = night_report(book, DATE, setup_in_use(book, DATE))
    shown = read(client_at(demo_folder), f"/night?date={DATE}")
    assert shown.count(report.set_up) == 1
    assert report.guide_picture in shown
    for one in report.plan:
        angle = next(target.camera_angle_deg for target in report.targets if target.target == one.target)
        assert angle is not None
        assert f"{(angle + 180) % 360:.1f}° / {angle % 360:.1f}°" in shown
        assert f"{one.effective_hours:.1f} h in {one.filter}" in shown
    table = shown[shown.index('id="guide-table"') :]
    order = list(dict.fromkeys(re.findall(r'<th scope="row">([^<]+)</th>', table[: table.index("</table>")])))
    run = list(dict.fromkeys(one.target for one in report.plan))
    assert order[: len(run)] == run
    assert len(order) > len(run)


def test_cautions_come_before_the_work(garden: Path) -> None:
    """At the bench they stand above the steps; a Newtonian's bench is seen into its focuser."""
    page = read(client_at(garden), f"/bench?date={DATE}")
    assert page.index("Take care") < page.index("In this order")
    assert "As you see it from behind." in page
    rig = garden / "rig.toml"
    rig.write_text(rig.read_text(encoding="utf-8").replace("newtonian = false", "newtonian = true"), encoding="utf-8")
    page = read(client_at(garden), f"/bench?date={DATE}")
    assert "As you see it looking into the focuser." in page
    assert "from behind." not in page


def test_another_set_up_of_the_same_name_gives_way_only_when_asked(garden: Path) -> None:
    """Other angles under a name that is taken are refused with nothing written, and replace it when that is said."""
    client = client_at(garden)
    target = open_notebook(garden).targets[0]
    pose = {"target": target.key, "ra_deg": target.ra_deg, "dec_deg": target.dec_deg, "camera_angle_deg": 40.0}
    body = {"name": "Spring", "poses": [pose], "stem_offset_deg": 10.0}
    assert client.post("/api/setups", json=body).status_code == 200
    before = (garden / "setups.toml").read_bytes()
    other = {**body, "name": "spring", "poses": [{**pose, "camera_angle_deg": 50.0}]}
    refused = client.post("/api/setups", json=other)
    assert refused.status_code == 422
    assert '"Spring" is kept already (40.0°, 1 target' in refused.json()["problems"][0]["message"]
    assert (garden / "setups.toml").read_bytes() == before
    assert client.post("/api/setups", json={**other, "replacing": True}).status_code == 200
    assert [one.camera_angle_deg for one in open_notebook(garden).setups] == [50.0]


def test_stars_that_are_refused_are_refused_on_the_dial(garden: Path) -> None:
    """The page's question carries what the command's --refuse does, and its dial has only the stars left over."""
    book = open_notebook(garden)
    asked = {"date": str(DATE), "refuse": ["companions", "saturating"]}
    question = setup_question(asked, DATE)
    assert question.refuse == ("companions", "saturating")
    client = client_at(garden)
    name = client.post("/api/jobs/dial", json=asked).json()["name"]
    for _ in range(1200):
        if client.get(f"/api/jobs/{name}").json()["state"] != "running":
            break
        time.sleep(0.05)
    answer = client.get(f"/api/jobs/{name}/answer").json()["dial"]
    known, free = live_dial(book, question), live_dial(book, SetupQuestion(DATE))
    assert [one["usable"] for one in answer["targets"]] == [one.usable.tolist() for one in known.targets]
    assert sum(len(one.usable) for one in known.targets) < sum(len(one.usable) for one in free.targets)
    assert answer["sentence"] == known.sentence


@pytest.mark.parametrize("width", ["wide", "narrow"])
def test_the_skyline_s_title_stands_whole(page: Client, width: str) -> None:
    """Also on a phone the picture's heading is written out to its date."""
    drawn = page.get("/pictures/skyline.svg", params={"date": str(DATE), "width": width, "look": "day"}).text
    assert re.search(rf"<text[^>]*>[^<]*night of {DATE}</text>", drawn)
