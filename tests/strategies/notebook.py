"""Notebooks for tests: a small one that is right, values that fit a field, and ways to spoil a text."""

import datetime as dt
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from sidelight.notebook.files import Folder
from sidelight.notebook.schema.fields import Field, Page, Table

SITE = """\
name = "Garden"
latitude_deg = 48.2
longitude_deg = 16.37
elevation_m = 180
time_zone = "Europe/Vienna"

[horizon]
bearings = "true"
"""
HORIZON = """\
# azimuth altitude
0 10
90 25.5  # roof
200 5
"""
RIG = """\
[telescope]
aperture_mm = 200
focal_length_mm = 1600

[camera]
width_px = 6248
height_px = 4176
pixel_um = 3.76

[guider]
stem_radius_mm = 22

[guider.camera]
width_px = 1936
height_px = 1096
pixel_um = 2.9
"""
TARGETS = """\
# what I want

[[target]]
name = "NGC 4565"  # edge-on
hours_wanted_h = 12

# the big one
[[target]]
name = "Andromeda"
object = "M 31"
neighbours = ["M 32"]

[[target.outline]]
name = "arc"
ra_deg = "00h 40m 00s"
dec_deg = "+41 00 00"
major_arcmin = 4.0
"""
CAMPAIGN = """\
[nights]
weekdays = ["friday", "saturday"]
latest_bedtime = "01:30"

[[goal]]
target = "NGC 4565"
priority_weight = 2
filters_h = { L = 8, Ha = 4 }
"""
LIGHT = """\
[sky]
zenith_mag_arcsec2 = 21.2

[[filter]]
name = "L"
centre_nm = 550
bandwidth_nm = 300

[[filter]]
name = "Ha"
centre_nm = 656.3
bandwidth_nm = 7
"""
TEXTS = {
    "site.toml": SITE,
    "horizon.txt": HORIZON,
    "rig.toml": RIG,
    "targets.toml": TARGETS,
    "campaign.toml": CAMPAIGN,
    "light.toml": LIGHT,
}
ANSWERS: dict[str, Any] = {
    "site.latitude_deg": 48.2,
    "site.longitude_deg": 16.37,
    "site.time_zone": "Europe/Vienna",
    "rig.telescope.aperture_mm": 200,
    "rig.telescope.focal_length_mm": 1600,
    "rig.camera.width_px": 6248,
    "rig.camera.height_px": 4176,
    "rig.camera.pixel_um": 3.76,
}
"""What a new notebook has to be told, and no more."""

GUIDER = {
    "rig.guider.stem_radius_mm": 22,
    "rig.guider.camera.width_px": 1936,
    "rig.guider.camera.height_px": 1096,
    "rig.guider.camera.pixel_um": 2.9,
}
NOWHERE = Path("a notebook in memory")


def in_memory(**changed: str | bytes | None) -> Folder:
    """Return the small notebook as a folder that is not on a disk; site_toml="…" changes one file."""
    contents: dict[str, bytes | None] = {name: text.encode() for name, text in TEXTS.items()}
    for name, text in changed.items():
        contents[name.replace("_", ".")] = text.encode() if isinstance(text, str) else text
    absent = dict.fromkeys(("stars.toml", "setups.toml", "learned.toml"))
    return Folder(NOWHERE, {**absent, **contents})


def on_disk(folder: Path) -> Path:
    """Write the small notebook and return its folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in TEXTS.items():
        (folder / name).write_bytes(text.encode())
    return folder


words = st.text(
    st.characters(categories=("L", "N", "P", "S", "Zs"), exclude_characters="\u00a0"), min_size=1, max_size=30
).filter(lambda text: bool(text.strip()) and text.isprintable())
"""Texts as people type them, quotes, backslashes and signs of all kinds included."""


def numbers(one: Field) -> st.SearchStrategy[float]:
    """Return numbers in a field's range, its ends included."""
    assert one.low is not None
    assert one.high is not None
    return st.floats(float(one.low), float(one.high), exclude_min=one.above_low, allow_nan=False)


