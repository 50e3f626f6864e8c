"""Files of every kind give a header or a reason."""

import gzip
import io
from pathlib import Path

import numpy as np
import pytest
from astropy.io import fits
from tests.strategies.ledger import CAMERA, fits_bytes, header_bytes

from sidelight.ledger.cards import BLOCK, clean_text, split_cards
from sidelight.ledger.headers import FitsHeader, Unreadable, read_header

PLAIN = fits_bytes()


def read(folder: Path, data: bytes, name: str = "frame.fits") -> FitsHeader | Unreadable:
    """Write a file and read its header."""
    path = folder / name
    path.write_bytes(data)
    return read_header(path)


def header(folder: Path, data: bytes, name: str = "frame.fits") -> FitsHeader:
    """Write a file that has a header, and read it."""
    answer = read(folder, data, name)
    assert isinstance(answer, FitsHeader), answer
    return answer


def trouble(folder: Path, data: bytes, name: str = "frame.fits") -> str:
    """Write a file that has none, and return the kind of trouble."""
    answer = read(folder, data, name)
    assert isinstance(answer, Unreadable)
    assert answer.reason.endswith(".")
    return answer.trouble


def written(parts: list[fits.hdu.base._BaseHDU]) -> bytes:
    """Return a file that astropy writes."""
    stream = io.BytesIO()
    fits.HDUList(parts).writeto(stream)
    return stream.getvalue()


def pixels(width: int = 30, height: int = 20) -> np.ndarray:
    """Return noise."""
    return np.random.default_rng(1).integers(0, 60000, (height, width)).astype(np.uint16)


def test_a_plain_file(tmp_path: Path) -> None:
    """Every card and the size of a plain file are there."""
    answer = header(tmp_path, PLAIN)
    assert (answer.width_px, answer.height_px) == (30, 20)
    assert {keyword: answer.cards.get(keyword) for keyword in CAMERA} == CAMERA


def test_a_gzipped_copy_is_the_same(tmp_path: Path) -> None:
    """A gzipped copy has the same cards and the same contents, whatever it is called."""
    plain, packed = header(tmp_path, PLAIN), header(tmp_path, gzip.compress(PLAIN), "other.fit.gz")
    assert packed.content == plain.content
    assert packed.cards.raw == plain.cards.raw


def test_an_edited_header_leaves_the_contents(tmp_path: Path) -> None:
    """A solver that writes into the header does not change the contents; other pixels do."""
    cards = {**CAMERA, **{f"EXTRA{number}": number for number in range(60)}}
    assert header(tmp_path, fits_bytes(cards)).content == header(tmp_path, PLAIN).content
    assert header(tmp_path, fits_bytes(seed=1)).content != header(tmp_path, PLAIN).content


def test_tiles(tmp_path: Path) -> None:
    """A tile-compressed image has the size of the image, not of the table that holds it."""
    packed = fits.CompImageHDU(pixels(), fits.Header({"OBJECT": "M 33"}))
    answer = header(tmp_path, written([fits.PrimaryHDU(), packed]), "frame.fits.fz")
    assert (answer.width_px, answer.height_px, answer.compressed) == (30, 20, True)
    assert answer.cards.get("OBJECT") == "M 33"


