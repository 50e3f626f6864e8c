"""Places: the line and the stretch of text of every key, in every way that TOML lets people write it."""

import pytest

from sidelight.notebook.places import KeyPath, find_places

MANNERS = """\
title = "a # b"  # note with [brackets] and "quotes"

'a key' = 1
"tab\\tkey" = 2
a.b.c = 3

[ dog . "tater.man" ]
type = '''
first
[not a header]
'''
lists = [ # of things
  1,
  "two ] not the end", # a note ]
  { x = 1, y = [ 2,
    3 ] },
]

[[fruit]]
name = "apple"
  [fruit.physical]
  colour = "red"
  [[fruit.variety]]
  name = "red delicious"
  [[fruit.variety]]
  name = "granny smith"

[[fruit]]
name = "banana"
[[fruit.variety]]
name = "plantain"
text = \"\"\"four quotes \\\" inside \"\"\"\"
last = 1979-05-27 07:32:00
"""
"""Most manners of the TOML v1.0.0 specification (toml.io): its own examples for dotted and quoted keys, and fruit."""

LINES: list[tuple[KeyPath, int]] = [
    (("title",), 1),
    (("a key",), 3),
    (("tab\tkey",), 4),
    (("a", "b", "c"), 5),
    (("a", "b"), 5),
    (("dog",), 7),
    (("dog", "tater.man"), 7),
    (("dog", "tater.man", "type"), 8),
    (("dog", "tater.man", "lists"), 12),
    (("dog", "tater.man", "lists", 0), 13),
    (("dog", "tater.man", "lists", 1), 14),
    (("dog", "tater.man", "lists", 2, "y"), 15),
    (("dog", "tater.man", "lists", 2, "y", 1), 16),
    (("fruit", 0), 19),
    (("fruit", 0, "physical", "colour"), 22),
    (("fruit", 0, "variety", 0, "name"), 24),
    (("fruit", 0, "variety", 1, "name"), 26),
    (("fruit", 1), 28),
    (("fruit", 1, "name"), 29),
    (("fruit", 1, "variety", 0), 30),
    (("fruit", 1, "variety", 0, "text"), 32),
    (("fruit", 1, "variety", 0, "last"), 33),
]


@pytest.mark.parametrize(("path", "line"), LINES)
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_every_key_has_its_line(path: KeyPath, line: int, line_end: str) -> None:
    """Each key, table, row and element is found on its own line, whichever way lines end."""
    assert find_places(MANNERS.replace("\n", line_end)).lines[path] == line


def test_a_missing_key_has_the_line_of_what_is_around_it() -> None:
    """A path that is not there falls back to its table, and at the head of the file to none."""
    places = find_places(MANNERS)
    assert places.line(("fruit", 1, "colour")) == 28
    assert places.line(("fruit", 0, "variety", 1, "sort")) == 25
    assert places.line(("nothing",)) is None


def test_a_table_named_by_its_inside_first_has_its_own_header() -> None:
    """[a.b] before [a]: the line of a is that of [a]."""
    assert find_places("[a.b]\nx = 1\n[a]\ny = 2\n").lines["a",] == 3


def test_nothing_at_all() -> None:
    """An empty text and one of notes only have no places, and one block, the head."""
    for text in ("", "# only\n# notes", "\n\n"):
        places = find_places(text)
        assert not places.lines
        assert [block.path for block in places.blocks] == [()]


def test_stretches_of_text() -> None:
    """The stretch of a value is the value's text and nothing else, notes behind it left out."""
    place = find_places(MANNERS).values["title",]
    assert MANNERS[place.value_start : place.value_end] == '"a # b"'
    assert MANNERS[place.key_start : place.key_end] == "title"
