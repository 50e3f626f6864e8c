"""Notebook: against what stands outside the project: TOML's specification, the zone database, geodesists' signs."""

import tomllib
import zoneinfo

import pytest

from sidelight.notebook.assemble import near_zones, time_zones
from sidelight.notebook.horizon_text import read_rows, skyline
from sidelight.notebook.places import KeyPath, find_places
from sidelight.notebook.schema.fields import Field
from sidelight.notebook.values import checked


def test_zones_are_those_of_the_database() -> None:
    """Every zone that is accepted opens in the standard library, which reads the IANA database."""
    for name in time_zones():
        assert zoneinfo.ZoneInfo(name).key == name
    assert len(time_zones()) > 500


def test_links_of_the_zone_database() -> None:
    """Names that the IANA keeps in its file "backward" for old habits are accepted: Asia/Calcutta, US/Pacific."""
    assert {"Asia/Calcutta", "US/Pacific", "Asia/Kolkata", "America/Los_Angeles"} <= set(time_zones())
    assert near_zones("Calcutta") == 'Did you mean "Asia/Calcutta"?'


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        # Greenwich: the transit circle stands at 51° 28' 40.1247" N, 0° 0' 5.3101" W of WGS 84 (Malys et al. 2015,
        # Journal of Geodesy 89, 1263)
        ("51 28 40.1247 N", 51 + 28 / 60 + 40.1247 / 3600),
        ("00 00 05.3101 W", -5.3101 / 3600),
    ],
)
def test_places_as_maps_print_them(text: str, degrees: float) -> None:
    """Degrees, minutes, seconds and a compass letter, as published for the transit circle at Greenwich."""
    kind = "latitude" if text[-1] in "NS" else "longitude"
    one = Field("place_deg", kind, "A place.", -180, 180)  # type: ignore[arg-type]
    assert checked(one, text) == pytest.approx(degrees, abs=1e-12)


def test_right_ascension_of_the_galactic_pole() -> None:
    """The north galactic pole of 1958 (Blaauw et al. 1960), 12h 49m +27.4°, is read as 192.25°."""
    one = Field("ra_deg", "right_ascension", "A place.", 0, 360)
    assert checked(one, "12h 49m 00s") == pytest.approx(192.25, abs=1e-12)
    assert checked(one, "12 49") == pytest.approx(192.25, abs=1e-12)


def test_the_sign_of_a_declination() -> None:
    """East declination is positive and added to a magnetic bearing (common practice of navigators, no source)."""
    assert skyline(read_rows("90 1"), 12.0).azimuth_deg.tolist() == [102.0]
    assert skyline(read_rows("90 1"), -12.0).azimuth_deg.tolist() == [78.0]


EXAMPLE = """\
# This is a TOML document

title = "TOML Example"

[owner]
name = "Tom Preston-Werner"
dob = 1979-05-27T07:32:00-08:00

[database]
enabled = true
ports = [ 8000, 8001, 8002 ]
data = [ ["delta", "phi"], [3.14] ]
temp_targets = { cpu = 79.5, case = 72.0 }

[servers]

[servers.alpha]
ip = "10.0.0.1"
role = "frontend"

[servers.beta]
ip = "10.0.0.2"
role = "backend"
"""
"""The example at the head of toml.io for TOML v1.0.0."""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 3),
        (("owner",), 5),
        (("owner", "dob"), 7),
        (("database", "ports", 2), 11),
        (("database", "data", 1, 0), 12),
        (("database", "temp_targets", "case"), 13),
        (("servers",), 15),
        (("servers", "beta", "role"), 23),
    ],
)
def test_places_in_the_example_of_the_standard(path: KeyPath, line: int) -> None:
    """In the standard's own example each key is found on the line where a reader sees it."""
    assert tomllib.loads(EXAMPLE)
    assert find_places(EXAMPLE).lines[path] == line