def test_the_image_in_an_extension(tmp_path: Path) -> None:
    """The first image counts, a table before it does not; the primary header lies beneath its cards."""
    primary = fits.PrimaryHDU(header=fits.Header({"OBJECT": "M 33", "FILTER": "R", "CRVAL1": 1.0}))
    table = fits.BinTableHDU.from_columns([fits.Column("a", "J", array=np.arange(5000))])
    image = fits.ImageHDU(pixels(), fits.Header({"FILTER": "Ha", "CTYPE1": "RA---TAN"}))
    answer = header(tmp_path, written([primary, table, image]))
    assert (answer.width_px, answer.height_px) == (30, 20)
    assert [answer.cards.get(keyword) for keyword in ("OBJECT", "FILTER", "CRVAL1")] == ["M 33", "Ha", None]


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (b"", "empty"),
        (b"not a FITS file at all", "not_fits"),
        (b"\x89PNG" + bytes(3000), "not_fits"),
        (PLAIN[:1000], "truncated"),
        (PLAIN[:-BLOCK], "truncated"),
        (gzip.compress(PLAIN)[:-40], "truncated"),
        (gzip.compress(PLAIN)[:300], "truncated"),
        (gzip.compress(PLAIN[:-BLOCK]), "truncated"),
        (b"\x1f\x8b" + bytes(100), "broken"),
        (gzip.compress(b""), "not_fits"),
        (header_bytes({}, {"SIMPLE": True, "BITPIX": 8, "NAXIS": 0}), "no_image"),
        (header_bytes({}, {"SIMPLE": True, "BITPIX": 8, "NAXIS": 0}) + b"junk" * 900, "no_image"),
        (header_bytes({}, {"SIMPLE": True, "BITPIX": 8, "NAXIS": "two"}), "broken"),
        (header_bytes({}, {"SIMPLE": True, "BITPIX": 8, "NAXIS": -1}), "broken"),
        (header_bytes({}, {"SIMPLE": True, "BITPIX": 8, "NAXIS": 10**9}), "broken"),
        (
            header_bytes({}, {"SIMPLE": True, "BITPIX": 8, "NAXIS": 2, "NAXIS1": 10**15, "NAXIS2": 10**15}),
            "truncated",
        ),
        (header_bytes({}, {"SIMPLE": True, "BITPIX": 8, "NAXIS": 2, "NAXIS1": True, "NAXIS2": 3}), "broken"),
        (header_bytes({}, {"SIMPLE": True, "BITPIX": 8, "NAXIS": 2, "NAXIS1": 0, "NAXIS2": 3}), "no_image"),
        (b"SIMPLE  =                    T".ljust(80) * 37000, "broken"),
    ],
    ids=range(19),
)
def test_what_is_no_frame_says_why(tmp_path: Path, data: bytes, kind: str) -> None:
    """Empty, foreign, truncated and hostile files are reported by their kind, with a sentence."""
    assert trouble(tmp_path, data) == kind


def test_what_cannot_be_opened_says_why(tmp_path: Path) -> None:
    """A folder and a file that is gone are reported, not raised."""
    for path in (tmp_path, tmp_path / "gone.fits"):
        answer = read_header(path)
        assert isinstance(answer, Unreadable)
        assert answer.trouble == "unreadable"


def test_a_second_gzip_member_is_not_taken_for_an_end(tmp_path: Path) -> None:
    """A file gzipped in two pieces has a short last piece, and is whole all the same."""
    packed = gzip.compress(PLAIN[:5000]) + gzip.compress(PLAIN[5000:])
    assert header(tmp_path, packed, "frame.fits.gz").content == header(tmp_path, PLAIN).content


def test_a_file_without_filling_is_whole(tmp_path: Path) -> None:
    """A camera that does not fill the last block has written every pixel."""
    needed = len(PLAIN) - BLOCK + 30 * 20 * 2
    assert header(tmp_path, PLAIN[:needed]).width_px == 30
    assert trouble(tmp_path, PLAIN[: needed - 1]) == "truncated"


def test_a_long_header(tmp_path: Path) -> None:
    """A header of two thousand cards is read to its end."""
    cards = {**{f"K{number}": number for number in range(2000)}, "OBJECT": "at the end"}
    assert header(tmp_path, fits_bytes(cards)).cards.get("OBJECT") == "at the end"


def test_cards_that_make_no_sense() -> None:
    """Values that are none are None; a missing quote, a bare number and repeated keywords are borne."""
    lines = [
        "A       = 'no end",
        "B       = 12_000",
        "C       = nan",
        "D       = 1E999",
        "E       = (1.0, 2.0)",
        "F       = T F",
        "G       = 1",
        "G       = 2",
        "H       = ",
        "I       =" + "9" * 71,
        "END",
    ]
    cards = split_cards("".join(line.ljust(80) for line in lines).encode())
    assert cards is not None
    assert cards.get("A") == "no end"
    assert [cards.get(key) for key in "BCDEFH"] == [None] * 6
    assert cards.get("G") == 1
    assert cards.repeated == ("G",)
    assert cards.get("J") is None


def test_text_is_made_fit_to_show() -> None:
    """Control signs and endless text never reach a screen; UTF-8 written as bytes is read as such."""
    assert clean_text("a\x00\x1b[31m\tb\n") == "a [31m b"
    assert len(clean_text("x" * 10000)) == 200
    assert clean_text("Größe".encode().decode("latin-1")) == "Größe"
    assert clean_text("Größe") == "Größe"
