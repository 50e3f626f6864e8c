"""Headers of FITS files, and nothing but headers: plain, multi-extension, gzipped and tile-compressed.

FITS 4.0 (Pence et al. 2018): sections 3 and 4 for the files, section 10 for tile-compressed images. Whatever a file
holds, the answer is a header or a reason; no file can stop the run.
"""

import gzip
import hashlib
import math
import os
import stat
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Literal

from sidelight.ledger.cards import BLOCK, Cards, split_cards

Trouble = Literal["empty", "not_fits", "truncated", "broken", "no_image", "unreadable"]

_FIRST_READ = 8 * BLOCK
_LONGEST_HEADER = 1024 * BLOCK
_MOST_EXTENSIONS = 64
_MOST_UNPACKED = 1 << 28
_HASHED = 2 * BLOCK
_PLACES = ("CTYPE", "CRVAL", "CRPIX", "CDELT", "CROTA", "CUNIT", "CD1_", "CD2_", "PC1_", "PC2_", "LONPOLE", "LATPOLE")
"""How the keywords begin that place an image on the sky; they belong together and are never mixed."""


@dataclass(frozen=True)
class Unreadable:
    """A file that gives no image header: its kind of trouble, and the reason in words."""

    path: str
    trouble: Trouble
    reason: str


@dataclass(frozen=True, eq=False)
class FitsHeader:
    """The header of a file's first image.

    cards : of that image, with those of an empty primary header beneath them.
    width_px, height_px : of the image. content : a fingerprint of the first pixels, the same for a plain and a
    gzipped copy, however the header was edited; two exposures differ by their noise.
    compressed : in tiles, as .fz files are.
    """

    path: str
    cards: Cards
    width_px: int
    height_px: int
    content: str
    compressed: bool = False


class _Unusable(Exception):
    """Why a file gives no header."""

    def __init__(self, trouble: Trouble, reason: str) -> None:
        self.trouble: Trouble = trouble
        self.reason = reason


def read_header(path: str | Path) -> FitsHeader | Unreadable:
    """Return the header of the first image in a FITS file, or why there is none; never raises.

    Reads some 23 kB of a plain file. A file shorter than its header says is reported as truncated; of a gzipped file
    the length stands in its last four bytes, and it is unpacked whole only when that length is too short.
    """
    name = os.fspath(path)
    try:
        if not stat.S_ISREG(os.stat(name).st_mode):  # noqa: PTH116 - as below; a pipe would be waited for
            return Unreadable(name, "unreadable", "This is no file.")
        with open(name, "rb", buffering=0) as raw:  # noqa: PTH123 - twice as fast as Path.open over thousands of files
            length_bytes = os.fstat(raw.fileno()).st_size
            if length_bytes == 0:
                return Unreadable(name, "empty", "The file is empty.")
            header = _from_raw(raw, name, length_bytes)
    except _Unusable as why:
        return Unreadable(name, why.trouble, why.reason)
    except EOFError:
        return Unreadable(name, "truncated", "The compressed file ends early; copy it again.")
    except (gzip.BadGzipFile, zlib.error):
        return Unreadable(name, "broken", "The file is not what gzip writes, or it is damaged.")
    except OSError as error:
        return Unreadable(name, "unreadable", f"The file cannot be read: {error.strerror or error}.")
    except (ValueError, ArithmeticError) as error:
        return Unreadable(name, "broken", f"The header makes no sense: {str(error)[:100]}.")
    return header


def _from_raw(raw: IO[bytes], name: str, length_bytes: int) -> FitsHeader:
    """Read from an open file, unpacking it when its first two bytes are gzip's."""
    start = raw.read(_FIRST_READ)
    if not start.startswith(b"\x1f\x8b"):
        return _first_image(_Source(raw, start, length_bytes), name)
    raw.seek(0)
    with gzip.GzipFile(fileobj=raw, mode="rb") as unpacked:
        source = _Source(unpacked, unpacked.read(_FIRST_READ), None)
        header = _first_image(source, name)
        raw.seek(-4, os.SEEK_END)
        if int.from_bytes(raw.read(4), "little") < source.needed_bytes % (1 << 32):
            _unpack_all(raw, source.needed_bytes)
    return header


def _unpack_all(raw: IO[bytes], needed_bytes: int) -> None:
    """Raise when a gzipped file holds less than its header says; the slow and sure way."""
    raw.seek(0)
    length = 0
    with gzip.GzipFile(fileobj=raw, mode="rb") as unpacked:
        while length < needed_bytes and (piece := unpacked.read(1 << 20)):
            length += len(piece)
    if length < needed_bytes:
        raise _too_short(length, needed_bytes)


@dataclass
class _Source:
    """Bytes by their place in the unpacked file. needed_bytes : how long the file must be, once that is known."""

    stream: IO[bytes] | gzip.GzipFile
    start: bytes
    length_bytes: int | None
    needed_bytes: int = 0

    def take(self, at: int, count: int) -> bytes:
        """Return up to `count` bytes from a place."""
        if at + count <= len(self.start):
            return self.start[at : at + count]
        if self.length_bytes is None and at + count > _MOST_UNPACKED:
            raise _Unusable("broken", "The image lies too deep in a gzipped file; unpack the file first.")
        self.stream.seek(at)
        pieces = []
        while count > 0 and (piece := self.stream.read(count)):
            pieces.append(piece)
            count -= len(piece)
        return b"".join(pieces)


