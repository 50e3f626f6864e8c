"""The ledger's commands: text, JSON and CSV agree, exit codes hold, nothing is written on a refusal."""

import csv
import datetime as dt
import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.strategies.frames import write_light

from sidelight.cli.ledger import command
from sidelight.ground.errors import BadInput

START = dt.datetime(2027, 3, 6, 20, 0, tzinfo=dt.UTC)


@pytest.fixture
def garden(garden: Path) -> Path:
    """Return a notebook, with frames of M 81 in the folder beside it."""
    lights = garden.parent / "lights"
    for number in range(3):
        start = START + dt.timedelta(minutes=10 * number)
        write_light(lights / f"m81_{number}.fits", start, place_deg=(148.888, 69.065))
    (lights / "broken.fits").write_bytes(b"SIMPLE  =")
    return garden


def ask(*words: str | Path) -> str:
    """Run a command of the ledger and return what it prints; a refusal is raised as it is."""
    answer = CliRunner().invoke(command, [str(word) for word in words], catch_exceptions=False)
    assert answer.exit_code == 0, answer.output
    return str(answer.stdout)


def test_add_show_and_list(garden: Path) -> None:
    """Adding reports each bad file; JSON and CSV hold the same hours."""
    lights = garden.parent / "lights"
    told = ask("add", garden, lights)
    assert "3 new" in told
    assert "broken.fits" in told
    report = json.loads(ask("show", garden, "--json", "--csv", garden.parent / "hours.csv"))
    assert report["by_target"][0]["target"] == "M 81"
    with (garden.parent / "hours.csv").open(encoding="utf-8", newline="") as sheet:
        rows = list(csv.DictReader(sheet))
    assert sum(float(row["hours_h"]) for row in rows) == pytest.approx(report["by_target"][0]["hours_h"])
    assert rows[0]["night"] == "2027-03-06"
    frames = json.loads(ask("list", garden, "--json", "--target", "m 81"))["frames"]
    assert [Path(row["file"]).name for row in frames] == ["m81_0.fits", "m81_1.fits", "m81_2.fits"]
    assert frames[0]["start_utc"] == "2027-03-06T20:00:00Z"
    for words in (("show", garden, "--nights"), ("list", garden), ("list", garden, "--not-counted")):
        assert ask(*words).strip()


def test_every_decision_answers_in_json(garden: Path) -> None:
    """Each changing command has a JSON answer with what it changed, and a sentence without it."""
    ask("add", garden, garden.parent / "lights")
    (garden.parent / "bad.txt").write_text("m81_2.fits\n", encoding="utf-8")
    for words in (
        ("exclude", garden, "m81_0.fits", "--reason", "wind"),
        ("restore", garden, "m81_0.fits"),
        ("assign", garden, "M 96", "m81_1.fits"),
        ("reject", garden, garden.parent / "bad.txt"),
        ("hours", garden, "M 81", "2", "--filter", "Ha"),
        ("hours", garden, "--remove", "1"),
    ):
        answer = json.loads(ask(*words, "--json"))
        assert answer["changed_count"] == 1, words
        assert answer["sentence"]


def test_a_file_name_like_a_formula_stays_text(garden: Path) -> None:
    """What a spreadsheet would take for a formula is written so that it stays text."""
    write_light(garden.parent / "odd" / "=1+1.fits", START, object_name="M 81", filter_name="=SUM(A1)")
    ask("add", garden, garden.parent / "odd")
    ask("show", garden, "--csv", garden.parent / "hours.csv")
    assert ",'=SUM(A1)," in (garden.parent / "hours.csv").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "words",
    [
        ("add", "gone"),
        ("exclude", "none.fits"),
        ("assign", "M 82", "m81_0.fits"),
        ("list", "--target", "Nowhere"),
    ],
)
def test_refusals_exit_with_2(garden: Path, words: tuple[str, ...]) -> None:
    """What cannot be meant is bad input (exit code 2), with a way on."""
    ask("add", garden, garden.parent / "lights")
    before = ask("list", garden, "--json")
    answer = CliRunner().invoke(command, [words[0], str(garden), *words[1:]])
    refused = answer.exception
    assert isinstance(refused, BadInput), answer.output
    assert refused.exit_code == 2
    assert any(problem.expected or problem.suggestion for problem in refused.problems)
    assert ask("list", garden, "--json") == before


def test_a_damaged_ledger_is_left_alone(garden: Path) -> None:
    """A file that is no ledger is refused and stays as it is."""
    (garden / "ledger.sqlite").write_bytes(b"not a database, but somebody's letters" * 50)
    answer = CliRunner().invoke(command, ["show", str(garden)])
    assert isinstance(answer.exception, BadInput)
    assert (garden / "ledger.sqlite").read_bytes().startswith(b"not a database")


@pytest.mark.parametrize("hours", ["-3", "nan", "many", "1e9"])
def test_hours_that_none_can_have_collected(garden: Path, hours: str) -> None:
    """Hours below 0, endless ones and words are refused with what is wanted, and nothing is entered."""
    before = ask("show", garden, "--json")
    answer = CliRunner().invoke(command, ["hours", str(garden), "--", "M 81", hours])
    assert answer.exit_code == 2
    assert "hours" in answer.output
    assert ask("show", garden, "--json") == before
