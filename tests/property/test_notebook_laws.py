"""Notebook: what is written is read back, what is spoilt is refused in words, and every key is found on its line."""

import math
import tomllib
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.strategies.notebook import TEXTS, in_memory, pages, spoilt, values, words

from sidelight.ground.errors import BadInput
from sidelight.notebook.check import Checked, Findings, check_page
from sidelight.notebook.edit_text import with_row, with_value, without_row
from sidelight.notebook.horizon_text import read_rows, rewritten
from sidelight.notebook.new import horizon_text
from sidelight.notebook.places import KeyPath, find_places
from sidelight.notebook.read import problems_of, read_folder
from sidelight.notebook.schema.fields import Table, in_toml
from sidelight.notebook.schema.pages import PAGES, page_of
from sidelight.notebook.template import page_text
from sidelight.notebook.toml_text import parse_toml

TOML_FILES = [name for name in TEXTS if name.endswith(".toml")]


def same(given_value: Any, read: Any) -> bool:
    """Whether a value came back, lists as tuples and names with numbers as pairs."""
    if isinstance(given_value, dict):
        return dict(read) == given_value
    if isinstance(given_value, list):
        return list(read) == given_value
    return bool(read == given_value)


def came_back(table: Table, answers: dict[str, Any], checked: Checked) -> None:
    """Assert that every answer of a table and of the tables inside it was read back."""
    for one in table.fields:
        if one.key in answers:
            assert same(answers[one.key], checked.values[one.key]), one.key
    for inner in table.tables:
        if inner.many and answers.get(inner.name):
            pairs = zip(answers[inner.name], checked.repeats[inner.name], strict=True)
            for row, row_checked in pairs:
                came_back(inner, row, row_checked)
        elif not inner.many and inner.name in answers:
            came_back(inner, answers[inner.name], checked.tables[inner.name])


@pytest.mark.parametrize("page", PAGES, ids=[page.file for page in PAGES])
def test_what_is_written_is_read_back(page: Any) -> None:
    """Any answers that a file's fields accept come back from the written file exactly, and nothing is refused."""

    @settings(max_examples=15, deadline=None)
    @given(pages(page))
    def holds(answers: dict[str, Any]) -> None:
        findings = Findings(parse_toml(page.file, page_text(page, answers).encode()))
        checked = check_page(page, findings)
        assert findings.problems == []
        came_back(page.head, answers, checked)

    holds()


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_what_is_spoilt_is_refused_in_words(data: st.DataObject) -> None:
    """A spoilt file is read or refused, never anything else; each problem has a file and a sentence."""
    name = data.draw(st.sampled_from(sorted(TEXTS)))
    folder = in_memory(**{name.replace(".", "_"): data.draw(spoilt(TEXTS[name]))})
    problems = problems_of(folder)
    for problem in problems:
        assert problem.file in TEXTS
        assert problem.message.endswith((".", "?"))
        assert problem.line is None or 1 <= problem.line <= 200
    if not problems:
        assert math.isfinite(read_folder(folder).site.latitude_deg)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(TEXTS)), st.binary(max_size=200))
def test_noise_is_refused_in_words(name: str, noise: bytes) -> None:
    """Any bytes at all in any file are read or refused."""
    problems = problems_of(in_memory(**{name.replace(".", "_"): noise}))
    assert all(problem.file in TEXTS for problem in problems)


def leaves(value: Any, path: KeyPath = ()) -> list[tuple[KeyPath, Any]]:
    """Return every path of a TOML document, tables and lists included."""
    inside: list[tuple[Any, Any]] = []
    if isinstance(value, dict):
        inside = list(value.items())
    elif isinstance(value, list):
        inside = list(enumerate(value))
    found = [(path, value)] if path else []
    for key, item in inside:
        found += leaves(item, (*path, key))
    return found


plain_values = st.recursive(
    st.one_of(words, st.integers(-(2**60), 2**60), st.floats(allow_nan=False), st.booleans(), st.dates()),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(words, inner, max_size=3)),
    max_leaves=8,
)


@st.composite
def documents(draw: st.DrawFn) -> str:
    """Draw TOML in many manners: notes, empty lines, dotted and quoted keys, tables that repeat, several lines."""
    lines: list[str] = []
    noise = st.sampled_from(["", "# [note]", '# key = "x"', "   "])
    for n in range(draw(st.integers(0, 4))):
        if n:
            brackets = draw(st.sampled_from(["[a{n}]", "[[rows]]", '[ "b {n}" . c ]', "[[rows.inner]]"]))
            header = brackets.format(n=n)
            if header == "[[rows.inner]]" and "[[rows]]" not in lines:
                header = "[[rows]]"
            lines.append(header)
        for k in range(draw(st.integers(0, 3))):
            lines += draw(st.lists(noise, max_size=2))
            key = draw(st.sampled_from(["k{k}", '"odd # key {k}"', "d{k}.e . f", "'single {k}'"])).format(k=k)
            value = in_toml(draw(plain_values))
            manner = draw(st.integers(0, 3))
            value = ('"""\nlong # text\n["""', "'''x\n'''", f"[ # note\n  {value},\n]", value)[manner]
            lines.append(f"{key} = {value}{draw(st.sampled_from(['', '  # note ] }']))}")
    return draw(st.sampled_from(["\n", "\r\n"])).join(lines) + "\n"


