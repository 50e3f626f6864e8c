"""The page's answers for programs and for people, without a browser."""

import json
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from tests.strategies.served import HERE, Client

from sidelight.cards.bench import bench_card
from sidelight.cards.drawings import dial_picture
from sidelight.desk.bench import bench_report
from sidelight.desk.demo import DATE
from sidelight.desk.kept import setup_in_use
from sidelight.desk.open import open_notebook
from sidelight.ground.plain import to_plain
from sidelight.web.app import make_app
from sidelight.web.guard import LOOPBACK_HOSTS, Door, Guard

WHEN = f"date={DATE}"
PEOPLE = {"accept": "text/html"}


class Visitor(Client):
    """A client of a folder's page behind its door."""

    def __init__(self, folder: Path) -> None:
        inside = make_app(folder)
        super().__init__(Guard(inside, Door(LOOPBACK_HOSTS, 80)), HERE)  # type: ignore[arg-type]
        self.inside: FastAPI = inside

    def put(self, path: str, **more: Any) -> Any:
        """Put something in place of what is there."""
        return self.ask("PUT", path, **more)

    def patch(self, path: str, **more: Any) -> Any:
        """Change a part of something."""
        return self.ask("PATCH", path, **more)


@pytest.fixture(scope="module")
def demo(demo_folder: Path) -> Visitor:
    """Return a client of the demo; nothing is written to it."""
    return Visitor(demo_folder)


@pytest.fixture
def garden(demo_folder: Path, tmp_path: Path) -> Iterator[tuple[Visitor, Path]]:
    """Return a client of a copy that a test may change."""
    folder = tmp_path / "garden"
    shutil.copytree(demo_folder, folder)
    client = Visitor(folder)
    yield client, folder
    client.inside.state.jobs.stop_all()


def test_programs_get_what_the_command_line_prints(demo: Visitor, demo_folder: Path) -> None:
    """The bench's JSON and card and the dial's picture are those of the desk, word for word."""
    book = open_notebook(demo_folder)
    setup = setup_in_use(book, DATE)
    bench = bench_report(book, setup)
    assert demo.get(f"/api/bench?{WHEN}").json() == to_plain(bench)
    assert demo.get(f"/cards/bench?{WHEN}").text == bench_card(bench, "print")
    assert demo.get(f"/pictures/dial.svg?{WHEN}&look=day").text == dial_picture(setup, "day")


@pytest.mark.parametrize(
    "path", ["/season", "/setup", "/bench", "/night", "/light", "/campaign", "/ledger", "/notebook"]
)
def test_a_page_holds_no_script_and_no_style_of_its_own(demo: Visitor, path: str) -> None:
    """A page is whole HTML under a policy without 'unsafe-inline', and keeps to it."""
    answer = demo.get(f"{path}?{WHEN}", headers=PEOPLE)
    assert answer.status_code == 200
    assert answer.text.rstrip().endswith("</html>")
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert "<style" not in answer.text
    assert " style=" not in answer.text
    assert answer.text.count("<script") == answer.text.count('<script type="module" src="/static/')
    for quote in ("src", "href"):
        assert f'{quote}="http' not in answer.text
        assert f'{quote}="//' not in answer.text


def test_every_refusal_has_one_shape(demo: Visitor) -> None:
    """Wrong dates, unknown targets, unknown paths, methods that are not, and strangers are refused alike."""
    answers = [
        demo.get("/api/night?date=yesterday"),
        demo.get("/api/night?date=9999-12-31"),
        demo.get("/api/season?only=M%2099999"),
        demo.get("/api/bench?setup=Nobody"),
        demo.get("/api/nothing"),
        demo.put("/api/season"),
        demo.post("/api/targets", json={"name": "M 1", "colour": "blue"}),
        demo.get("/api/season", headers={"host": "elsewhere.example"}),
        demo.post("/api/targets", json={"name": "M 1"}, headers={"origin": "http://elsewhere.example"}),
    ]
    assert [one.status_code for one in answers] == [422, 422, 422, 422, 404, 405, 422, 421, 403]
    for answer in answers:
        body = answer.json()
        assert set(body) == {"kind", "problems"}
        assert all(one["message"] and one["text"] for one in body["problems"])
    assert "2027-03-06" in answers[0].json()["problems"][0]["text"]


def test_people_get_a_refusal_as_a_page(demo: Visitor) -> None:
    """The same words stand on a page that leads on."""
    answer = demo.get("/night?setup=Nobody", headers=PEOPLE)
    assert answer.status_code == 422
    assert "No set-up is kept under the name" in answer.text
    assert 'href="/notebook"' in answer.text


