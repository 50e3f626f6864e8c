"""The commands light and exposure: JSON as documented, pictures that are well formed, refusals that write nothing."""

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner
from tests.contract.test_command_line import run

from sidelight.cli.main import sidelight

ROOT = Path(__file__).resolve().parents[2]
DATE = "2027-03-20"
FIELDS = {
    "light": ["sentence", "month_sentence", "moon", "filters", "times_utc", "targets", "integral_error_hours"],
    "exposure": ["filters", "wanted_snr", "brightness_mag_arcsec2", "pixel_scale_arcsec", "uncertainty"],
}


def answer(*words: str) -> str:
    """Return what a command prints."""
    result = CliRunner().invoke(sidelight, list(words), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.mark.parametrize("word", ["light", "exposure"])
def test_json_holds_its_fields_and_they_are_documented(word: str, demo_folder: Path) -> None:
    """The fields that programs rely on are there, and every one that is there stands on the reference page."""
    more = ["M 81"] if word == "exposure" else ["--nights", "3"]
    got = json.loads(answer(word, str(demo_folder), *more, "--date", DATE, "--json"))
    assert set(FIELDS[word]) <= set(got)
    page = (ROOT / "docs" / "reference" / "json.md").read_text(encoding="utf-8")
    section = page.split(f"\n## {word}\n")[1].split("\n## ")[0]
    assert not [field for field in got if f"| `{field}` |" not in section]


def test_season_json_has_dark_and_effective_hours(demo_folder: Path) -> None:
    """Each night has both; the effective ones are fewer."""
    got = json.loads(answer("season", str(demo_folder), "--date", DATE, "--nights", "5", "--json"))
    for target in got["targets"]:
        assert target["filter"] == "L"
        for night in target["nights"]:
            assert 0.0 <= night["effective_hours"] <= night["dark_hours"]


@pytest.mark.parametrize("look", ["day", "night", "print"])
def test_pictures_are_well_formed(look: str, demo_folder: Path, tmp_path: Path) -> None:
    """Both commands write their pictures as XML with a title and a description."""
    at = ["--date", DATE, "--pictures", str(tmp_path), "--look", look]
    answer("light", str(demo_folder), "--nights", "10", "--only", "M 81", *at)
    answer("exposure", str(demo_folder), "M 81", *at)
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {"light.svg", "light-m-81.svg", "month-m-81.svg", "exposure.svg", "exposure-snr.svg"}
    for path in tmp_path.iterdir():
        root = ElementTree.fromstring(path.read_text(encoding="utf-8"))
        assert {"title", "desc"} <= {child.tag.rpartition("}")[2] for child in root}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["light", "--filter", "OII"], 'Did you mean "OIII"'),
        (["light", "--only", "M 18"], '"M 18" is not on this notebook'),
        (["light", "--nights", "0"], "--nights"),
        (["exposure", "M 18"], '"M 18" is not on this notebook'),
        (["exposure", "M 81", "--filter", "Hb"], 'There is no filter "Hb"'),
        (["exposure", "M 81", "--hours", "nan"], "--hours"),
        (["exposure", "M 81", "--brightness", "-400"], "--brightness"),
        (["exposure", "M 81", "--share", "0"], "--share"),
        (["exposure", "M 81", "--snr", "inf"], "--snr"),
        (["exposure", "M 81", "--star", "many"], "--star"),
    ],
)
def test_bad_input_is_refused_and_nothing_is_written(
    words: list[str], told: str, demo_folder: Path, tmp_path: Path
) -> None:
    """Exit code 2, the cause named, no traceback, no picture."""
    word, *more = words
    got = run(word, str(demo_folder), *more, "--date", DATE, "--pictures", str(tmp_path / "pictures"))
    assert got.returncode == 2, got.stderr
    assert told in got.stderr
    assert "Traceback" not in got.stderr
    assert not (tmp_path / "pictures").exists()
