"""Values, texts and requests, spoilt from a seed."""

import copy
import json
import random
from typing import Any
from urllib.parse import quote

from tests.strategies.spoiling import spoilt_bytes

DEEP = "deep"
"""Stands for nesting that is written as text, for no encoder would."""
NASTY_JSON: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 1e308, -1e308, 5e-324, float("nan"), float("inf"), -float("inf"), 2**31, 2**63,
    -(2**63) - 1, 10**400, "", " ", "\0", "\ud800", "\ufeff", "x", "y" * 5000, "0", "1e999", "nan", "NaN", "-inf",
    "٣",
    "2027-03-06", "9999-12-31", "0000-00-00", "1900-01-01", "2027-02-30", "../../etc/passwd", "/dev/null",
    "C:\\nul", "M 31", "m 81", "NGC 99999", "<script>alert(1)</script>", "'; DROP TABLE frame; --", "{{7*7}}",
    "\x1b[31m", "line\nline", "🔭", "e\u0301", "\u202egnp", [], [[]], {}, {"": ""}, [None], [1, "a", {}],
    ["M 81"] * 3,
    {"a": {"b": {"c": []}}}, [[0.0, 0.0]], [0] * 2000, {f"k{n}": n for n in range(300)},
)  # fmt: skip
NASTY_TEXT = (
    "", " ", "\0", "x", "y" * 3000, "0", "-0", "-1", "1e308", "1e999", "nan", "inf", "-inf", "0x10", "1_0", "٣٤",
    "1,5",
    "9" * 400, "true", "null", "2027-03-06", "0000-00-00", "0001-01-01", "9999-12-31", "2027-02-30",
    "2027-03-06T00:00Z",
    "1900-01-01", "2199-12-31", "+275760-09-13", "-0001-01-01", "20270306", "2027-W10-6", "../../etc/passwd",
    "/dev/zero",
    "CON", "M 31", "m81", "NGC 99999", "M 81", "day", "wide", "<script>", "';--", "%00", "%", "\x1b]0;x\x07",
    "a\nb", "🔭",
    "\u202egnp", "e\u0301", "ß", "İ", "\ufeff", "&&", "=", "[]", "{}", "None", "on", "east", "L", "horizon.txt",
    "rig.toml",
)  # fmt: skip
CONTENT_TYPES = (
    "", "text/plain", "application/xml", "multipart/form-data", "multipart/form-data; boundary=x",
    "application/json; charset=utf-16",
    "application/x-www-form-urlencoded", "application/octet-stream", "application/json;;;", "APPLICATION/JSON",
    "\xff\xfe",
)  # fmt: skip
FOREIGN = (
    ("host", "elsewhere.example"), ("host", ""), ("host", "localhost:99999"), ("host", "localhost@evil"), ("host",
    "[::1"),
    ("host", "127.0.0.1.evil.example"), ("host", "\xff"), ("origin", "http://elsewhere.example"), ("origin", "null"),
    ("origin", "https://localhost"), ("origin", "://"), ("sec-fetch-site", "cross-site"), ("sec-fetch-site",
    "same-site"),
    ("content-length", "-1"), ("content-length", "9" * 30), ("content-length", "x"), ("content-length", "٣"),
)  # fmt: skip
HARMLESS = (
    ("accept", "text/html"), ("accept", "\0"), ("accept", "*/*;q=nan"), ("accept-language", "ar-EG"), ("range",
    "bytes=5-1"),
    ("cookie", "sidelight_look=night"), ("cookie", "sidelight_look=" + "x" * 4000), ("cookie", ";;=;\xff"),
    ("if-none-match", "*"), ("if-modified-since", "yesterday"), ("expect", "100-continue"), ("x-forwarded-host",
    "evil"),
    ("x-http-method-override", "DELETE"), ("transfer-encoding", "chunked"), ("connection", "upgrade"), ("te",
    "trailers"),
)  # fmt: skip
METHODS = (
    "GET",
    "HEAD",
    "OPTIONS",
    "POST",
    "PUT",
    "PATCH",
    "DELETE",
    "TRACE",
    "CONNECT",
    "PROPFIND",
    "get",
    "\xff",
    "",
)


def places(value: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the way to every value inside a value, its own included."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [at, *[one for key, part in inside for one in places(part, (*at, key))]]


def _put(value: Any, way: tuple[Any, ...], new: Any) -> Any:
    """Return a value with another at one place."""
    if not way:
        return new
    value[way[0]] = _put(value[way[0]], way[1:], new)
    return value


def spoilt_json(value: Any, chance: random.Random) -> bytes:
    """Return the JSON text of a value with one to three places spoilt, or text that is no JSON."""
    value = copy.deepcopy(value)
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3))):
        way = chance.choice(places(value))
        kind = chance.randrange(6)
        if kind < 3 or not way:
            value = _put(value, way, copy.deepcopy(chance.choice(NASTY_JSON)))
            continue
        owner = value
        for key in way[:-1]:
            owner = owner[key]
        old = owner[way[-1]]
        if isinstance(owner, dict):
            if kind == 3:
                del owner[way[-1]]
            elif kind == 4:
                owner[chance.choice(("", "x", way[-1].upper(), way[-1] + " "))] = old
            else:
                owner[way[-1]] = [old]
        else:
            owner.extend([old] * chance.choice((1, 3, 200)))
    text = json.dumps(value, ensure_ascii=chance.random() < 0.7).encode("utf-8", "surrogatepass")
    kind = chance.randrange(20)
    if kind == 0:
        return spoilt_bytes(text, chance.randrange(10**9))
    if kind == 1:
        deep = chance.choice((50, 3000, 100_000))
        return chance.choice((b"[" * deep + b"]" * deep, b'{"a":' * deep + b"1" + b"}" * deep, b"[" * deep))
    if kind == 2:
        utf_16 = text.decode("utf-8", "replace").encode("utf-16")
        return chance.choice((b"", b"null", b"\xff\xfe" + text, b"\xef\xbb\xbf" + text, text + text, utf_16))
    return text


def spoilt_query(query: dict[str, Any], chance: random.Random) -> str:
    """Return a query string with up to three values replaced, lost, repeated or renamed."""
    pairs = [(name, str(value)) for name, value in query.items()]
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3))):
        new = chance.choice(NASTY_TEXT)
        if not pairs:
            pairs.append((chance.choice(("date", "x", "", "token")), new))
            continue
        at = chance.randrange(len(pairs))
        name, value = pairs[at]
        kind = chance.randrange(8)
        if kind < 4:
            pairs[at] = (name, new)
        elif kind == 4:
            del pairs[at]
        elif kind == 5:
            pairs.append((name, new))
        elif kind == 6:
            pairs[at] = (chance.choice((name.upper(), name + "[]", "", "x")), value)
        else:
            pairs.append((chance.choice(("x", "token", "__proto__", name + "\0")), new))
    text = "&".join(f"{quote(name, errors='replace')}={quote(value, errors='replace')}" for name, value in pairs)
    return text + chance.choice(("%ff%fe", "%", "&&&==", "%00", ";;", "+", "#")) if chance.random() < 0.06 else text
