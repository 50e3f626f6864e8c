"""The descriptions of a notebook's files keep their own rules, and everything drawn from them agrees."""

import dataclasses
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from tests.strategies.notebook import GUIDER, in_memory

from sidelight.campaign.records import Rules
from sidelight.campaign.weather import Weather
from sidelight.light.exposure import ExposureWish
from sidelight.light.filters import Filter, check_filter
from sidelight.light.reach import guide_conditions
from sidelight.notebook.check import Findings, check_page
from sidelight.notebook.read import read_folder
from sidelight.notebook.reference import reference_page
from sidelight.notebook.schema.fields import NUMBER_KINDS, UNITS, Field, Page, Table, expected
from sidelight.notebook.schema.pages import FILES, PAGES
from sidelight.notebook.schema.rig import CAMERA, MOUNT, TELESCOPE, TOLERANCES
from sidelight.notebook.schema.rig import GUIDER as GUIDER_TABLE
from sidelight.notebook.settings import (
    CampaignSettings,
    FrameSettings,
    Goal,
    LightSettings,
    StarService,
    UsableNights,
)
from sidelight.notebook.template import page_text
from sidelight.notebook.toml_text import parse_toml
from sidelight.notebook.values import checked
from sidelight.rig.check import check_rig
from sidelight.rig.guide_light import GuideLight
from sidelight.rig.records import Mount, OffAxisGuider, Rig, Sensor, Telescope, Tolerances
from sidelight.sky.brightness import Glow, sky_of_class
from sidelight.sky.site import Site
from sidelight.targets.records import Target

EVERY_TABLE = [(page, names, table) for page in PAGES for names, table in page.head.walk()]
EVERY_FIELD = [(page, names, one) for page, names, table in EVERY_TABLE for one in table.fields]
FIELD_IDS = [f"{page.file}:{'.'.join((*names, one.key))}" for page, names, one in EVERY_FIELD]


@pytest.mark.parametrize(("page", "names", "one"), EVERY_FIELD, ids=FIELD_IDS)
def test_every_key(page: Page, names: tuple[str, ...], one: Field) -> None:
    """Each key has a help line; each number a unit in its key and a finite range; each choice its words."""
    assert one.help.endswith((".", '."'))
    assert one.help[0].isupper() or one.help[0] == '"'
    assert expected(one)
    if one.kind in NUMBER_KINDS:
        assert any(one.key.endswith(f"_{unit}") for unit in UNITS), "a number's key ends in its unit"
        assert one.low is not None
        assert one.high is not None
        assert one.low < one.high
    else:
        assert one.unit == ""
    assert bool(one.choices) == (one.kind in ("choice", "choices"))


@pytest.mark.parametrize(("page", "names", "one"), EVERY_FIELD, ids=FIELD_IDS)
def test_every_default_and_example_is_accepted(page: Page, names: tuple[str, ...], one: Field) -> None:
    """What the program itself proposes for a key passes the key's own check."""
    assert one.default is not None or one.example is not None or one.kind == "choice"
    for value in (one.default, one.example):
        if value is not None:
            checked(one, value)


def test_keys_and_tables_are_named_once() -> None:
    """No table has two keys or tables of one name, and every table says what it is for."""
    for _, names, table in EVERY_TABLE:
        assert len(set(table.names())) == len(table.names())
        if names:
            assert table.title
            assert table.help.endswith((".", "."))


def test_files_are_named_once() -> None:
    """Each file has one description, and the skyline stands among them."""
    assert len(set(FILES)) == len(FILES) == len(PAGES) + 1
    assert "horizon.txt" in FILES


@pytest.mark.parametrize("page", PAGES, ids=[page.file for page in PAGES])
def test_every_template_is_right(page: Page) -> None:
    """A file with its examples and defaults is TOML that passes its own check, in lines that fit a window."""
    text = page_text(page)
    findings = Findings(parse_toml(page.file, text.encode()))
    check_page(page, findings)
    assert findings.problems == []
    assert max(len(line) for line in text.splitlines()) <= 100
    for _, table in page.head.walk():
        for one in table.fields:
            assert one.key in text


@pytest.mark.parametrize("page", PAGES, ids=[page.file for page in PAGES])
def test_every_line_that_is_switched_off_can_be_switched_on(page: Page) -> None:
    """Taking the "# " away from all keys and headers gives TOML that passes its own check."""
    switched_off = re.compile(r"^# (?=\[|[a-z0-9_]+ = )")
    lines = [switched_off.sub("", line) for line in page_text(page).splitlines()]
    text = "\n".join(lines) + "\n"
    assert len(tomllib.loads(text)) >= len(tomllib.loads(page_text(page)))
    findings = Findings(parse_toml(page.file, text.encode()))
    check_page(page, findings)
    assert findings.problems == []


