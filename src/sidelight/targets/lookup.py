"""The index of names: every way that people write an object's name leads to one key."""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from sidelight.targets.catalogue import Entries, common_names, entries, printed_name

CATALOGUES = {
    "n": "ngc",
    "ngc": "ngc",
    "newgeneralcatalogue": "ngc",
    "i": "ic",
    "ic": "ic",
    "indexcatalogue": "ic",
    "m": "m",
    "mess": "m",
    "messier": "m",
    "c": "c",
    "caldwell": "c",
    "b": "b",
    "barnard": "b",
    "mel": "mel",
    "melotte": "mel",
    "cl": "cl",
    "cr": "cl",
    "collinder": "cl",
    "h": "h",
    "harvard": "h",
    "hickson": "hcg",
    "hcg": "hcg",
}
"""How people spell the catalogues whose names are a word and a number. "cl 399" is how OpenNGC spells Collinder."""

TRADE_NAMES = {
    # Names in common use for objects that OpenNGC lists without them; common practice, no source.
    "Pinwheel Galaxy": "NGC5457",
    "Flame Nebula": "NGC2024",
    "Heart Nebula": "IC1805",
    "Soul Nebula": "IC1848",
    "Elephant's Trunk Nebula": "IC1396",
    "Pacman Nebula": "NGC0281",
    "Wizard Nebula": "NGC7380",
    "Jellyfish Nebula": "IC0443",
    "Seagull Nebula": "IC2177",
    "Cone Nebula": "NGC2264",
    "Omega Nebula": "NGC6618",
    "Butterfly Nebula": "NGC6302",
    "Great Globular Cluster in Hercules": "NGC6205",
    "Double Cluster": "C014",
}


def key_of(text: str) -> str:
    """Return the key of a name: case, spaces, accents, punctuation and leading zeros do not count.

    A catalogue's word before a number is taken in all its spellings: "Messier 031", "m31" and "M 31" give "m31".
    Two numbers in a row stay apart, and a sign between a letter or a number and a number counts only where no such
    catalogue word stands in front: "MCG +07-02-016" gives "mcg+7-2-16".
    """
    plain = unicodedata.normalize("NFKD", text.replace("−", "-").replace("–", "-"))
    folded = "".join(letter for letter in plain.casefold() if not unicodedata.combining(letter))
    numbered = re.fullmatch(r"\s*([a-z][a-z .]*?)[\s._#-]*0*(\d+)(.*)", folded)
    if numbered:
        word = CATALOGUES.get(re.sub(r"[^a-z]", "", numbered[1]))
        if word:
            return word + numbered[2] + _joined(numbered[3], signs=False)
    return _joined(folded.removeprefix("the "), signs=True)


def _joined(folded: str, *, signs: bool) -> str:
    """Return the letters and numbers of a text without what stands between them."""
    parts = re.findall(r"[a-zα-ω]+|\d+|[+-](?=\d)" if signs else r"[a-zα-ω]+|\d+", folded)
    key = ""
    for part in parts:
        number = part.isdigit()
        if number and key[-1:].isdigit():
            key += "."
        key += (part.lstrip("0") or "0") if number else part
    return key


@dataclass(frozen=True)
class Index:
    """Keys to rows of the catalogue; names as printed, for near misses."""

    main: dict[str, int]
    printed: dict[str, str]


@lru_cache(maxsize=1)
def main_index() -> Index:
    """Return the index of catalogue names, Messier and Caldwell numbers and common names."""
    every = entries()
    rows: dict[str, int] = {}
    printed: dict[str, str] = {}
    by_name = {name: row for row, name in enumerate(every.columns["name"])}
    for text, row in _main_names(every, by_name):
        key = key_of(text)
        if key and key not in rows:
            rows[key] = row
            printed[key] = text
    return Index(rows, printed)


