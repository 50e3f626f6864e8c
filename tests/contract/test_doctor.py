"""The doctor: nothing odd in a fresh notebook, each thing that is spoilt is found, nothing is changed."""

import datetime as dt
import json
import os
import sqlite3
from importlib import metadata
from pathlib import Path

import pytest
from click.testing import CliRunner

from sidelight.cli.main import sidelight
from sidelight.desk.demo import ANSWERS
from sidelight.desk.doctor import DoctorReport, doctor_report
from sidelight.ledger.migrations import APPLICATION_ID, STEPS
from sidelight.ledger.store import open_ledger
from sidelight.notebook.new import write_new_notebook

NOW = dt.datetime(2027, 3, 6, 20, 0, tzinfo=dt.UTC)


def look(folder: Path, now: dt.datetime = NOW) -> DoctorReport:
    """Look at a notebook at a moment."""
    return doctor_report(folder, named=True, now=now)


def oddities(folder: Path, now: dt.datetime = NOW) -> list[str]:
    """Return what is odd, "name: sentence"."""
    return [f"{one.name}: {one.sentence}" for one in look(folder, now).findings if one.state == "odd"]


def test_a_fresh_notebook_has_nothing_odd(garden: Path) -> None:
    """Exit code 0, in text and in JSON, and every file of the folder is as it was."""
    before = {path.name: path.read_bytes() for path in garden.iterdir()}
    text = CliRunner().invoke(sidelight, ["doctor", str(garden)])
    assert text.exit_code == 0, text.output
    assert "Nothing is odd." in text.stdout
    answer = CliRunner().invoke(sidelight, ["doctor", str(garden), "--json"])
    got = json.loads(answer.stdout)
    assert got["sound"] is True
    assert {one["part"] for one in got["findings"]} == {"program", "data", "computer", "notebook"}
    assert {path.name: path.read_bytes() for path in garden.iterdir()} == before


def test_every_needed_library_is_listed(garden: Path) -> None:
    """Each run-time dependency of the package stands in the report with the version that is installed."""
    found = {one.name: one.sentence for one in look(garden).findings if one.part == "program"}
    needed = [line.split(">=")[0] for line in metadata.requires("sidelight") or [] if "extra ==" not in line]
    assert len(needed) >= 10
    assert all(found[name] == metadata.version(name) for name in needed)


def test_a_wrong_file_is_odd_and_exits_with_1(garden: Path) -> None:
    """A refused value is told with its file, and so is a second one elsewhere."""
    site, rig = garden / "site.toml", garden / "rig.toml"
    site.write_text(site.read_text(encoding="utf-8").replace("47.42", "147.42"), encoding="utf-8")
    rig.write_text(rig.read_text(encoding="utf-8").replace("1624", "-1"), encoding="utf-8")
    answer = CliRunner().invoke(sidelight, ["doctor", str(garden)])
    assert answer.exit_code == 1
    assert "latitude_deg" in answer.stdout
    assert "focal_length_mm" in answer.stdout
    assert "2 things are odd." in answer.stdout


def test_a_longitude_with_the_wrong_sign_is_odd(garden: Path) -> None:
    """What is possible but unlikely is told too."""
    site = garden / "site.toml"
    text = site.read_text(encoding="utf-8")
    site.write_text(text.replace("Europe/Vienna", "Pacific/Auckland"), encoding="utf-8")
    assert any("longitude's sign" in one for one in oddities(garden))


@pytest.mark.parametrize("now", [dt.datetime(1970, 1, 1, tzinfo=dt.UTC), dt.datetime(2126, 1, 1, tzinfo=dt.UTC)])
def test_a_clock_that_cannot_be_right(garden: Path, now: dt.datetime) -> None:
    """A clock before this program was written, or a century ahead, is told to be wrong."""
    assert any(one.startswith("clock:") and "wrong" in one for one in oddities(garden, now))


def test_a_file_from_the_future(garden: Path) -> None:
    """A file changed after now tells of a wrong clock."""
    ahead = (NOW + dt.timedelta(days=30)).timestamp()
    os.utime(garden / "rig.toml", (ahead, ahead))
    assert [one for one in oddities(garden) if "clock" in one] == [
        "rig.toml: It was changed in the future: this computer's clock is wrong, or was."
    ]


