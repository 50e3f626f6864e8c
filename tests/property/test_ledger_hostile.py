"""Whatever bytes a file holds, reading it gives a frame or a reason."""

import gzip
from pathlib import Path

import pytest
from astropy.io import fits
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.strategies.ledger import CAMERA, fits_bytes, header_of

from sidelight.ledger.cards import LONGEST_TEXT, split_cards
from sidelight.ledger.files import FoundFile
from sidelight.ledger.frames import Frame, SetAside, frame_of, read_frame

PLAIN = fits_bytes()
KEYWORDS = [*CAMERA, "CTYPE1", "CTYPE2", "CRVAL1", "CRVAL2", "CRPIX1", "CRPIX2", "CD1_1", "CD1_2", "CROTA2", "CDELT1"]
KEYWORDS += [
    "CDELT2",
    "PC1_1",
    "EQUINOX",
    "RADESYS",
    "TIMESYS",
    "MJD-OBS",
    "NCOMBINE",
    "OBJCTRA",
    "OBJCTDEC",
    "CUNIT1",
]

values = st.one_of(
    st.text(st.characters(codec="latin-1"), max_size=70),
    st.sampled_from(
        ["RA---TAN", "DEC--TAN", "GLON-CAR", "RA---TPV", "2027-13-45T99:99:99", "9999-12-31T23:59:59", "J1e9"]
    ),
    st.sampled_from(["-0001-01-01T00:00:00", "00 60 00", "+99 00 00", "NaN", "inf", "1e400", "deg", "furlong"]),
    st.integers(-(10**60), 10**60),
    st.floats(allow_nan=True, allow_infinity=True),
    st.booleans(),
)


def holds_together(answer: Frame | SetAside) -> None:
    """Check what every answer must have."""
    if isinstance(answer, SetAside):
        assert answer.reason
        return
    assert 0 < answer.exposure_s <= 86400
    assert 44239 <= answer.start_mjd < 88069 + 1
    assert answer.ra_deg is None or 0 <= answer.ra_deg < 360
    assert answer.dec_deg is None or -90 <= answer.dec_deg <= 90
    for text in (answer.object_name, answer.filter_name, answer.camera, *answer.notes):
        assert text.isprintable()
        assert len(text) <= LONGEST_TEXT + 200


@given(st.dictionaries(st.sampled_from(KEYWORDS), values, max_size=12))
@settings(max_examples=100, deadline=None)
def test_hostile_values(changes: dict[str, object]) -> None:
    """Any value under any keyword gives a frame that holds together, or a reason."""
    holds_together(frame_of(header_of({**CAMERA, **changes}), FoundFile("x", 1, 1)))


@given(st.data())
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_hostile_bytes(tmp_path: Path, data: st.DataObject) -> None:
    """A file cut anywhere, with bytes changed anywhere, gzipped or not, gives an answer."""
    whole = bytearray(PLAIN[: data.draw(st.integers(0, len(PLAIN)))])
    for _ in range(data.draw(st.integers(0, 8))):
        if whole:
            whole[data.draw(st.integers(0, min(len(whole), 2000) - 1))] = data.draw(st.integers(0, 255))
    packed = gzip.compress(bytes(whole)) if data.draw(st.booleans()) else bytes(whole)
    packed = packed[: len(packed) - data.draw(st.sampled_from([0, 0, 1, 9, 100]))]
    path = tmp_path / "hostile.fits"
    path.write_bytes(packed)
    holds_together(read_frame(FoundFile(str(path), len(packed), 1)))


@given(st.binary(max_size=4000))
@settings(max_examples=80, deadline=None)
def test_any_bytes_are_cards_or_not(data: bytes) -> None:
    """Splitting and reading cards raises nothing, whatever the bytes."""
    cards = split_cards(data + b"END".ljust(80))
    if cards is not None:
        for keyword in cards:
            assert isinstance(cards.get(keyword), str | bool | int | float | None)


def texts(shortest: int, longest: int, without: str = "") -> st.SearchStrategy[str]:
    """Return printable text as FITS allows it, without blanks at the end, which FITS does not keep."""
    signs = st.characters(min_codepoint=32, max_codepoint=126, exclude_characters=without)
    return st.text(signs, min_size=shortest, max_size=longest).map(str.rstrip)


# astropy tears a doubled quote apart between two cards of long text
plain_values = st.one_of(
    texts(0, 34), texts(35, 200, without="'"), st.integers(-(10**18), 10**18), st.floats(-1e300, 1e300), st.booleans()
)
OWN = ("END", "CONTINUE", "COMMENT", "HISTORY", "HIERARCH")
keywords = st.from_regex(r"[A-Z][A-Z0-9_\-]{2,7}", fullmatch=True).filter(lambda keyword: keyword not in OWN)


@given(st.dictionaries(keywords, plain_values, min_size=1, max_size=6))
@settings(max_examples=60, deadline=None)
def test_what_astropy_writes_is_read(given_cards: dict[str, object]) -> None:
    """Text (long, too), numbers and logicals that astropy writes come back as they were given to it."""
    header = fits.Header()
    for keyword, value in given_cards.items():
        header[keyword] = value
    cards = split_cards(header.tostring().encode("ascii"))
    assert cards is not None
    for keyword, value in given_cards.items():
        wanted = pytest.approx(value, rel=1e-12) if isinstance(value, float) else value
        assert cards.get(keyword) == wanted, keyword
