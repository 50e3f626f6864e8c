"""Where each key of a TOML file stands: a scanner over text that the TOML reader has already accepted.

The reader of the standard library gives values without their places. This scanner gives the places without the
values: for each key, each element of a list and each table header, the line and the stretch of text.
"""

import tomllib
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field

Key = str | int
KeyPath = tuple[Key, ...]
"""The way to a value: names of tables and keys, numbers (from 0) in lists and in tables that repeat."""


@dataclass(frozen=True)
class Place:
    """One key with its value: the stretches [key_start, key_end) and [value_start, value_end) of the text."""

    line: int
    key_start: int
    key_end: int
    value_start: int
    value_end: int


@dataclass(frozen=True)
class Block:
    """What stands under one header. start, header_end : the header itself; body_end : the end of the last value."""

    path: KeyPath
    line: int
    start: int
    header_end: int
    body_end: int


@dataclass(frozen=True)
class Places:
    """Every place of a text. lines : the line of each path, those of tables and lists too."""

    values: Mapping[KeyPath, Place]
    blocks: tuple[Block, ...]
    lines: Mapping[KeyPath, int]

    def line(self, path: KeyPath) -> int | None:
        """Return the line of a path or of the nearest table around it; None at the head of the file."""
        for end in range(len(path), 0, -1):
            if path[:end] in self.lines:
                return self.lines[path[:end]]
        return None

    def block(self, path: KeyPath) -> Block | None:
        """Return the block whose header names a table, None when no header does."""
        return next((one for one in self.blocks if one.path == path), None)


def find_places(text: str) -> Places:
    """Return the places of a text that is valid TOML."""
    scanner = _Scanner(text)
    scanner.document()
    return Places(scanner.values, tuple(one.frozen() for one in scanner.blocks), scanner.lines)


@dataclass
class _OpenBlock:
    """A block that still grows."""

    path: KeyPath
    line: int
    start: int
    header_end: int
    body_end: int

    def frozen(self) -> Block:
        return Block(self.path, self.line, self.start, self.header_end, self.body_end)


@dataclass
class _Scanner:
    """Walks once over the text."""

    text: str
    at: int = 0
    values: dict[KeyPath, Place] = field(default_factory=dict)
    lines: dict[KeyPath, int] = field(default_factory=dict)
    blocks: list[_OpenBlock] = field(default_factory=list)
    repeats: dict[KeyPath, int] = field(default_factory=dict)
    line_starts: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.line_starts = [0, *(n + 1 for n, sign in enumerate(self.text) if sign == "\n")]
        self.blocks = [_OpenBlock((), 1, 0, 0, 0)]

    def document(self) -> None:
        """Read headers and pairs to the end."""
        while self.skip_blank():
            if self.text.startswith("[[", self.at):
                self.header(2)
            elif self.text[self.at] == "[":
                self.header(1)
            else:
                self.pair(self.blocks[-1].path)
                self.blocks[-1].body_end = self.at

    def line_here(self) -> int:
        return bisect_right(self.line_starts, self.at)

    def note(self, path: KeyPath, line: int) -> None:
        """Keep the first line on which a path and the tables around it were seen."""
        for end in range(1, len(path) + 1):
            self.lines.setdefault(path[:end], line)

    def skip_blank(self) -> bool:
        """Go to the next sign that means something; False at the end of the text."""
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif self.text[self.at] in " \t\r\n":
                self.at += 1
            else:
                return True
        return False

    def skip_spaces(self) -> None:
        while self.at < len(self.text) and self.text[self.at] in " \t":
            self.at += 1

    def header(self, brackets: int) -> None:
        """Read [name] or [[name]]."""
        start, line = self.at, self.line_here()
        self.at += brackets
        path = self.resolved(self.key_parts(), repeats=brackets == 2)
        self.at += brackets
        self.note(path, line)
        # a table may be named by what is inside it first; its own header is its place
        self.lines[path] = line
        self.blocks.append(_OpenBlock(path, line, start, self.at, self.at))

    def resolved(self, parts: list[str], *, repeats: bool) -> KeyPath:
        """Return the path of a header, with the number of the latest element of each table that repeats."""
        path: KeyPath = ()
        for n, part in enumerate(parts):
            path = (*path, part)
            if repeats and n == len(parts) - 1:
                self.repeats[path] = self.repeats.get(path, -1) + 1
            if path in self.repeats:
                path = (*path, self.repeats[path])
        return path

    def key_parts(self) -> list[str]:
        """Read a key with its dots; stop after the last part and the spaces behind it."""
        parts = []
        while True:
            self.skip_spaces()
            parts.append(self.key_part())
            self.skip_spaces()
            if self.at >= len(self.text) or self.text[self.at] != ".":
                return parts
            self.at += 1

    def key_part(self) -> str:
        start = self.at
        if self.text[start] in "\"'":
            self.quoted(self.text[start])
            quoted = self.text[start : self.at]
            return quoted[1:-1] if quoted[0] == "'" else str(tomllib.loads(f"k = {quoted}")["k"])
        while self.at < len(self.text) and self.text[self.at] not in " \t.=]\r\n":
            self.at += 1
        return self.text[start : self.at]

    def pair(self, table: KeyPath) -> None:
        """Read key = value."""
        self.skip_spaces()
        start, line = self.at, self.line_here()
        path = (*table, *self.key_parts())
        key_end = start + len(self.text[start : self.at].rstrip())
        self.at += 1
        self.skip_spaces()
        self.note(path, line)
        value_start = self.at
        self.value(path)
        self.values[path] = Place(line, start, key_end, value_start, self.at)

    def value(self, path: KeyPath) -> None:
        """Read one value of any kind; stop right behind it."""
        sign = self.text[self.at]
        if sign in "\"'":
            triple = sign * 3
            self.quoted(triple if self.text.startswith(triple, self.at) else sign)
        elif sign == "[":
            self.array(path)
        elif sign == "{":
            self.inline(path)
        else:
            start = self.at
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\r\n":
                self.at += 1
            self.at = start + len(self.text[start : self.at].rstrip())

    def quoted(self, quotes: str) -> None:
        """Read a string of any of the four kinds."""
        self.at += len(quotes)
        while not self.text.startswith(quotes, self.at):
            self.at += 2 if self.text[self.at] == "\\" and quotes[0] == '"' else 1
        self.at += len(quotes)
        # up to two more quotes may belong to the text of a string in three quotes
        while len(quotes) == 3 and self.text.startswith(quotes[0], self.at):
            self.at += 1

    def array(self, path: KeyPath) -> None:
        """Read [a, b]."""
        self.at += 1
        n = 0
        while self.skip_blank() and self.text[self.at] != "]":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            start, line = self.at, self.line_here()
            self.note((*path, n), line)
            self.value((*path, n))
            self.values[*path, n] = Place(line, start, start, start, self.at)
            n += 1
        self.at += 1

    def inline(self, path: KeyPath) -> None:
        """Read { a = 1, b = 2 }."""
        self.at += 1
        while self.skip_blank() and self.text[self.at] != "}":
            if self.text[self.at] == ",":
                self.at += 1
            else:
                self.pair(path)
        self.at += 1