def test_an_empty_folder_leads_to_its_beginning(tmp_path: Path) -> None:
    """Pages lead to /begin; programs are told so; what is written there is a notebook."""
    client = Visitor(tmp_path / "new")
    assert client.get("/season", headers=PEOPLE).headers["location"] == "/begin"
    assert client.get("/api/season").status_code == 409
    answers = {
        "site.latitude_deg": "47.4", "site.longitude_deg": "15", "site.time_zone": "Europe/Vienna",
        "rig.telescope.aperture_mm": "200", "rig.telescope.focal_length_mm": "1600",
        "rig.camera.width_px": "6248", "rig.camera.height_px": "4176", "rig.camera.pixel_um": "3.76",
    }  # fmt: skip
    assert client.post("/api/begin/check", json={"part": "site", "answers": answers}).status_code == 200
    wrong = {**answers, "site.latitude_deg": "100"}
    refused = client.post("/api/begin/check", json={"part": "site", "answers": wrong})
    assert "too large" in refused.json()["problems"][0]["message"]
    assert client.post("/api/begin", json={"answers": answers, "targets": ["M 51"]}).status_code == 201
    assert [target.key for target in open_notebook(tmp_path / "new").targets] == ["M 51"]
    assert client.post("/api/begin", json={"answers": answers, "targets": []}).status_code == 422
    assert client.get("/begin", headers=PEOPLE).headers["location"] == "/season"


def test_a_broken_notebook_can_be_mended_from_the_page(garden: tuple[Visitor, Path]) -> None:
    """A wrong value is told on every page, and the notebook's form mends it."""
    client, folder = garden
    text = (folder / "site.toml").read_text(encoding="utf-8")
    (folder / "site.toml").write_text(text.replace("47.42", "147.42"), encoding="utf-8")
    told = client.get("/season", headers=PEOPLE)
    assert told.status_code == 422
    assert "site.toml" in told.text
    assert client.get("/notebook", headers=PEOPLE).status_code == 200
    forms = client.get("/api/notebook").json()
    assert forms["problems"][0]["key"] == "latitude_deg"
    seen = next(one["fingerprint"] for one in forms["files"] if one["file"] == "site.toml")
    body = {"file": "site.toml", "values": {"latitude_deg": "47.42"}, "seen": seen}
    assert client.patch("/api/notebook/values", json=body).status_code == 200
    assert (folder / "site.toml").read_text(encoding="utf-8") == text
    assert client.get("/season", headers=PEOPLE).status_code == 200


def test_a_file_changed_meanwhile_is_not_touched(garden: tuple[Visitor, Path]) -> None:
    """A change that rests on an older fingerprint is refused, whatever it changes."""
    client, folder = garden
    before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    old = "0" * 64
    refused = [
        client.patch("/api/notebook/values", json={"file": "rig.toml", "values": {"name": "X"}, "seen": old}),
        client.post("/api/targets", json={"name": "M 51", "seen": old}),
        client.delete(f"/api/targets?name=M%2081&seen={old}"),
        client.put("/api/notebook/skyline", json={"points_deg": [[0, 10]], "seen": old}),
        client.delete(f"/api/notebook/tables?file=rig.toml&table=guider&seen={old}"),
    ]
    assert all(one.status_code == 422 and "changed meanwhile" in one.text for one in refused)
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before


def test_a_set_up_is_kept_used_and_let_go(garden: tuple[Visitor, Path]) -> None:
    """Angles as they stand on the dial are kept by name; bench goes by the one that is on the telescope."""
    client, folder = garden
    poses = [
        {"target": one.key, "ra_deg": one.ra_deg, "dec_deg": one.dec_deg, "camera_angle_deg": 40.0}
        for one in open_notebook(folder).targets
    ]
    for name, stem in (("First", 17.2), ("Second", 20.0)):
        kept = client.post("/api/setups", json={"name": name, "poses": poses, "stem_offset_deg": stem})
        assert kept.json()["in_use"] == name
    assert client.put("/api/setups/in-use?name=first").json()["in_use"] == "First"
    bench = client.get(f"/api/bench?{WHEN}").json()
    assert (bench["camera_angle_deg"], bench["stem_offset_deg"]) == (40.0, pytest.approx(17.2))
    assert client.delete("/api/setups?name=First").json()["in_use"] is None
    assert [one.name for one in open_notebook(folder).setups] == ["Second"]
    bad = client.post("/api/setups", json={"name": " ", "poses": [{**poses[0], "target": "M 999"}]})
    assert [one["key"] for one in bad.json()["problems"]] == ["name", None]


