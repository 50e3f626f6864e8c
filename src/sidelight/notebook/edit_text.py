"""Changing the text of a TOML file in place: only what must change does, every note stays.

Each change is made on the text itself, then the new text is read and compared with what it should say.
"""

import copy
import re
import tomllib
from collections.abc import Callable, Mapping
from typing import Any

from sidelight.ground.errors import BadInput, OurFault, Problem
from sidelight.notebook.places import Block, KeyPath, Place, Places, find_places
from sidelight.notebook.schema.fields import in_toml

SWITCHED_OFF = re.compile(r"^# Switched off: .*\n", flags=re.MULTILINE)


def with_value(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401 - every value that a file may hold
    """Return the text with a key set; None switches the key, or a whole table, off, so that defaults hold.

    Raises BadInput when the path leads through something that is no table, or to a row that does not exist.
    """
    data = tomllib.loads(text)
    wanted = copy.deepcopy(data)
    plain = None if value is None else tomllib.loads(f"v = {in_toml(value)}")["v"]
    _put(wanted, path, plain)
    if _same(wanted, data):
        return text
    same = _same if value is not None else _same_but_for_empty_tables
    ways: tuple[Callable[[], str], ...] = (
        lambda: _in_place(text, path, value, wanted),
        lambda: _switched_on(text, path, value),
        lambda: _inserted(text, path, value),
        lambda: _beside(text, path, value),
        lambda: _in_new_table(text, path, value, anew=False),
        lambda: _in_new_table(text, path, value, anew=True),
    )
    if value is None:
        ways = (ways[0], lambda: _table_switched_off(text, path))
    return _first_right(ways, wanted, same)


def with_row(text: str, table: str, row: str) -> str:
    """Return the text with one more row of a table that repeats; row is its text, header and keys."""
    wanted = tomllib.loads(text)
    added = tomllib.loads(row)[table]
    wanted[table] = [*wanted.get(table, []), *added]

    def after_the_last() -> str:
        at = _end_of_rows(text, find_places(text), table)
        before, after = text[:at].rstrip("\n"), text[at:].lstrip("\n")
        return f"{before}\n\n{row.strip()}\n" + (f"\n{after}" if after else "")

    ways: tuple[Callable[[], str], ...] = (
        after_the_last,
        lambda: f"{text.rstrip()}\n\n{row.strip()}\n",
        lambda: _in_place(text, (table,), wanted[table], wanted),
    )
    return _first_right(ways, wanted)


def without_row(text: str, table: str, number: int) -> str:
    """Return the text without one row, counted from 0, and without the notes that stand in it or right above it."""
    wanted = tomllib.loads(text)
    rows = wanted.get(table, [])
    if not isinstance(rows, list) or not 0 <= number < len(rows):
        raise BadInput(Problem(f"There is no row {number + 1} of [[{table}]]."))
    del rows[number]
    if not rows:
        del wanted[table]

    def cut() -> str:
        places = find_places(text)
        new = text
        for block in reversed(places.blocks):
            if block.path[:2] == (table, number):
                start = _with_notes_above(text, block.start)
                rest = new[_line_end(new, block.body_end) :]
                new = new[:start].rstrip("\n") + "\n\n" + rest.lstrip("\n") if start else rest.lstrip("\n")
        return new.rstrip("\n") + "\n"

    return _first_right((cut, lambda: _in_place(text, (table,), rows or None, wanted)), wanted)


def _first_right(
    ways: tuple[Callable[[], str], ...], wanted: Mapping[str, Any], same: Callable[[Any, Any], bool] | None = None
) -> str:
    """Return the first new text that says what it should."""
    for way in ways:
        try:
            new = way()
            if (same or _same)(tomllib.loads(new), wanted):
                return new
        except (LookupError, ValueError):
            continue
    raise OurFault(
        Problem(
            "The file is written in a way that the program cannot change without touching your notes.",
            suggestion="Make this change by hand, in a text editor.",
        )
    )


def _put(data: dict[str, Any], path: KeyPath, plain: Any) -> None:  # noqa: ANN401 - a TOML value
    """Make a change in values; None takes the key out."""
    place: Any = data
    for key in path[:-1]:
        if isinstance(place, dict) and isinstance(key, str):
            if plain is None and key not in place:
                return
            place = place.setdefault(key, {})
        elif isinstance(place, list) and isinstance(key, int) and 0 <= key < len(place):
            place = place[key]
        else:
            raise BadInput(_no_such_place(path))
    last = path[-1]
    if not isinstance(place, dict) or not isinstance(last, str):
        raise BadInput(_no_such_place(path))
    if plain is None:
        place.pop(last, None)
    else:
        place[last] = plain


def _no_such_place(path: KeyPath) -> Problem:
    """Return the problem of a path that leads nowhere."""
    return Problem("The file has no such place.", key=".".join(str(key) for key in path))


def _same(one: Any, other: Any) -> bool:  # noqa: ANN401 - TOML values
    """Whether two values are the same, their types included; a number that is none equals itself."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_same(item, other[key]) for key, item in one.items())
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(_same(*pair) for pair in zip(one, other, strict=True))
    return type(one) is type(other) and repr(one) == repr(other)


def _same_but_for_empty_tables(one: Any, other: Any) -> bool:  # noqa: ANN401 - TOML values
    """Compare where a key goes: a table that was written with dotted keys goes with its last one."""
    return _same(_without_empty(one), _without_empty(other))


def _without_empty(value: Any) -> Any:  # noqa: ANN401 - TOML values
    """Return a document without tables that hold nothing."""
    if isinstance(value, dict):
        inside = {key: _without_empty(item) for key, item in value.items()}
        return {key: item for key, item in inside.items() if item != {}}
    return [_without_empty(item) for item in value] if isinstance(value, list) else value


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    """Return the start of the next line."""
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


def _with_notes_above(text: str, at: int) -> int:
    """Return where the notes begin that stand right above a line; those at the head of the file are the file's."""
    own = start = _line_start(text, at)
    while start > 0:
        above = _line_start(text, start - 1)
        if not text[above:start].lstrip(" \t").startswith("#"):
            return start
        start = above
    return own


def _in_place(text: str, path: KeyPath, value: Any, wanted: Mapping[str, Any]) -> str:  # noqa: ANN401
    """Replace the value that stands there; inside { } the whole table is written anew."""
    places = find_places(text)
    for end in range(1, len(path)):
        place = places.values.get(path[:end])
        if place is not None:
            whole: Any = wanted
            for key in path[:end]:
                whole = whole[key]
            return text[: place.value_start] + in_toml(whole) + text[place.value_end :]
    place = places.values[path]
    if value is not None:
        return text[: place.value_start] + in_toml(value) + text[place.value_end :]
    return _switched_off(text, place)


def _switched_off(text: str, place: Place) -> str:
    """Turn a key's line into a note; a value over several lines goes."""
    start, end = _line_start(text, place.key_start), _line_end(text, place.value_end)
    if "\n" in text[place.key_start : place.value_end]:
        return text[:start] + text[end:]
    return f"{text[:start]}# {text[start:end].lstrip()}{text[end:]}"


def _table_switched_off(text: str, path: KeyPath) -> str:
    """Turn a table, and those inside it, into notes."""
    blocks = [block for block in find_places(text).blocks if block.path[: len(path)] == path]
    if not blocks:
        raise LookupError
    for block in reversed(blocks):
        start, end = _line_start(text, block.start), _line_end(text, block.body_end)
        lines = text[start:end].splitlines(keepends=True)
        off = [line if line.lstrip().startswith("#") or not line.strip() else f"# {line.lstrip()}" for line in lines]
        text = text[:start] + "".join(off) + text[end:]
    return text


def _block_of(places: Places, table: KeyPath) -> tuple[Block, int]:
    """Return the block under a table's header, and where the next header begins; LookupError when it has none."""
    n = next(n for n, block in enumerate(places.blocks) if block.path == table)
    after = places.blocks[n + 1].start if n + 1 < len(places.blocks) else -1
    return places.blocks[n], after


def _switched_on(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401
    """Replace the note that shows the key switched off."""
    places = find_places(text)
    if places.block(path[:-1]) is None:
        raise LookupError
    block, after = _block_of(places, path[:-1])
    start = block.header_end
    end = len(text) if after < 0 else after
    # what comes behind a header that is switched off belongs to that one
    other_header = re.compile(r"^#[ \t]*\[", flags=re.MULTILINE).search(text, start, end)
    end = other_header.start() if other_header else end
    line = re.compile(rf"^#[ \t]*{re.escape(str(path[-1]))}[ \t]*=.*$", flags=re.MULTILINE)
    found = line.search(text, start, end)
    if found is None:
        raise LookupError
    return f"{text[: found.start()]}{_key_line(path, value)}{text[found.end() :]}"


def _key_line(path: KeyPath, value: Any) -> str:  # noqa: ANN401
    """Return key = value."""
    import tomlkit

    return f"{tomlkit.key(str(path[-1])).as_string()} = {in_toml(value)}"


def _inserted(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401
    """Put a new line behind the last key of the table."""
    places = find_places(text)
    if places.block(path[:-1]) is None:
        raise LookupError
    block, _ = _block_of(places, path[:-1])
    empty_head = path[:-1] == () and block.body_end == 0
    at = _head_end(text) if empty_head else _line_end(text, block.body_end)
    before = text[:at] if not at or text[at - 1] == "\n" else text[:at] + "\n"
    return f"{before}{_key_line(path, value)}\n{text[at:]}"


def _beside(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401
    """Put a new line behind the last key of a table that is written with dotted keys (a.b = 1)."""
    import tomlkit

    places = find_places(text)
    owner = max(
        (
            block
            for block in places.blocks
            if path[: len(block.path)] == block.path and len(block.path) < len(path) - 1
        ),
        key=lambda block: len(block.path),
    )
    last = max(
        place.value_end
        for key, place in places.values.items()
        if key[: len(path) - 1] == path[:-1] and place.key_end > place.key_start
    )
    dotted = ".".join(tomlkit.key(str(name)).as_string() for name in path[len(owner.path) :])
    at = _line_end(text, last)
    before = text[:at] if text[at - 1] == "\n" else text[:at] + "\n"
    return f"{before}{dotted} = {in_toml(value)}\n{text[at:]}"


def _head_end(text: str) -> int:
    """Return where the notes at the head of a file end."""
    at = 0
    while at < len(text) and text.startswith("#", at):
        at = _line_end(text, at)
    return at


def _in_new_table(text: str, path: KeyPath, value: Any, *, anew: bool) -> str:  # noqa: ANN401
    """Open the table that the key needs: where a note shows it switched off, else (`anew`) at the end."""
    names = path[:-1]
    if not names or find_places(text).block(names) is not None or not all(isinstance(key, str) for key in names):
        raise LookupError
    import tomlkit

    header = "[" + ".".join(tomlkit.key(str(name)).as_string() for name in names) + "]"
    if anew:
        return f"{text.rstrip()}\n\n{header}\n{_key_line(path, value)}\n".lstrip("\n")
    note = re.compile(rf"^#[ \t]*{re.escape(header)}[ \t]*$", flags=re.MULTILINE).search(text)
    if note is None:
        raise LookupError
    above = text[: note.start()]
    said = list(SWITCHED_OFF.finditer(above))
    if said and said[-1].end() == note.start():
        above = above[: said[-1].start()]
    opened = f"{above}{header}{text[note.end() :]}"
    try:
        return _switched_on(opened, path, value)
    except LookupError:
        return _inserted(opened, path, value)


def _end_of_rows(text: str, places: Places, table: str) -> int:
    """Return where a new row goes: behind the last one, else behind the example, else at the end."""
    ends = [block.body_end for block in places.blocks if block.path[:1] == (table,)]
    if ends:
        return _line_end(text, ends[-1])
    example = re.compile(rf"^#[ \t]*\[\[{re.escape(table)}\]\][ \t]*\n(#.*\n?)*", flags=re.MULTILINE).search(text)
    return example.end() if example else len(text)
