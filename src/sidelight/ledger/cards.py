"""The cards of a FITS header: 80 characters each, a keyword and a value, read only as far as they are asked for.

Standard: FITS 4.0 (Pence et al. 2018, IAU FITS Working Group), sections 4.1 and 4.2. Own, and not astropy's header,
for two reasons that benchmarks/bench_ledger.py shows: thousands of headers are read several times as fast, and
no card, however broken, raises. What it understands is held against astropy's in tests/property.
"""

import contextlib
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TypeGuard

CARD = 80
BLOCK = 2880
LONGEST_TEXT = 200
"""Text longer than this is cut: no object, filter or camera is called so, and a screen has no room for it."""

CardValue = str | bool | int | float | None

_TEXT = re.compile(r"'((?:[^']|'')*)'\s*(?:/|$)")
_LONGEST_NUMBER = 70


@dataclass(frozen=True, eq=False)
class Cards:
    """The cards of one header.

    raw : keyword -> the 70 characters after the value indicator, of the first card with that keyword.
    more : keyword -> the pieces that CONTINUE cards add to its text.
    repeated : keywords whose later cards say something else than the first.
    length_bytes : where the header ends, blocks filled up.
    """

    raw: dict[str, str]
    more: dict[str, list[str]] = field(default_factory=dict)
    repeated: tuple[str, ...] = ()
    length_bytes: int = 0

    def __contains__(self, keyword: str) -> bool:
        return keyword in self.raw

    def __iter__(self) -> Iterator[str]:
        return iter(self.raw)

    def get(self, keyword: str) -> CardValue:
        """Return the value as the card writes it: text, yes or no, number; None if absent, undefined or no value."""
        raw = self.raw.get(keyword)
        if raw is None:
            return None
        value = card_value(raw)
        if isinstance(value, str) and value.endswith("&") and keyword in self.more:
            return _joined(value, self.more[keyword])
        return value

    def under(self, other: "Cards") -> "Cards":
        """Return these cards with those of `other` laid over them."""
        return Cards({**self.raw, **other.raw}, {**self.more, **other.more}, self.repeated + other.repeated)


def split_cards(data: bytes) -> Cards | None:
    """Return the cards up to END, or None when there is no END in the data; never raises, whatever the bytes."""
    text = data.decode("latin-1")
    raw: dict[str, str] = {}
    more: dict[str, list[str]] = {}
    repeated: list[str] = []
    last = ""
    for at in range(0, len(text) - 2, CARD):
        keyword = text[at : at + 8].rstrip()
        if text[at + 8 : at + 10] == "= ":
            value = text[at + 10 : at + CARD]
            if raw.setdefault(keyword, value) != value:
                repeated.append(keyword)
                last = ""
            else:
                last = keyword
        elif keyword == "CONTINUE" and last:
            more.setdefault(last, []).append(text[at + 8 : at + CARD])
        elif keyword == "END" and not text[at + 8 : at + CARD].strip():
            return Cards(raw, more, tuple(repeated), -(-(at + CARD) // BLOCK) * BLOCK)
    return None


def card_value(raw: str) -> CardValue:
    """Return the value in the characters after the value indicator; None for what is no FITS value.

    Text in quotes (doubled quotes for one, trailing blanks dropped), T or F, whole numbers, numbers with a point
    and an exponent written E or D. Complex values, which no camera writes, are None.
    """
    stripped = raw.lstrip()
    if stripped.startswith("'"):
        found = _TEXT.match(stripped)
        # a missing closing quote is common enough in the wild: the rest of the card is the text then
        return (found[1] if found else stripped[1:]).replace("''", "'").rstrip()
    word = stripped.partition("/")[0].strip()
    if word in ("T", "F"):
        return word == "T"
    return _number(word)


def is_number(value: CardValue) -> TypeGuard[int | float]:
    """Tell whether a card's value is a number, which yes and no are not."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def _number(word: str) -> int | float | None:
    """Return a finite number, or None."""
    if not word or len(word) > _LONGEST_NUMBER or "_" in word or not word.isascii():
        return None
    with contextlib.suppress(ValueError):
        return int(word)
    with contextlib.suppress(ValueError):
        number = float(word.upper().replace("D", "E"))
        return number if math.isfinite(number) else None
    return None


def _joined(start: str, pieces: list[str]) -> str:
    """Return long text put together from its CONTINUE cards (FITS 4.0, section 4.2.1.2)."""
    text = start
    for piece in pieces:
        value = card_value(piece)
        if not text.endswith("&") or not isinstance(value, str):
            break
        text = text[:-1] + value
    return text


def clean_text(text: str) -> str:
    """Return text fit for a screen: UTF-8 where it was written so, one line, no control signs, not endless."""
    if text.isascii() and text.isprintable() and len(text) <= LONGEST_TEXT:
        return " ".join(text.split())
    with contextlib.suppress(UnicodeError):
        text = text.encode("latin-1").decode("utf-8")
    text = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    return text if len(text) <= LONGEST_TEXT else text[: LONGEST_TEXT - 1] + "…"