def values(one: Field) -> st.SearchStrategy[Any]:
    """Return values that a field accepts, as they come out of a file."""
    if one.kind in ("number", "latitude", "longitude", "right_ascension", "declination"):
        return numbers(one)
    if one.kind == "whole":
        assert one.low is not None
        assert one.high is not None
        return st.integers(int(one.low), int(one.high))
    dates = st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1))
    kinds: dict[str, st.SearchStrategy[Any]] = {
        "text": words.map(str.strip),
        "yes_no": st.booleans(),
        "choice": st.sampled_from(one.choices or ("",)),
        "date": dates,
        "clock": st.times().map(lambda time: time.replace(second=0, microsecond=0)),
        "texts": st.lists(words.map(str.strip), max_size=4, unique=True),
        "choices": st.lists(st.sampled_from(one.choices or ("",)), unique=True),
        "dates": st.lists(dates, max_size=4, unique=True),
        "by_name": st.dictionaries(words.map(str.strip), numbers(one), min_size=1, max_size=3)
        if one.kind == "by_name"
        else st.nothing(),
    }
    return kinds[one.kind]


def rows(table: Table) -> st.SearchStrategy[dict[str, Any]]:
    """Return values for a table: all that is required, some of the rest, and the tables inside it."""
    needed = {one.key: values(one) for one in table.fields if one.required}
    optional = {one.key: values(one) for one in table.fields if not one.required}
    for inner in table.tables:
        whole = st.lists(rows(inner), max_size=2) if inner.many else rows(inner)
        (needed if inner.required else optional)[inner.name] = whole
    return st.fixed_dictionaries(needed, optional=optional)


def pages(page: Page) -> st.SearchStrategy[dict[str, Any]]:
    """Return answers for a whole file."""
    return rows(page.head)


@st.composite
def spoilt(draw: st.DrawFn, text: str) -> bytes:
    """Return a text with one thing done to it that people, editors and disks do."""
    lines = text.split("\n")
    n = draw(st.integers(0, len(lines) - 1))
    odd = draw(st.sampled_from(ODD_VALUES))
    key = lines[n].split("=")[0]
    ways = {
        "drop": [*lines[:n], *lines[n + 1 :]],
        "twice": [*lines[:n], lines[n], *lines[n:]],
        "value": [*lines[:n], f"{key}= {odd}", *lines[n + 1 :]],
        "misspelt": [*lines[:n], lines[n][1:], *lines[n + 1 :]],
        "noise": [*lines[:n], draw(st.text(max_size=20)), *lines[n:]],
        "cut": [*lines[:n], lines[n][: len(lines[n]) // 2]],
        "moved": [*lines[n:], *lines[:n]],
    }
    body = "\n".join(ways[draw(st.sampled_from(sorted(ways)))]).encode("utf-8", "surrogatepass")
    at = draw(st.integers(0, len(body)))
    return body[:at] + draw(st.sampled_from([b"", b"", b"", b"\xff", b"\0", b"\r", b"\x07", b"[[["])) + body[at:]


ODD_VALUES = (
    *(
        "nan",
        "inf",
        "-inf",
        "-1",
        "0",
        "1e999",
        "9" * 400,
        "true",
        "[]",
        "{}",
        "[[1]]",
        '""',
        '"x"',
        "'y'",
        "2027-03-06",
    ),
    *(
        "12:30:00",
        "1979-05-27T07:32:00Z",
        "0x1F",
        "1_000",
        '"48,2"',
        "48,2",
        '"1200 mm"',
        "{ a = 1 }",
        '["a", 2]',
        "''",
    ),
    *('"""a\nb"""', "[nan]", "1e308", "-1e308", "0.1", "north", "=", "[", '"', "#"),
)
