"""The fetch against a real server of the Virtual Observatory: GAVO DaCHS on loopback.

tests/vo_server/set_up installs, fills and starts it and prints its address, which is handed over in the environment
as SIDELIGHT_VO_SERVER.
"""

import os
import urllib.request
from pathlib import Path

import numpy as np
import pytest

from sidelight.ground.angles import separation_deg
from sidelight.stars import cache
from sidelight.stars.answer import Refused, read_answer
from sidelight.stars.asking import Asker
from sidelight.stars.catalogue import embedded
from sidelight.stars.doubts import near_any
from sidelight.stars.fetching import fetch_stars
from sidelight.stars.merged import catalogue_for
from sidelight.stars.service import Cone, ConeService, NoAnswer, SkyField, together

FIELDS = [
    SkyField("M 31", 10.6847, 41.269, 0.6, 0.9),
    SkyField("right ascension 0", 0.0, 60.0, 0.0, 0.9),
    SkyField("north pole", 45.0, 89.5, 0.2, 0.6),
    SkyField("south pole", 120.0, -89.8, 0.0, 0.7),
]
LIMIT_MAG = 12.0


@pytest.fixture
def address() -> str:
    """Return the running server's address; in CI there must be one."""
    address = os.environ.get("SIDELIGHT_VO_SERVER")
    if not address:
        missing = "no VO server: run tests/vo_server/set_up and put its last line into SIDELIGHT_VO_SERVER"
        if os.environ.get("CI") == "true":
            pytest.fail(missing)
        pytest.skip(missing)
    return address


def service(address: str, query: str = "?", **how: object) -> ConeService:
    """Return the server's record."""
    return ConeService("Test stars", address + query, **{"pause_s": 0.0, **how})  # type: ignore[arg-type]


def assert_nothing_is_missing(folder: Path, field: SkyField) -> None:
    """Hold what is kept against the stars that the server was filled with, to 1 milliarcsecond."""
    true = embedded().cone(field.ra_deg, field.dec_deg, field.outer_deg, LIMIT_MAG)
    there = separation_deg(field.ra_deg, field.dec_deg, true.ra_deg, true.dec_deg) >= field.inner_deg
    kept = together([piece.stars for piece in cache.load_all(folder)[0]])
    assert there.sum() > 20
    assert near_any(true.ra_deg[there], true.dec_deg[there], kept.ra_deg, kept.dec_deg, 1e-3 / 3600.0).all()


@pytest.mark.parametrize(
    ("query", "extra"),
    [
        ("?", ()),
        ("?VERB=1&", ()),
        ("?MAXREC=50&", ()),
        ("?", (("vmag", "-Inf {limit_mag}"),)),
    ],
)
def test_every_star_comes(address: str, tmp_path: Path, query: str, extra: tuple[tuple[str, str], ...]) -> None:
    """Every star of the fields is kept: plainly, tersely, with a row limit, and with a magnitude limit sent along."""
    fetch_stars(tmp_path, FIELDS, service(address, query, extra=extra), LIMIT_MAG)
    for field in FIELDS:
        assert_nothing_is_missing(tmp_path, field)
    assert fetch_stars(tmp_path, FIELDS, service(address, query, extra=extra), LIMIT_MAG).questions == 0


def test_the_merged_sky_is_the_same_sky(address: str, tmp_path: Path) -> None:
    """Merged with the shipped catalogue that the server's stars come from, no star is doubled or lost."""
    fetch_stars(tmp_path, FIELDS[:1], service(address), LIMIT_MAG)
    merged = catalogue_for(tmp_path).cone(FIELDS[0].ra_deg, FIELDS[0].dec_deg, 0.9)
    shipped = embedded().cone(FIELDS[0].ra_deg, FIELDS[0].dec_deg, 0.9)
    np.testing.assert_allclose(merged.mag, shipped.mag, atol=2e-3)
    assert merged.catalogue == "Test stars to 12 mag"


def test_the_servers_own_errors_are_told(address: str) -> None:
    """The server's refusal of declination 91 is found in its answer (Simple Cone Search 1.03, section 2.3)."""
    with urllib.request.urlopen(f"{address}?RA=10&DEC=91&SR=0.1", timeout=30) as response:
        body = response.read()
    with pytest.raises(Refused, match="declination"):
        read_answer(body, "", Cone(10.0, 90.0, 0.1), service(address), LIMIT_MAG)


def test_radius_zero_is_no_error(address: str) -> None:
    """SR=0 brings the columns and no stars (section 2.1, "metadata query")."""
    answer = Asker(service(address), LIMIT_MAG).ask(Cone(10.0, 41.0, 0.0))
    assert (len(answer.stars), answer.rows) == (0, 0)


def test_an_address_without_a_service_is_told(address: str, tmp_path: Path) -> None:
    """A wrong path on a real server ends in a sentence, with nothing kept."""
    wrong = ConeService("Test stars", address.replace("/cone/", "/none/") + "?", pause_s=0.0)
    with pytest.raises(NoAnswer, match="404"):
        fetch_stars(tmp_path, [SkyField("x", 10.0, 41.0, 0.0, 0.1)], wrong, LIMIT_MAG)
    assert not list(tmp_path.iterdir())