@settings(max_examples=80, deadline=None)
@given(documents())
def test_every_place_holds_its_value(text: str) -> None:
    """Every path that the standard library's reader finds has a line, and its stretch of text is its value."""
    data = tomllib.loads(text)
    places = find_places(text)
    for path, value in leaves(data):
        line = places.lines[path]
        assert 1 <= line <= text.count("\n") + 1
        if path in places.values:
            place = places.values[path]
            stretch = text[place.value_start : place.value_end]
            assert tomllib.loads(f"v = {stretch}")["v"] == value
            assert line == text.count("\n", 0, place.key_start) + 1
    assert set(places.values) <= {path for path, _ in leaves(data)}


def notes(text: str) -> list[str]:
    """Return the lines of a text that are notes in sentences, not keys and headers that are switched off."""
    off = ("# [", "# Switched off")
    return [
        line for line in text.splitlines() if line.startswith("#") and " = " not in line and not line.startswith(off)
    ]


def kept(text: str) -> list[tuple[KeyPath, Any]]:
    """Return every path of a document that leads to a value, not to a table."""
    return sorted(
        ((path, value) for path, value in leaves(tomllib.loads(text)) if not isinstance(value, dict)), key=repr
    )


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_change_changes_one_key_and_no_note(data: st.DataObject) -> None:
    """Any key of any file, set in a new file or the small one, is then read back; the rest and all notes stay."""
    page = data.draw(st.sampled_from([page for page in PAGES if page.file in TEXTS]))
    text = data.draw(st.sampled_from([page_text(page), TEXTS[page.file]]))
    names, table = data.draw(st.sampled_from([one for one in page.head.walk() if not one[1].many]))
    assume(table.fields)
    one = data.draw(st.sampled_from(table.fields))
    value = data.draw(st.one_of(st.none(), values(one)))
    before, path = tomllib.loads(text), (*names, one.key)
    new = with_value(text, path, value)
    after = tomllib.loads(new)
    changed = {p for p, v in leaves(after) if (p, v) not in leaves(before)} | {
        p for p, v in leaves(before) if (p, v) not in leaves(after)
    }
    assert all(p[: len(path)] == path or path[: len(p)] == p for p in changed)
    if value is not None:
        assert dict(leaves(after))[path] == tomllib.loads(f"v = {in_toml(value)}")["v"]
        assert kept(with_value(new, path, None)) == kept(with_value(text, path, None))
    else:
        assert path not in dict(leaves(after))
    assert notes(new) == notes(text)


@settings(max_examples=50, deadline=None)
@given(st.data())
def test_a_row_that_comes_and_goes(data: st.DataObject) -> None:
    """A row added and taken out again leaves the values and the notes as they were."""
    file, name = data.draw(
        st.sampled_from([("targets.toml", "target"), ("campaign.toml", "goal"), ("light.toml", "glow")])
    )
    page = page_of(file)
    assert page is not None
    text = data.draw(st.sampled_from([page_text(page), TEXTS[file]]))
    added = with_row(text, name, f'[[{name}]]\nname = "x"  # mine\n')
    rows = tomllib.loads(added)[name]
    assert rows[-1] == {"name": "x"}
    assert rows[:-1] == tomllib.loads(text).get(name, [])
    gone = without_row(added, name, len(rows) - 1)
    assert tomllib.loads(gone) == tomllib.loads(text)
    assert notes(gone) == notes(text)


bearings = st.integers(0, 3599).map(lambda tenth: tenth / 10)
skylines = st.dictionaries(bearings, st.floats(-5, 89.9).map(lambda deg: round(deg, 2)), min_size=1, max_size=20)


@settings(max_examples=50, deadline=None)
@given(skylines, skylines)
def test_a_skyline_is_read_back(first: dict[float, float], second: dict[float, float]) -> None:
    """Points written are read back, after a change as well, and the notes at the head stay."""
    text = horizon_text(tuple(first.items()))
    assert {row.bearing_deg: row.altitude_deg for row in read_rows(text)} == first
    new = rewritten(text, tuple(second.items()))
    assert {row.bearing_deg: row.altitude_deg for row in read_rows(new)} == second
    assert [line for line in new.splitlines() if line.startswith("#")] == [
        line for line in text.splitlines() if line.startswith("#")
    ]


@settings(max_examples=50, deadline=None)
@given(st.data(), st.sampled_from(TOML_FILES))
def test_the_line_of_a_wrong_value(data: st.DataObject, file: str) -> None:
    """A value of the wrong kind is found on the line on which it stands, wherever notes and empty lines push it."""
    lines = TEXTS[file].splitlines()
    keys = [n for n, line in enumerate(lines) if " = " in line and not line.startswith("#")]
    n = data.draw(st.sampled_from(keys))
    lines[n] = f"{lines[n].split(' = ')[0]} = [[]]"
    pushed = data.draw(st.lists(st.sampled_from(["", "# note", "#[x]"]), max_size=4))
    text = "\n".join([*pushed, *lines]) + "\n"
    with pytest.raises(BadInput) as refusal:
        read_folder(in_memory(**{file.replace(".", "_"): text}))
    assert any(one.file == file and one.line == n + 1 + len(pushed) for one in refusal.value.problems)