def _main_names(every: Entries, by_name: dict[str, int]) -> list[tuple[str, int]]:
    """Return (name as printed, row), the names that win first."""
    column = every.columns
    names = [(printed_name(name), row) for name, row in by_name.items()]
    names += [(text, by_name[name]) for text, name in TRADE_NAMES.items()]
    for row, (messier, kind) in enumerate(zip(column["messier"], column["type"], strict=True)):
        if messier and kind != "Dup":
            names.append((f"M {int(messier)}", row))
    for row, text in enumerate(column["commonnames"]):
        names += [(name, row) for name in common_names(text)]
    for row, text in enumerate(column["identifiers"]):
        numbers = re.findall(r"(?:^|,)\s*(?:C|Mel|Cl) \d+", text)
        names += [(printed_name(part.strip(" ,").replace(" ", "")), row) for part in numbers]
    return names


@lru_cache(maxsize=1)
def _rows_by_name() -> dict[str, int]:
    """Return rows by the names of the file, such as "NGC0224"."""
    return {name: row for row, name in enumerate(entries().columns["name"])}


def _numbered_row(key: str) -> int | None:
    """Return the row of a plain NGC, IC or Messier number, as the main index has it but without making the index.

    Most targets are named so, and the index of all names takes a quarter of a second.
    """
    number = re.fullmatch(r"(ngc|ic|m)(\d{1,4})", key)
    if number is None:
        return None
    if number[1] != "m":
        return _rows_by_name().get(f"{number[1].upper()}{number[2]:0>4}")
    column = entries().columns
    listed = (row for row, text in enumerate(column["messier"]) if text == f"{number[2]:0>3}")
    return next((row for row in listed if column["type"][row] != "Dup"), None)


@lru_cache(maxsize=1)
def short_names() -> dict[str, tuple[str, ...]]:
    """Return what is left of common names without their last word ("nebula", "galaxy", …): key to printed names."""
    found: dict[str, tuple[str, ...]] = {}
    for name in main_index().printed.values():
        match = re.fullmatch(r"(?:Great )?(.{3,}) (?:Nebula|Galaxy|Galaxies|Cluster)", name, flags=re.IGNORECASE)
        if match:
            key = key_of(match[1])
            found[key] = (*found.get(key, ()), name)
    return found


@lru_cache(maxsize=1)
def short_names_by_row() -> dict[int, tuple[str, ...]]:
    """Return the names cut short that mean one object only, by its row: "bodes" for Bode's Galaxy."""
    found: dict[int, tuple[str, ...]] = {}
    for key, names in short_names().items():
        rows = {main_index().main[key_of(name)] for name in names}
        if len(rows) == 1 and key not in main_index().main:
            row = rows.pop()
            found[row] = (*found.get(row, ()), key)
    return found


@lru_cache(maxsize=1)
def other_identifiers() -> dict[str, int]:
    """Return the index of every other identifier (PGC, UGC, MCG, LBN, …); read when the main names do not help."""
    rows: dict[str, int] = {}
    for row, text in enumerate(entries().columns["identifiers"]):
        for part in text.split(","):
            if part.strip():
                rows.setdefault(key_of(part), row)
    return rows


def row_of(text: str) -> int | None:
    """Return the row that a name leads to, or None."""
    row = _row_of_key(key_of(text))
    if row is None and len(text.split()) > 1:
        row = _both_names(text)
    return row


def _row_of_key(key: str) -> int | None:
    """Return the row of one name: main names first, then the other identifiers, then names cut short."""
    if not key:
        return None
    row = _numbered_row(key)
    if row is None:
        row = main_index().main.get(key)
    if row is None:
        row = other_identifiers().get(key)
    if row is None:
        rows = {main_index().main[key_of(name)] for name in short_names().get(key, ())}
        row = rows.pop() if len(rows) == 1 else None
    return row


def _both_names(text: str) -> int | None:
    """Return the row when a catalogue name and a common name of the same object are written together."""
    words = text.replace(",", " ").replace("(", " ").replace(")", " ").split()
    for cut in range(1, len(words)):
        first, second = (_row_of_key(key_of(" ".join(part))) for part in (words[:cut], words[cut:]))
        if first is not None and first == second:
            return first
    return None
