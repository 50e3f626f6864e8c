"""Whatever words follow the command, it answers or refuses in words: exit code 0, 1 or 2, and text that is only text.

SIDELIGHT_FUZZ_CASES=2000 pytest tests/property/test_robustness_commands.py runs more cases of each.
"""

import json
from pathlib import Path

import pytest
from tests.spoilt.commands import SOUND, at_the_terminal, command_spoilings, make_ready, options_of, said, spoilt_line
from tests.spoilt.records import Spoiling, many

from sidelight.cli.main import COMMANDS


@pytest.mark.parametrize("spoiling", command_spoilings(), ids=lambda one: one.what)
def test_a_spoilt_line_is_answered_or_refused_in_words(tmp_path: Path, spoiling: Spoiling) -> None:
    """Never a traceback or exit code 3, never a raw escape; after a refusal the notebook is as it was."""
    used, refused = many(spoiling, tmp_path)
    assert used
    assert refused


def test_every_word_of_the_command_is_among_the_sound_lines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No command is left out, and each of the lines that are spoilt is sound."""
    assert {line[0] for line in SOUND} == set(COMMANDS)
    here, _ = make_ready(tmp_path)
    monkeypatch.chdir(here)
    for line in SOUND:
        if line[:2] == ("stars", "fetch"):
            continue  # its service is never there
        code, out, err = said(list(line))
        assert code == 0, (line, out, err)


@pytest.mark.parametrize(
    "words",
    [
        ("night", "N", "--date", "0000-00-00"),
        ("night", "N", "--date", "9999-12-31"),
        ("campaign", "N", "--date", "1899-12-31"),
        ("season", "N", "--nights", "1000000000"),
        ("setup", "N", "--camera-angle", "nan"),
        ("bench", "N", "--card", ""),
        ("season", "x" * 5000),
        ("serve", "N", "--get", "//["),
        ("stars", "import", "N", "frames"),
        ("ledger", "hours", "N", "M 81", "1e308"),
    ],
    ids=lambda words: " ".join(words)[:40],
)
def test_lines_that_once_were_answered_badly(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Dates out of reach, absurd counts, names that cannot be: exit code 2 and a sentence."""
    with at_the_terminal((words,), tmp_path):
        code, out, err = said(list(words))
    assert code == 2
    assert "Traceback" not in err
    assert (out + err).strip()


def test_an_escape_in_a_name_is_shown_as_text(tmp_path: Path) -> None:
    """A name with a terminal's own commands in it is printed harmlessly, and JSON still gives it as it was."""
    name = "\x1b[31mred\x1b[0m \x07 \x9b2J"
    with at_the_terminal((), tmp_path):
        site = Path("N/site.toml")
        quoted = json.dumps(name)
        lines = site.read_text(encoding="utf-8").split("\n")
        assert any(line.startswith("name = ") for line in lines)
        site.write_text(
            "\n".join(f"name = {quoted}" if line.startswith("name = ") else line for line in lines), encoding="utf-8"
        )
        _, shown, told = said(["season", "N", "--date", "2027-03-06", "--nights", "2"])
        _, as_json, _ = said(["season", "N", "--date", "2027-03-06", "--nights", "2", "--json"])
    assert "\x1b" not in shown + told
    assert "\x9b" not in shown + told
    if shown:
        assert json.loads(as_json)["site"] == name
    else:
        assert "name" in told


def test_spoiling_lines_spoils_them() -> None:
    """Most lines come out otherwise than they went in, and every option of a command can be added."""
    import random

    spoilt = [spoilt_line(SOUND[0], random.Random(seed)) for seed in range(200)]
    assert sum(tuple(line) != SOUND[0] for line in spoilt) > 150
    assert "--each-night" in options_of(("season",))