def test_names_that_are_nearly_right_and_what_was_left_over(garden: Path) -> None:
    """A file that is not read because its name is nearly right, and an unfinished one, are told."""
    (garden / "target.toml").write_text("", encoding="utf-8")
    (garden / ".rig.toml.12345678.part").write_text("", encoding="utf-8")
    told = oddities(garden)
    assert any('"targets.toml"' in one for one in told)
    assert any(".part" in one for one in told)
    assert len(told) == 2


def test_a_damaged_field_of_deeper_stars(garden: Path) -> None:
    """A file of fetched stars that cannot be read is told by its name."""
    from sidelight.stars.cache import ENDING

    (garden / "stars").mkdir()
    (garden / "stars" / f"some{ENDING}").write_bytes(b"nothing of the kind")
    assert any(f"some{ENDING}" in one for one in oddities(garden))


def test_a_ledger_is_read_and_left_alone(garden: Path) -> None:
    """A ledger's shape is told; another program's, a newer one and a damaged one are odd; no byte changes."""
    path = garden / "ledger.sqlite"
    open_ledger(path).close()
    assert not oddities(garden)
    sound = path.read_bytes()
    with sqlite3.connect(path) as connection:
        connection.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    connection.close()
    newer = path.read_bytes()
    assert any("newer Sidelight" in one for one in oddities(garden))
    assert path.read_bytes() == newer
    path.write_bytes(sound.replace(APPLICATION_ID.to_bytes(4, "big"), b"\0\0\0\1"))
    assert any("another program" in one for one in oddities(garden))
    path.write_bytes(b"no database" * 500)
    assert any("cannot be read" in one for one in oddities(garden))


def test_data_that_were_damaged(garden: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One changed byte of the star catalogue is found by its checksum."""
    from sidelight.stars import catalogue

    damaged = bytearray(catalogue.EMBEDDED_FILE.read_bytes())
    damaged[-1] ^= 1
    (tmp_path / "stars.bin").write_bytes(damaged)
    monkeypatch.setattr(catalogue, "EMBEDDED_FILE", tmp_path / "stars.bin")
    assert any("checksum" in one for one in oddities(garden))


def test_a_set_up_in_use_that_names_a_target_no_longer_listed(garden: Path) -> None:
    """A kept set-up outliving one of its targets is told."""
    keep = CliRunner().invoke(sidelight, ["setup", str(garden), "--date", "2027-03-06", "--keep", "Spring"])
    assert keep.exit_code == 0, keep.output
    targets = garden / "targets.toml"
    targets.write_text(targets.read_text(encoding="utf-8").replace('"M 96"', '"M 95"'), encoding="utf-8")
    assert any("M 96" in one and "Spring" in one for one in oddities(garden))


def test_without_a_notebook_the_rest_is_looked_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a folder that is no notebook the program itself is still looked at; a folder that is named must be one."""
    monkeypatch.chdir(tmp_path)
    here = CliRunner().invoke(sidelight, ["doctor"])
    assert here.exit_code == 0, here.output
    assert "Here is no notebook" in here.stdout
    named = CliRunner().invoke(sidelight, ["doctor", "nowhere"])
    assert named.exit_code == 1
    assert "There is no such folder" in named.stdout


def test_what_nobody_has_written_yet_is_told_and_is_not_odd(tmp_path: Path) -> None:
    """Files that are as a new notebook has them are named until somebody changes them."""
    needed = {key: value for key, value in ANSWERS.items() if key.split(".")[0] in ("site", "rig")}
    write_new_notebook(tmp_path / "book", needed)
    report = look(tmp_path / "book")
    told = {one.name: one for one in report.findings if one.sentence.startswith("Still as it was made")}
    assert set(told) == {"horizon.txt", "light.toml", "campaign.toml"}
    assert {one.state for one in told.values()} == {"note"}
    assert report.sound
    (tmp_path / "book" / "horizon.txt").write_text("0 12\n180 4\n", encoding="utf-8")
    left = {one.name for one in look(tmp_path / "book").findings if one.sentence.startswith("Still as it was made")}
    assert left == {"light.toml", "campaign.toml"}
