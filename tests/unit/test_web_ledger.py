"""The ledger on the page: folders, frames, hours by hand, the first image; what it refuses, and in which words."""

import time
from pathlib import Path
from typing import Any

import pytest
from tests.strategies.served import ELSEWHERE, Client, client_at, series, solved_image

from sidelight.desk.demo import DATE


def taken_in(page: Client, folder: Path) -> dict[str, Any]:
    """Take in a folder and return the answer of the finished work."""
    begun = page.post("/api/jobs/frames", json={"folders": [str(folder)]})
    assert begun.status_code == 202
    name = begun.json()["name"]
    for _ in range(600):
        if page.get(f"/api/jobs/{name}").json()["state"] != "running":
            break
        time.sleep(0.05)
    answer: dict[str, Any] = page.get(f"/api/jobs/{name}/answer").json()
    return answer


def laid(page: Client, image: Path) -> str:
    """Lay an image on the tray and return its name there."""
    answer = page.post("/api/images", params={"name": image.name}, content=image.read_bytes())
    assert answer.status_code == 200
    return str(answer.json()["image"])


def test_a_folder_is_taken_in_and_shown(page: Client, tmp_path: Path) -> None:
    """Frames taken in through the page stand in its tables, picture and JSON; a second time is nothing new."""
    assert "Nothing is collected yet" in page.get("/ledger").text
    folder = series(tmp_path / "frames")
    assert taken_in(page, folder)["new_count"] == 6
    assert taken_in(page, folder)["new_count"] == 0
    report = page.get("/api/ledger").json()
    assert report["frames_count"] == 6
    assert report["by_target"][0]["hours_h"] == pytest.approx(0.5)
    text = page.get("/ledger").text
    assert "M 81" in text
    assert "0.5 h collected" in text
    assert "0.5 h of exposure" in page.get("/pictures/collected.svg").text


def test_frames_are_left_out_counted_again_and_given(page: Client, tmp_path: Path) -> None:
    """A frame left out no longer counts and says why; restored it counts; given away it belongs elsewhere."""
    taken_in(page, series(tmp_path / "frames"))
    every = page.get("/api/ledger/frames").json()["frames"]
    two = [one["identity"] for one in every[:2]]
    assert page.post("/api/ledger/exclude", json={"frames": two, "reason": "clouds"}).json()["changed_count"] == 2
    out = page.get("/api/ledger/frames", params={"not_counted": True}).json()["frames"]
    assert {one["identity"] for one in out} == set(two)
    assert all("clouds" in one["why_not"] for one in out)
    assert page.post("/api/ledger/restore", json={"frames": two}).json()["changed_count"] == 2
    page.post("/api/ledger/assign", json={"frames": two, "target": "M 96"})
    assert len(page.get("/api/ledger/frames", params={"target": "m 96", "night": str(DATE)}).json()["frames"]) == 2


def test_hours_by_hand_come_and_go(page: Client) -> None:
    """Hours entered count; taken back they are gone; a number that is not there is refused."""
    entered = page.post("/api/ledger/hours", json={"target": "M 96", "hours_h": 2.5, "filter": "L", "note": "<old>"})
    assert entered.status_code == 200
    text = page.get("/ledger").text
    assert "2.5 h" in text
    assert "&lt;old&gt;" in text
    assert page.delete("/api/ledger/hours", params={"number": 1}).status_code == 200
    assert page.get("/api/ledger").json()["by_hand"] == []
    assert page.delete("/api/ledger/hours", params={"number": 1}).status_code == 422


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/api/ledger/exclude", {"frames": []}),
        ("/api/ledger/exclude", {"frames": ["nothing like it"]}),
        ("/api/ledger/hours", {"target": "M 96", "hours_h": -1}),
        ("/api/ledger/hours", {"target": "M 1000", "hours_h": 1}),
        ("/api/ledger/hours", {"target": "M 96", "hours_h": 1, "filter": "plaid"}),
        ("/api/ledger/hours", {"target": "M 96", "hours_h": 1, "nigth": "2027-03-06"}),
        ("/api/ledger/assign", {"frames": ["x"], "target": "M 1000"}),
        ("/api/jobs/frames", {"folders": []}),
        ("/api/jobs/frames", {"folders": ["frames"]}),
        ("/api/jobs/frames", {"folders": ["~nobody-of-that-name/frames"]}),
        ("/api/jobs/frames", {"folders": ["/frames\0"]}),
        ("/api/check", {"images": [{"image": "not-on-the-tray"}]}),
    ],
)
def test_what_cannot_be_is_refused_in_one_shape(page: Client, path: str, body: dict[str, Any]) -> None:
    """Every refusal is 422 with problems that read as sentences; nothing is written."""
    answer = page.post(path, json=body)
    assert answer.status_code == 422
    assert answer.json()["kind"] == "bad_input"
    assert all(one["text"] for one in answer.json()["problems"])
    assert page.get("/api/ledger").json()["by_hand"] == []


