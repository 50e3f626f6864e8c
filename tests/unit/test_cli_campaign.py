"""The commands campaign and suggest, and the files they write, read back by independent readers."""

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sidelight.cli.main import sidelight
from sidelight.desk.demo import make_demo

FEW = ["--date", "2027-03-06", "--nights", "20", "--weathers", "200", "--quick"]


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the example notebook's folder."""
    folder = tmp_path_factory.mktemp("cli-campaign") / "garden"
    make_demo(folder)
    return folder


def run(*words: object) -> Result:
    """Run the command."""
    return CliRunner().invoke(sidelight, [str(word) for word in words], catch_exceptions=False)


def test_text_names_zone_targets_and_odds(garden: Path) -> None:
    """A person reads every target with its odds, the plan in local time with the zone named, and the gap."""
    result = run("campaign", garden, *FEW)
    assert result.exit_code == 0
    for words in ("NGC 2903", "M 81", "odds", "Europe/Vienna, UTC+01:00", "of the best there is", "%"):
        assert words in result.stdout


def test_files_are_read_back_by_others(garden: Path, tmp_path: Path) -> None:
    """The iCalendar file by the package icalendar, CSV by Python's reader, ECSV by astropy: the same stays."""
    import icalendar
    from astropy.table import Table

    files = {name: tmp_path / f"plan.{name}" for name in ("ics", "csv", "ecsv")}
    result = run(
        "campaign", garden, *FEW, "--json", "--calendar", files["ics"], "--csv", files["csv"], "--ecsv", files["ecsv"]
    )
    plan = json.loads(result.stdout)["plan"]
    calendar = icalendar.Calendar.from_ical(files["ics"].read_bytes())
    stays = [one for one in calendar.walk("VEVENT") if "Last call" not in str(one["SUMMARY"])]
    assert [one["DTSTART"].dt.strftime("%Y-%m-%dT%H:%M:%SZ") for one in stays] == [one["start_utc"] for one in plan]
    assert len({str(one["UID"]) for one in calendar.walk("VEVENT")}) == len(calendar.walk("VEVENT"))
    with files["csv"].open(newline="", encoding="utf-8") as handle:
        rows = list(csv.DictReader(handle))
    assert [row["target"] for row in rows] == [one["target"] for one in plan]
    table = Table.read(files["ecsv"], format="ascii.ecsv")
    assert table["hours"].unit == "h"
    assert list(table["effective_hours"]) == pytest.approx([one["effective_hours"] for one in plan], abs=1e-4)
    assert table.meta["seed"] == 1


def test_a_second_export_is_the_same_file(garden: Path, tmp_path: Path) -> None:
    """Identifiers and stamp follow from the plan, so that importing it twice changes nothing."""
    one, two = tmp_path / "one.ics", tmp_path / "two.ics"
    for path in (one, two):
        run("campaign", garden, *FEW, "--calendar", path)
    assert one.read_bytes() == two.read_bytes()


def test_pictures_are_drawn(garden: Path, tmp_path: Path) -> None:
    """Campaign and odds as SVG that an XML parser reads, with title and description."""
    from xml.etree import ElementTree

    run("campaign", garden, *FEW, "--pictures", tmp_path, "--look", "night")
    for name in ("campaign", "odds"):
        root = ElementTree.parse(tmp_path / f"{name}.svg").getroot()
        tags = {child.tag.split("}")[1] for child in root}
        assert {"title", "desc"} <= tags


def test_progress_stays_out_of_the_answer(garden: Path) -> None:
    """Standard output is JSON alone."""
    result = run("campaign", garden, *FEW, "--json")
    assert json.loads(result.stdout)["nights_count"] == 20


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--nights", "0"], "1 to 800 nights"),
        (["--weathers", "5"], "100 to 1,000,000 weathers"),
        (["--date", "soon"], "not a date"),
        (["--seed", "-1"], "x>=0"),
    ],
)
def test_bad_words_are_refused(garden: Path, words: list[str], said: str) -> None:
    """Exit code 2 and what would be accepted."""
    result = run("campaign", garden, *words)
    assert result.exit_code == 2
    assert said in result.output


def test_suggest_answers_in_both_ways(garden: Path) -> None:
    """As text with the formula named, and as JSON with units in the names."""
    words = ["suggest", garden, "--date", "2027-03-06", "--nights", "5", "--count", "3", "--any-hour"]
    text = run(*words).stdout
    assert "score = S / (S + wanted)" in text
    found = json.loads(run(*words, "--json").stdout)
    assert len(found["suggestions"]) == 3
    assert {"ra_deg", "dec_deg", "hours", "hours_east", "snr_per_arcsec2", "guide_stars"} <= set(
        found["suggestions"][0]
    )
    assert run("suggest", garden, "--count", "0").exit_code == 2