def test_a_kept_set_up_points_where_it_was_kept(garden: tuple[Visitor, Path]) -> None:
    """A set-up solved with a moved pointing and kept serves the same rings at the bench and in the night."""
    client, _ = garden
    asked = f"/api/solve?{WHEN}&camera_angle_deg=20&grant_shift_arcmin=4"
    solved = client.get(asked).json()
    assert any(one["shift_arcmin"] > 0.1 for one in solved["targets"])
    poses = [
        {
            "target": one["target"],
            "ra_deg": one["pointing_ra_deg"],
            "dec_deg": one["pointing_dec_deg"],
            "camera_angle_deg": one["camera_angle_deg"],
        }
        for one in solved["targets"]
    ]
    stem = solved["stem_offset_deg"]
    assert (
        client.post("/api/setups", json={"name": "Moved", "poses": poses, "stem_offset_deg": stem}).status_code == 200
    )
    kept = client.get(f"/api/setup?{WHEN}").json()
    assert [ring["star"] is not None for ring in kept["rings"]] == [
        ring["star"] is not None for ring in solved["rings"]
    ]
    night = {one["target"]: one["pointing_dec_deg"] for one in client.get(f"/api/night?{WHEN}").json()["targets"]}
    assert night == pytest.approx({one["target"]: one["dec_deg"] for one in poses}, abs=1e-5)


def finished(client: Visitor, name: str) -> dict[str, Any]:
    """Wait for a job and return its state."""
    for _ in range(600):
        state: dict[str, Any] = client.get(f"/api/jobs/{name}").json()
        if state["state"] != "running":
            return state
        time.sleep(0.05)
    raise AssertionError("The work does not end.")


def test_long_work_goes_on_behind_and_can_be_stopped(garden: tuple[Visitor, Path]) -> None:
    """A solution under conditions comes from a process of its own; another one is stopped at once."""
    client, _ = garden
    question = {"date": str(DATE), "leave_out": ["M 81"], "camera_angle_deg": 57.0}
    begun = client.post("/api/jobs/dial", json=question)
    assert begun.status_code == 202
    assert finished(client, begun.json()["name"])["state"] == "done"
    answer = client.get(f"/api/jobs/{begun.json()['name']}/answer").json()
    assert "M 81" not in [one["target"] for one in answer["dial"]["targets"]]
    assert answer["dial"]["setups"][0]["poses"][0]["camera_angle_deg"] == pytest.approx(57.0)
    other = client.post("/api/jobs/dial", json={"date": str(DATE), "camera_angle_deg": 12.0}).json()["name"]
    assert client.delete(f"/api/jobs/{other}").json()["state"] == "stopped"
    assert finished(client, other)["state"] == "stopped"
    assert client.get(f"/api/jobs/{other}/answer").status_code == 422


def test_refused_work_says_why(garden: tuple[Visitor, Path]) -> None:
    """Work that cannot be done ends with the words of the command line."""
    client, _ = garden
    begun = client.post("/api/jobs/dial", json={"date": str(DATE), "leave_out": ["M 999"]}).json()
    state = finished(client, begun["name"])
    assert state["state"] == "refused"
    assert '"M 999" is not on this notebook' in state["refusal"]["problems"][0]["message"]


def test_what_was_worked_out_is_kept_until_a_file_changes(garden: tuple[Visitor, Path]) -> None:
    """The shelf gives the same answer again, and a new one after any change in the folder."""
    client, folder = garden
    shelf = client.inside.state.shelf
    first = shelf.season(DATE)
    assert shelf.season(DATE) is first
    text = (folder / "site.toml").read_text(encoding="utf-8")
    (folder / "site.toml").write_text(text.replace("elevation_m = 690", "elevation_m = 100"), encoding="utf-8")
    assert shelf.season(DATE) is not first


@pytest.mark.parametrize(
    "path", ["/static/../app.py", "/static/%2e%2e/app.py", "/cards/../../site.toml", "/site.toml"]
)
def test_no_file_outside_is_reachable(demo: Visitor, path: str) -> None:
    """Only the page's own static files can be fetched, by no detour anything else."""
    answer = demo.get(path)
    assert answer.status_code == 404
    assert "latitude" not in answer.text


def test_reading_changes_nothing(garden: tuple[Visitor, Path]) -> None:
    """No GET of any described path writes into the notebook."""
    client, folder = garden
    before = {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    paths = client.get("/api/openapi.json").json()["paths"]
    for path, methods in paths.items():
        if "get" in methods:
            client.get(path.replace("{name}", "nothing"), params={"date": str(DATE), "target": "M 81", "text": "M 5"})
    assert {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_openapi_describes_the_answers(demo: Visitor) -> None:
    """Each described answer names its fields, and the set-up's answer has them."""
    described = demo.get("/api/openapi.json").json()
    shape = described["paths"]["/api/setup"]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    name = shape["$ref"].rsplit("/", 1)[-1]
    fields = described["components"]["schemas"][name]["properties"]
    answer = demo.get(f"/api/setup?{WHEN}").json()
    assert set(fields) == set(answer)
    assert json.dumps(described).count("Refusal") > 10