def _first_image(source: _Source, name: str) -> FitsHeader:
    """Walk through the file's parts to the first image."""
    if not source.start.startswith(b"SIMPLE  ="):
        raise _Unusable("not_fits", "This is not a FITS file, whatever its name says.")
    beneath, at = Cards({}), 0
    for part in range(_MOST_EXTENSIONS):
        cards = _cards_at(source, at)
        data_at, data_bytes = at + cards.length_bytes, _data_bytes(cards)
        size = _image_size(cards)
        if size is not None:
            source.needed_bytes = data_at + data_bytes
            if source.length_bytes is not None and source.length_bytes < source.needed_bytes:
                raise _too_short(source.length_bytes, source.needed_bytes)
            content = hashlib.blake2b(source.take(data_at, min(_HASHED, data_bytes)), digest_size=16).hexdigest()
            laid = _laid_over(beneath, cards) if part else cards
            packed = cards.get("ZIMAGE") is True
            return FitsHeader(name, laid, *size, content, packed)
        if part == 0:
            beneath = cards
        at = data_at + -(-data_bytes // BLOCK) * BLOCK
        if source.length_bytes is not None and at > source.length_bytes:
            raise _too_short(source.length_bytes, at)
        if not source.take(at, 1):
            break
    raise _Unusable("no_image", "The file holds no image, only tables or nothing.")


def _cards_at(source: _Source, at: int) -> Cards:
    """Return the header that begins at a place, reading on until its END."""
    length = _FIRST_READ
    while True:
        data = source.take(at, length)
        cards = split_cards(data)
        if cards is not None:
            return cards
        if len(data) < length and (at == 0 or data.startswith(b"XTENSION")):
            raise _Unusable("truncated", "The file ends within its header; copy it again.")
        if at and not data.startswith(b"XTENSION"):
            raise _Unusable("no_image", "The file holds no image that can be found.")
        if length >= _LONGEST_HEADER:
            raise _Unusable("broken", f"The header has no end within {_LONGEST_HEADER // 1_000_000} MB.")
        length = min(4 * length, _LONGEST_HEADER)


def _laid_over(primary: Cards, image: Cards) -> Cards:
    """Return an image's cards with the primary header's beneath; the place on the sky from one of them only."""
    if "CTYPE1" in image:
        kept = {keyword: raw for keyword, raw in primary.raw.items() if not keyword.startswith(_PLACES)}
        primary = Cards(kept, primary.more, primary.repeated)
    return primary.under(image)


def _whole(cards: Cards, keyword: str, default: int | None = None) -> int:
    """Return a whole number that the file's structure rests on."""
    value = cards.get(keyword)
    if value is None and default is not None and keyword not in cards:
        return default
    if isinstance(value, bool) or not isinstance(value, int) or (value < 0 and keyword != "BITPIX"):
        raise _Unusable("broken", f"{keyword} is not a whole number from 0 up, so the file cannot be understood.")
    return value


def _axes(cards: Cards, prefix: str = "") -> list[int]:
    """Return the lengths of the axes."""
    count = _whole(cards, f"{prefix}NAXIS")
    if count > 999:
        raise _Unusable("broken", "NAXIS is above 999, so the file cannot be understood.")
    return [_whole(cards, f"{prefix}NAXIS{axis}") for axis in range(1, count + 1)]


def _data_bytes(cards: Cards) -> int:
    """Return how many bytes of data follow the header, without filling (FITS 4.0, equations 1 and 2)."""
    axes = _axes(cards)
    if not axes:
        return 0
    if axes[0] == 0 and cards.get("GROUPS") is True:
        axes = axes[1:]
    pixels = math.prod(axes) + _whole(cards, "PCOUNT", 0)
    return abs(_whole(cards, "BITPIX")) // 8 * max(1, _whole(cards, "GCOUNT", 1)) * pixels


def _image_size(cards: Cards) -> tuple[int, int] | None:
    """Return width and height in pixels when this part is an image, plain or in tiles."""
    kind = cards.get("XTENSION")
    if kind == "BINTABLE" and cards.get("ZIMAGE") is True:
        axes = _axes(cards, "Z")
    elif kind is None or (isinstance(kind, str) and kind in ("IMAGE", "IUEIMAGE")):
        axes = _axes(cards)
    else:
        return None
    if len(axes) < 2 or min(axes) == 0:
        return None
    return axes[0], axes[1]


def _too_short(length_bytes: int, needed_bytes: int) -> _Unusable:
    """Return the trouble of a file that ends early."""
    return _Unusable(
        "truncated",
        f"The file has {length_bytes:,} bytes and its header speaks of {needed_bytes:,}; copy it again.",
    )
