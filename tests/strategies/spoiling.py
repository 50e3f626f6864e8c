"""Ways to spoil a file that a person hands in, from a seed: byte by byte, and in its structure."""

import os
import random
import re

CASES = int(os.environ.get("SIDELIGHT_FUZZ_CASES", "0"))
"""Cases of each fuzzing test; 0 lets each take its own small number."""

NASTY_BYTES = (
    b"\x00",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"\r",
    b"\r\n",
    b"\n\n\n",
    b"\x1b[31m",
    b"\xc3",
    b"\xed\xa0\x80",
    b"\xf4\x90\x80\x80",
    b'"',
    b'"""',
    b"'''",
    b"[[",
    b"]]",
    b"{",
    b"}",
    b"=",
    b"#",
    b",",
    b";",
    b"\\",
    b"<![CDATA[",
    b"&",
    b"<!DOCTYPE x>",
    b"%",
    b"9" * 400,
    b"1e400",
    b"-0.0",
    b"nan",
    b"inf",
    b"END",
    b"SIMPLE  =",
    b"\xe2\x80\xae",
    b"\xf0\x9f\x94\xad",
    b" " * 3000,
)
NASTY_VALUES = (
    "0",
    "-1",
    "1e308",
    "-1e308",
    "1e-308",
    "nan",
    "-nan",
    "inf",
    "-inf",
    "9223372036854775807",
    "9223372036854775808",
    "9" * 350,
    "0x10",
    "0b1",
    "1_000",
    "true",
    "false",
    '""',
    '" "',
    '"\\u0000"',
    '"\\ud7ff"',
    '"x"',
    '"' + "y" * 5000 + '"',
    "[]",
    "[[]]",
    '[1, "a"]',
    "{}",
    "{ a = 1 }",
    "[" * 300 + "]" * 300,
    "1979-05-27",
    "0001-01-01",
    "9999-12-31",
    "1979-05-27T07:32:00Z",
    "07:32:00",
    "12h",
    "'0h 0m 0s'",
    "'+90 00 00'",
    "'-90 59 60'",
    "'24h 61m'",
    "'../../etc/passwd'",
    "'/dev/zero'",
    "'CON'",
    "'a/b'",
    "'Etc/GMT+12'",
    "'posixrules'",
    "'M 31'",
    "'NGC 99999'",
    "89.9999999",
    "360",
    "-180",
    "1e-12",
    "1e12",
    "[0.0, 0.0]",
    '["M 31", "M 31"]',
    '["monday", "monday"]',
    '"24:00"',
    '"01:30"',
    '"\\n"',
    '"<script>alert(1)</script>"',
)


def spoilt_bytes(data: bytes, seed: int) -> bytes:
    """Return the bytes with one to four spots spoilt."""
    chance = random.Random(seed)
    for _ in range(chance.randint(1, 4)):
        at = chance.randint(0, len(data))
        to = min(len(data), at + int(chance.expovariate(1 / 30)))
        data = _spoilt_spot(data[:at], data[at:to], data[to:], chance)
    return data


def _spoilt_spot(head: bytes, spot: bytes, tail: bytes, chance: random.Random) -> bytes:
    """Return the bytes with a spot lost, repeated, replaced, followed by something, or everything cut there."""
    kind = chance.randrange(8)
    nasty = chance.choice(NASTY_BYTES)
    flipped = bytes(byte ^ (1 << chance.randrange(8)) for byte in spot[:1]) + spot[1:]
    middle = (b"", spot * chance.choice((2, 3, 50)), chance.randbytes(len(spot)), nasty, spot + nasty, flipped)
    if kind < len(middle):
        return head + middle[kind] + tail
    return head if kind == 6 else spot + tail + head


def spoilt_toml(text: str, seed: int) -> str:
    """Return the text with one to four keys, values, headers or lines spoilt, so that most of it stays TOML."""
    chance = random.Random(seed)
    lines = text.split("\n")
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(lines))
        held = [n for n, line in enumerate(lines) if re.match(r"\s*#?\s*[\w.-]+\s*=", line)]
        if held and chance.random() < 0.8:
            at = chance.choice(held)
        lines = chance.choice((_new_value, _new_value, _new_value, _switched, _without, _twice, _moved, _renamed))(
            lines, at, chance
        )
        if not lines:
            return ""
    return "\n".join(lines)


def _new_value(lines: list[str], at: int, chance: random.Random) -> list[str]:
    """Give a key another value; switch it on if it was a note."""
    key = lines[at].lstrip("# ").partition("=")[0].rstrip()
    return [*lines[:at], f"{key} = {chance.choice(NASTY_VALUES)}", *lines[at + 1 :]]


def _switched(lines: list[str], at: int, _chance: random.Random) -> list[str]:
    """Switch a line on or off."""
    line = lines[at]
    return [*lines[:at], line.lstrip("# ") if line.lstrip().startswith("#") else f"# {line}", *lines[at + 1 :]]


def _without(lines: list[str], at: int, _chance: random.Random) -> list[str]:
    """Take a line out."""
    return lines[:at] + lines[at + 1 :]


def _twice(lines: list[str], at: int, _chance: random.Random) -> list[str]:
    """Write a line twice."""
    return [*lines[: at + 1], *lines[at:]]


def _moved(lines: list[str], at: int, chance: random.Random) -> list[str]:
    """Put a line elsewhere."""
    rest = lines[:at] + lines[at + 1 :]
    to = chance.randint(0, len(rest))
    return [*rest[:to], lines[at], *rest[to:]]


def _renamed(lines: list[str], at: int, chance: random.Random) -> list[str]:
    """Give a key another name."""
    key, equals, value = lines[at].partition("=")
    name = chance.choice(
        (key.strip().upper(), key.strip()[:-1], f"{key.strip()}.a", '"a b"', "name", f"x.{key.strip()}")
    )
    return [*lines[:at], f"{name} {equals}{value}", *lines[at + 1 :]]