RECORDS: list[tuple[Table, type]] = [
    (TELESCOPE, Telescope),
    (CAMERA, Sensor),
    (GUIDER_TABLE, OffAxisGuider),
    (GUIDER_TABLE, GuideLight),
    (MOUNT, Mount),
    (TOLERANCES, Tolerances),
    *((table, kind) for name, kind in (
        ("nights", UsableNights), ("frames", FrameSettings), ("sky", LightSettings), ("glow", Glow),
        ("filter", Filter), ("exposure", ExposureWish), ("service", StarService),
    ) for _, names, table in EVERY_TABLE if names == (name,)),
]  # fmt: skip


@pytest.mark.parametrize(("table", "kind"), RECORDS, ids=[f"{table.name}-{kind.__name__}" for table, kind in RECORDS])
def test_defaults_are_the_records_own(table: Table, kind: type) -> None:
    """A default stands in the description and in the record; the two are the same."""
    own = {one.name: one.default for one in dataclasses.fields(kind) if one.default is not dataclasses.MISSING}
    compared = 0
    for one in table.fields:
        if one.record_field in own and one.kind != "choices":
            assert own[one.record_field] == one.default, one.key
            compared += 1
    assert compared


def test_defaults_of_a_notebook_that_says_the_least() -> None:
    """What a notebook without optional files and keys gives is what the records give by themselves."""
    book = read_folder(in_memory(campaign_toml=None, light_toml=None))
    assert book.campaign == CampaignSettings()
    assert book.campaign.rules == Rules()
    assert book.campaign.weather == Weather()
    assert book.campaign.goal_of("NGC 4565") == Goal("NGC 4565")
    assert book.light == LightSettings(sky_of_class(4, elevation_m=180.0), False)
    assert book.guiding == guide_conditions(book.light.sky, GuideLight())
    plain = Site("Garden", 48.2, 16.37, 180.0, "Europe/Vienna", book.site.horizon)
    assert book.site == plain
    wanted = {one.name: one.default for one in dataclasses.fields(Target)}
    target = next(table for _, names, table in EVERY_TABLE if names == ("target",))
    for key in ("hours_wanted_h", "shift_allowed_arcmin"):
        one = target.field(key)
        assert one is not None
        assert one.default == wanted[key]


def rig_with(names: tuple[str, ...], one: Field, value: Any) -> Rig:
    """Return a rig with one field at a value."""
    rig = Rig(
        Telescope(200.0, 1600.0),
        Sensor(6248, 4176, 3.76),
        OffAxisGuider(22.0, Sensor(1936, 1096, 2.9)),
        guide_limit_mag=12.0,
    )
    field = one.record_field
    if names == ("guider", "camera"):
        assert rig.guider is not None
        sensor = dataclasses.replace(rig.guider.sensor, **{field: value})
        return dataclasses.replace(rig, guider=dataclasses.replace(rig.guider, sensor=sensor))
    part = getattr(rig, names[0])
    return dataclasses.replace(rig, **{names[0]: dataclasses.replace(part, **{field: value})})


@pytest.mark.parametrize(
    ("names", "one"),
    [
        (names, one)
        for page, names, one in EVERY_FIELD
        if page.file == "rig.toml" and names and one.kind in ("number", "whole") and one.key not in
        ("limit_mag", "bright_mag", "exposure_s", "least_snr", "off_axis_arcsec")
    ],
    ids=lambda item: ".".join(item) if isinstance(item, tuple) else item.key,
)  # fmt: skip
def test_the_rigs_room_accepts_every_range(names: tuple[str, ...], one: Field) -> None:
    """No number that the file's check lets through is out of range for the room of the rig."""
    assert one.low is not None
    assert one.high is not None
    lowest = one.low + (one.high - one.low) * 1e-9 if one.above_low else one.low
    for value in (lowest, one.high):
        said = [problem.message for problem in check_rig(rig_with(names, one, value))]
        assert not [message for message in said if "out of range" in message or "Not a" in message]


def test_the_room_of_light_accepts_every_range() -> None:
    """No filter that the file's check lets through is out of range for the room of light."""
    table = next(table for _, names, table in EVERY_TABLE if names == ("filter",))
    for one in table.fields:
        for value in (one.low, one.high):
            if value is not None:
                spoilt = dataclasses.replace(Filter("L", 550.0, 300.0), **{one.key: value})
                assert check_filter(spoilt) == ()


def test_the_reference_page_is_current() -> None:
    """The page in docs is the one drawn from the descriptions, and names every key, table and file."""
    page = reference_page()
    path = Path(__file__).resolve().parents[2] / "docs" / "notebook.md"
    assert path.read_text(encoding="utf-8") == page, "python -m sidelight.notebook.reference docs/notebook.md"
    for _, names, one in EVERY_FIELD:
        assert f"| `{one.key}` |" in page, names
    for file in FILES:
        assert f"## {file}\n" in page


def test_answers_for_the_guider_name_real_keys() -> None:
    """The answers that other tests give for a guider are keys of the description."""
    known = {f"rig.{'.'.join((*names, one.key))}" for page, names, one in EVERY_FIELD if page.file == "rig.toml"}
    assert set(GUIDER) <= known
