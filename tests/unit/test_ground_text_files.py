"""Texts that a person hands in: files that are none, texts that are too long to be read, angles among many spaces."""

import os
from pathlib import Path

import pytest

from sidelight.ground.angles import parse_angle_deg
from sidelight.ground.errors import LONGEST, BadInput, Problem
from sidelight.ground.text_files import MOST_BYTES, read_text


def test_a_text_is_read_whatever_editor_wrote_it(tmp_path: Path) -> None:
    """A byte order mark and foreign line ends leave the text as it is."""
    path = tmp_path / "a ü.csv"
    path.write_bytes(b"\xef\xbb\xbfa,b\r\n1,2\r\n")
    assert read_text(path, "It", "text") == "a,b\n1,2\n"


@pytest.mark.parametrize(
    ("data", "told"),
    [(b"\xff\xfea\0", "UTF-8"), (b"a\xe4", "UTF-8"), (b"x" * (MOST_BYTES + 1), "million bytes"), (None, "No such")],
)
def test_what_is_no_text_is_refused(tmp_path: Path, data: bytes | None, told: str) -> None:
    """UTF-16, another encoding, an absurd length, and no file at all are told apart, with the file's name."""
    path = tmp_path / "a.csv"
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(BadInput, match=told) as refusal:
        read_text(path, "The table", "text")
    assert refusal.value.problems[0].file == str(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes with a name")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    """A named pipe and a folder in place of a file are refused at once."""
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", tmp_path):
        with pytest.raises(BadInput, match="it is no file"):
            read_text(path, "The list", "text")


def test_what_is_quoted_stays_short() -> None:
    """A message that quotes a huge value keeps its beginning and its end."""
    problem = Problem(f'"{"x" * 100_000}" is not an angle.', expected="y" * 100_000)
    assert len(problem.message) <= LONGEST
    assert problem.message.startswith('"xxx')
    assert problem.message.endswith("is not an angle.")
    assert len(str(problem)) < 3 * LONGEST


@pytest.mark.parametrize("text", ["20" + " " * 20_000 + "x", " " * 20_000, "1" * 20_000 + "x", "1" * 5000])
def test_an_angle_among_many_spaces_is_refused_at_once(text: str) -> None:
    """A pattern that tried every way to split them would not end."""
    with pytest.raises(BadInput, match="not an angle"):
        parse_angle_deg(text, hours=False)


def test_an_angle_keeps_its_value_whatever_lies_between() -> None:
    """Many spaces between its parts are one."""
    assert parse_angle_deg("  +41" + " " * 5000 + "16\t09 ", hours=False) == pytest.approx(41 + 16 / 60 + 9 / 3600)
