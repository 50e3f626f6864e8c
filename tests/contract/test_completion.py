"""The tab key: a real bash is told commands, options, and the notebook's own names; the page says how."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from sidelight import __version__
from sidelight.desk.names import setup_names, target_names

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "completion.md").read_text(encoding="utf-8")
BASH = shutil.which("bash")
SCRIPT = """
eval "$(_SIDELIGHT_COMPLETE=bash_source sidelight)"
COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1))
_sidelight_completion sidelight
printf '%s\\n' "${COMPREPLY[@]}"
"""


def offered(folder: Path, *words: str) -> list[str]:
    """Return what bash offers for the last of these words, through the script that the page has people source."""
    assert BASH is not None
    command = folder / "sidelight"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m sidelight "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    answer = subprocess.run(
        [BASH, "-c", SCRIPT, "bash", *words],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        env={**os.environ, "PATH": f"{folder}{os.pathsep}{os.environ['PATH']}"},
    )
    assert not answer.stderr, answer.stderr
    return answer.stdout.split("\n")[:-1]


needs_bash = pytest.mark.skipif(BASH is None or os.name == "nt", reason="needs bash")


@needs_bash
def test_commands_and_options(tmp_path: Path) -> None:
    """The beginning of a command is completed, and so is that of an option."""
    assert {"season", "setup", "serve"} == set(offered(tmp_path, "sidelight", "se"))
    assert "--each-night" in offered(tmp_path, "sidelight", "season", "--ea")


@needs_bash
@pytest.mark.parametrize(
    "asked", [("exposure",), ("ledger", "assign"), ("ledger", "hours"), ("ledger", "list", "--target")]
)
def test_targets_wherever_one_is_asked_for(asked: tuple[str, ...], tmp_path: Path, demo_folder: Path) -> None:
    """A target's name is completed as an argument and as an option's value."""
    *words, last = asked
    option = [last] if last.startswith("-") else []
    said = words if option else [*words, last]
    assert '"NGC 5907"' in offered(tmp_path, "sidelight", *said, str(demo_folder), *option, "NGC")


@needs_bash
def test_names_of_the_notebook(tmp_path: Path, demo_folder: Path) -> None:
    """Targets of the notebook that was named are offered, a name with a blank in quotes."""
    assert offered(tmp_path, "sidelight", "season", str(demo_folder), "--only", "NGC") == [
        '"NGC 2903"',
        '"NGC 4490"',
        '"NGC 5907"',
    ]
    assert offered(tmp_path, "sidelight", "setup", str(demo_folder), "--leave-out", "zzz") in ([], [""])


def test_names_are_found_or_nothing_is_said(tmp_path: Path, demo_folder: Path) -> None:
    """Targets and kept set-ups are read; a missing or a broken file offers nothing."""
    assert target_names(demo_folder) == ("NGC 2903", "M 96", "M 81", "NGC 4490", "NGC 5907")
    assert setup_names(demo_folder) == ()
    for broken in (b"", b"\xff\xfe", b"target = 3", b"[[target]]\nname = 3", b"[[target", b"target = [1, 2]"):
        (tmp_path / "targets.toml").write_bytes(broken)
        assert target_names(tmp_path) == ()
    (tmp_path / "setups.toml").write_text('[[setup]]\nname = "Spring"\n', encoding="utf-8")
    assert setup_names(tmp_path) == ("Spring",)


def test_the_page_names_the_shells_that_there_are() -> None:
    """Each shell of the page is one that click makes a script for."""
    from click.shell_completion import get_completion_class

    shells = re.findall(r"_SIDELIGHT_COMPLETE=([a-z]+)_source", PAGE)
    assert len(shells) == 3
    assert all(get_completion_class(shell) is not None for shell in shells)


def test_the_changelog_knows_this_version() -> None:
    """The newest entry of the changelog is this version's, and its rule about numbers stands at the top."""
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    newest = re.search(r"^## (\S+?),", text, flags=re.MULTILINE)
    assert newest is not None
    assert newest[1] == __version__
    assert "**A changed number states its size.**" in text[: newest.start()]
