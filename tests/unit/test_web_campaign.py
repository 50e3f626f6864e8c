"""The campaign on the page: planned in the background, goals tried out without writing, kept when asked."""

import shutil
import time
from pathlib import Path
from typing import Any

import pytest
from tests.strategies.served import Client, client_at

from sidelight.desk.campaign import campaign_report
from sidelight.desk.demo import DATE
from sidelight.desk.what_if import HoursWish, keep_wishes, with_wishes
from sidelight.ground.errors import BadInput
from sidelight.ground.plain import to_plain
from sidelight.notebook.read import read_notebook

NIGHTS = 20


@pytest.fixture
def garden(garden: Path) -> Path:
    """Return a copy of the demo's notebook with a goal by filters."""
    text = (garden / "campaign.toml").read_text(encoding="utf-8")
    goal = '\n[[goal]]\ntarget = "M 81"\nfilters_h = { L = 6, Ha = 3 } # as agreed\n'
    (garden / "campaign.toml").write_text(text + goal, encoding="utf-8")
    return garden


def played(page: Client, **asked: Any) -> str:
    """Plan and play a campaign and return the finished work's name."""
    begun = page.post("/api/jobs/campaign", json={"date": str(DATE), "nights": NIGHTS, **asked})
    assert begun.status_code == 202
    name = str(begun.json()["name"])
    for _ in range(1200):
        state = page.get(f"/api/jobs/{name}").json()
        if state["state"] != "running":
            break
        time.sleep(0.05)
    assert state["state"] == "done", state
    return name


def files_of(folder: Path) -> dict[str, bytes]:
    """Return every file of the notebook."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_the_answer_is_the_desk_s_and_writes_nothing(page: Client, garden: Path) -> None:
    """The page's campaign with goals tried out is the desk's; no file changes; asked again, it is there."""
    before = files_of(garden)
    goals = [{"target": "NGC 2903", "hours_h": 4.0}, {"target": "M 81", "filter": "Ha", "hours_h": 9.0}]
    name = played(page, goals=goals)
    wishes = [HoursWish("NGC 2903", "", 4.0), HoursWish("M 81", "Ha", 9.0)]
    report = campaign_report(with_wishes(read_notebook(garden), wishes), DATE, NIGHTS, what_if=False)
    assert page.get("/api/campaign", params={"job": name}).json() == to_plain(report)
    wanted = {(one.target, goal.filter): goal.wanted_hours for one in report.targets for goal in one.filters}
    assert wanted["NGC 2903", ""] == 4.0
    assert wanted["M 81", "Ha"] == 9.0
    assert files_of(garden) == before
    again = page.post("/api/jobs/campaign", json={"date": str(DATE), "nights": NIGHTS, "goals": goals})
    assert again.json() == {"name": name, "state": "done"}


def test_pictures_and_files_come_with_the_answer(page: Client) -> None:
    """Plan and odds come as pictures in every display, the plan as calendar, CSV and ECSV."""
    name = played(page)
    for picture in ("campaign", "odds"):
        for look in ("day", "night"):
            for width in ("wide", "narrow"):
                asked = {"job": name, "look": look, "width": width}
                assert page.get(f"/pictures/{picture}.svg", params=asked).text.startswith("<svg")
    assert page.get("/files/campaign.ics", params={"job": name}).text.startswith("BEGIN:VCALENDAR")
    assert page.get("/files/campaign.csv", params={"job": name}).text.startswith("evening,target")
    assert page.get("/files/campaign.ecsv", params={"job": name}).text.startswith("# %ECSV 1.0")
    assert page.get("/files/campaign.exe", params={"job": name}).status_code == 422
    assert page.get("/pictures/odds.svg", params={"job": "unknown"}).status_code == 422


def test_goals_are_kept_where_they_stand(garden: Path, page: Client) -> None:
    """Kept goals go into the lines that held them; notes stay, and nothing else changes."""
    goals = [{"target": "NGC 2903", "hours_h": 31.5}, {"target": "M 81", "filter": "Ha", "hours_h": 9.0}]
    kept = page.ask("PUT", "/api/goals", json={"goals": goals})
    assert kept.json()["files"] == ["targets.toml", "campaign.toml"]
    book = read_notebook(garden)
    assert next(one.hours_wanted_h for one in book.targets if one.key == "NGC 2903") == 31.5
    assert book.campaign.goal_of("M 81").filters_h == (("L", 6.0), ("Ha", 9.0))
    assert "# as agreed" in (garden / "campaign.toml").read_text(encoding="utf-8")
    assert [one.hours_wanted_h for one in book.targets if one.key != "NGC 2903"] == [20.0] * 4


def test_a_file_changed_meanwhile_is_not_touched(garden: Path) -> None:
    """Goals are not written over another hand's change."""
    book = read_notebook(garden)
    path = garden / "targets.toml"
    path.write_text(path.read_text(encoding="utf-8") + "\n# by another hand\n", encoding="utf-8")
    before = path.read_bytes()
    with pytest.raises(BadInput):
        keep_wishes(book, [HoursWish("M 96", "", 8.0)])
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "goal",
    [
        {"target": "M 1000", "hours_h": 5},
        {"target": "M 96", "filter": "L", "hours_h": 5},
        {"target": "M 81", "hours_h": 5},
        {"target": "M 96", "hours_h": 0},
        {"target": "M 96", "hours_h": 0.01},
        {"target": "M 96", "hours": 5},
    ],
)
def test_a_goal_that_cannot_be_is_refused(page: Client, garden: Path, goal: dict[str, Any]) -> None:
    """Trying it and keeping it are refused in the one shape; nothing is begun or written."""
    before = files_of(garden)
    for answer in (
        page.post("/api/jobs/campaign", json={"goals": [goal]}),
        page.ask("PUT", "/api/goals", json={"goals": [goal]}),
    ):
        assert answer.status_code == 422
        assert answer.json()["problems"]
    assert files_of(garden) == before


def test_work_can_be_stopped(page: Client) -> None:
    """Stopped, it says so, has no answer, and the same question begins anew."""
    begun = page.post("/api/jobs/campaign", json={"date": str(DATE), "give_up": True}).json()["name"]
    assert page.delete(f"/api/jobs/{begun}").json()["state"] == "stopped"
    assert page.get("/api/campaign", params={"job": begun}).status_code == 422
    second = page.post("/api/jobs/campaign", json={"date": str(DATE), "give_up": True}).json()
    assert second["name"] != begun
    page.delete(f"/api/jobs/{second['name']}")


def test_an_empty_list_has_a_page(tmp_path: Path, demo_folder: Path) -> None:
    """Without a target the page leads to adding one."""
    folder = Path(shutil.copytree(demo_folder, tmp_path / "garden"))
    (folder / "targets.toml").write_text("", encoding="utf-8")
    for path in ("/campaign", "/ledger", "/light"):
        answer = client_at(folder).get(path)
        assert answer.status_code == 200
        assert 'href="/season' in answer.text