def test_folders_are_for_who_sits_here(garden: Path, tmp_path: Path) -> None:
    """From another machine no folder of this one is read, and the page does not offer it."""
    away = client_at(garden, ELSEWHERE)
    refused = away.post("/api/jobs/frames", json={"folders": [str(series(tmp_path / "frames"))]})
    assert refused.status_code == 422
    assert "sits at this machine" in refused.json()["problems"][0]["message"]
    text = away.get("/ledger").text
    assert "data-take " not in text
    assert "at the machine on which Sidelight runs" in text


def test_reading_changes_nothing(page: Client, garden: Path) -> None:
    """The page, its pictures and its JSON leave every file of the notebook as it was; there is no ledger after it."""
    before = {path.name: path.read_bytes() for path in garden.iterdir() if path.is_file()}
    for path in ("/ledger", "/api/ledger", "/api/ledger/frames", "/pictures/collected.svg", "/light"):
        assert page.get(path).status_code == 200
    assert {path.name: path.read_bytes() for path in garden.iterdir() if path.is_file()} == before


@pytest.mark.parametrize(("off_deg", "verdict"), [(0.0, "leave"), (25.0, "turn")])
def test_the_first_image_says_turn_or_leave(
    page: Client, garden: Path, tmp_path: Path, off_deg: float, verdict: str
) -> None:
    """An image that stands as planned may be left, one far off must be turned; nothing is kept unasked."""
    image = laid(page, solved_image(tmp_path / "first light.fits", garden, off_deg))
    answer = page.post("/api/check", json={"images": [{"image": image}], "date": str(DATE)}).json()
    report = answer["report"]
    assert report["verdict"] == verdict
    assert report["difference_deg"] == pytest.approx(off_deg, abs=0.1)
    assert report["images"][0]["file"] == "first light.fits"
    assert not (garden / "learned.toml").exists()
    dial = page.get("/pictures/now-dial.svg", params={"check": answer["check"], "look": "night"})
    assert dial.headers["content-type"] == "image/svg+xml"
    field = page.get("/pictures/now-field.svg", params={"check": answer["check"], "target": "M 81"})
    assert "<svg" in field.text


def test_what_an_image_says_is_kept_when_asked(page: Client, garden: Path, tmp_path: Path) -> None:
    """Kept, it stands in learned.toml, and the bench goes by it."""
    image = laid(page, solved_image(tmp_path / "one.fits", garden, 1.4))
    asked = {"images": [{"image": image, "side": "west"}], "date": str(DATE), "learn": True}
    assert page.post("/api/check", json=asked).json()["report"]["learned_in"]
    assert "camera_offset_deg" in (garden / "learned.toml").read_text(encoding="utf-8")
    assert page.get("/api/bench", params={"date": str(DATE)}).json()["gauge_to_sky_deg"] == pytest.approx(
        1.4, abs=0.1
    )


def test_an_image_without_solution_is_refused_by_its_own_name(page: Client, tmp_path: Path) -> None:
    """The refusal names the file as its owner does, and no place on this machine."""
    path = series(tmp_path / "frames", 1) / "frame0.fits"
    answer = page.post("/api/check", json={"images": [{"image": laid(page, path)}]})
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["file"] == "frame0.fits"
    assert "sidelight-" not in answer.text


@pytest.mark.parametrize("name", ["../../etc/passwd", "C:\\x\\boot.ini", "..", "  ", "a\0b", "é" * 200])
def test_a_file_name_cannot_leave_the_tray(page: Client, name: str) -> None:
    """Whatever an image is called, it lies in the tray's own folder."""
    answer = page.post("/api/images", params={"name": name}, content=b"SIMPLE")
    assert answer.status_code == 200
    (path,) = page.app.state.tray.paths([answer.json()["image"]])
    assert path.is_file()
    assert path.parent.parent.name.startswith("sidelight-")
    assert "/" not in answer.json()["name"]


def test_the_beginning_of_a_large_image_is_enough(page: Client, garden: Path, tmp_path: Path) -> None:
    """Of a file that is sent in part the header is read as if the whole had come."""
    path = solved_image(tmp_path / "large.fits", garden, 0.0)
    data = path.read_bytes()
    sent = page.post("/api/images", params={"name": "large.fits", "whole_bytes": len(data)}, content=data[:5760])
    assert sent.json()["bytes_count"] == 5760
    body = {"images": [{"image": sent.json()["image"]}], "date": str(DATE)}
    assert page.post("/api/check", json=body).json()["report"]["verdict"] == "leave"


def test_an_empty_image_is_refused(page: Client) -> None:
    """Nothing is laid on the tray."""
    answer = page.post("/api/images", params={"name": "x.fits"}, content=b"")
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["message"] == "The file is empty."
