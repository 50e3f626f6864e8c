"""The packed star catalogue: what it refuses, what it says about its depth, and in what order it answers."""

import hashlib
from pathlib import Path

import numpy as np
import pytest

from sidelight.ground.errors import BadInput, OurFault
from sidelight.stars import cells
from sidelight.stars.catalogue import EMBEDDED_FILE, embedded
from sidelight.stars.packed import HEADER, PackedCatalogue, pack


def small_sky() -> bytes:
    """Return a file of five stars around right ascension 0."""
    ra = np.array([0.1, 359.9, 0.0, 10.0, 180.0])
    dec = np.array([0.0, 0.1, -0.1, 0.0, 89.9])
    return pack(ra, dec, np.array([9.0, 8.0, 10.0, 5.0, 3.0]))


def opened(folder: Path, content: bytes) -> PackedCatalogue:
    """Write a file and open it."""
    path = folder / "stars.bin"
    path.write_bytes(content)
    return PackedCatalogue.open(path)


def test_brightest_first_across_right_ascension_zero(tmp_path: Path) -> None:
    """A cone at right ascension 0 has the stars of both sides, brightest first."""
    stars = opened(tmp_path, small_sky()).cone(360.0, 0.0, 1.0)
    assert stars.mag.tolist() == [8.0, 9.0, 10.0]
    np.testing.assert_allclose(stars.ra_deg, [359.9, 0.1, 0.0], atol=1e-5)


def test_faint_limit_is_included(tmp_path: Path) -> None:
    """A star exactly as faint as asked is in the answer, a fainter one is not."""
    stars = opened(tmp_path, small_sky()).cone(0.0, 0.0, 1.0, faint_mag=9.0)
    assert stars.mag.tolist() == [8.0, 9.0]


def test_an_empty_cone_is_an_answer(tmp_path: Path) -> None:
    """A cone without stars has empty arrays and still a depth."""
    stars = opened(tmp_path, small_sky()).cone(90.0, -40.0, 0.5)
    assert len(stars) == 0
    assert stars.depth_mag == 11.5


def test_an_empty_catalogue_answers(tmp_path: Path) -> None:
    """A catalogue without a single star opens and finds nothing."""
    catalogue = opened(tmp_path, pack(np.empty(0), np.empty(0), np.empty(0)))
    assert len(catalogue.cone(0.0, 0.0, 180.0)) == 0
    assert catalogue.depth_at([0.0, 10.0], [90.0, 5.0]).tolist() == [11.5, 11.5]


def test_depth_of_a_full_cell_is_its_tenth_star(tmp_path: Path) -> None:
    """Where the source was cut to ten stars a cell the depth is the tenth star's magnitude, elsewhere nominal."""
    row, cell = cells.ring_and_cell(83.0, -5.0)
    ra, dec = cells.cell_centre_deg(row, cell)
    mags = np.linspace(7.0, 9.25, 10)
    catalogue = opened(tmp_path, pack(np.full(10, ra), np.full(10, dec), mags))
    assert catalogue.depth_at(ra, dec) == 9.25
    assert catalogue.depth_at(float(ra) + 5.0, dec) == 11.5
    assert catalogue.cone(float(ra), float(dec), 0.1).depth_mag == 9.25
    nine = opened(tmp_path, pack(np.full(9, ra), np.full(9, dec), mags[:9]))
    assert nine.depth_at(ra, dec) == 11.5


@pytest.mark.parametrize(
    ("damage", "says"),
    [
        (lambda content: content[:0], "cannot be opened"),
        (lambda content: content[:40], "no header"),
        (lambda content: content[:-1], "do not hold"),
        (lambda content: b"NOTSTARS" + content[8:], "another format"),
        (lambda content: content[:8] + b"\x09" + content[9:], "another format"),
        (lambda content: content[: HEADER.size] + b"\x01" + content[HEADER.size + 1 :], "add up"),
    ],
)
def test_a_damaged_file_is_refused(tmp_path: Path, damage: object, says: str) -> None:
    """Truncated, foreign and inconsistent files are refused with what to do next."""
    with pytest.raises(OurFault, match=says) as caught:
        opened(tmp_path, damage(small_sky()))  # type: ignore[operator]
    assert caught.value.problems[0].suggestion


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    """A file that is not there is the installation's fault."""
    with pytest.raises(OurFault, match="cannot be opened"):
        PackedCatalogue.open(tmp_path / "none.bin")


def test_the_checksum_finds_a_changed_byte(tmp_path: Path) -> None:
    """One changed byte among the magnitudes opens, but does not pass verification."""
    content = small_sky()
    opened(tmp_path, content).verify()
    changed = opened(tmp_path, content[:-1] + bytes([content[-1] ^ 1]))
    with pytest.raises(OurFault, match="checksum"):
        changed.verify()


def test_the_shipped_file_is_whole() -> None:
    """The file in the package carries the SHA-256 of its own content."""
    content = EMBEDDED_FILE.read_bytes()
    assert HEADER.unpack(content[: HEADER.size])[5] == hashlib.sha256(content[HEADER.size :]).digest()


@pytest.mark.parametrize("mag", [-0.1, 65.6])
def test_magnitudes_beyond_the_format_are_refused(mag: float) -> None:
    """A magnitude that the format cannot hold is not written as another one."""
    with pytest.raises(ValueError, match="magnitude"):
        pack(np.array([1.0]), np.array([1.0]), np.array([mag]))


@pytest.mark.parametrize(
    ("ra", "dec", "radius"),
    [(np.nan, 0, 1), (0, np.inf, 1), (0, 90.001, 1), (0, 0, -0.1), (0, 0, 180.1), (0, 0, np.nan)],
)
def test_impossible_cones_are_refused(ra: float, dec: float, radius: float) -> None:
    """A cone that is not finite or out of range is refused."""
    with pytest.raises(BadInput):
        embedded().cone(ra, dec, radius)


def test_the_shipped_catalogue_is_opened_once() -> None:
    """Everybody shares one open catalogue."""
    assert embedded() is embedded()
