"""FITS files made by hand, frames, and solved images with a known answer."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import strategies as st

from sidelight.ledger.cards import BLOCK, Cards
from sidelight.ledger.files import FoundFile
from sidelight.ledger.frames import Frame
from sidelight.ledger.headers import FitsHeader

CAMERA: Mapping[str, Any] = {
    "IMAGETYP": "Light Frame",
    "OBJECT": "M 31",
    "EXPTIME": 300.0,
    "FILTER": "Ha",
    "DATE-OBS": "2027-10-03T21:15:04.250",
    "INSTRUME": "Camera One",
    "TELESCOP": "Refractor",
    "CCD-TEMP": -10.0,
    "GAIN": 100,
    "XBINNING": 1,
    "XPIXSZ": 3.76,
    "FOCALLEN": 530.0,
    "RA": 10.6847,
    "DEC": 41.2687,
}


def card(keyword: str, value: object) -> bytes:
    """Return one card of 80 characters."""
    if isinstance(value, bool):
        text = f"{'T' if value else 'F':>20}"
    elif isinstance(value, str):
        text = "'" + value.replace("'", "''").ljust(8) + "'"
    else:
        text = f"{value!r:>20}"
    return f"{keyword:<8}= {text}"[:80].ljust(80).encode("latin-1", "replace")


def header_bytes(cards: Mapping[str, object], first: Mapping[str, object]) -> bytes:
    """Return a whole header, filled up to a block."""
    text = b"".join(card(keyword, value) for keyword, value in {**first, **cards}.items()) + b"END".ljust(80)
    return text.ljust(-(-len(text) // BLOCK) * BLOCK)


def fits_bytes(cards: Mapping[str, object] = CAMERA, width: int = 30, height: int = 20, seed: int = 0) -> bytes:
    """Return a plain FITS file of 16-bit noise."""
    first = {"SIMPLE": True, "BITPIX": 16, "NAXIS": 2, "NAXIS1": width, "NAXIS2": height}
    pixels = np.random.default_rng(seed).integers(-1000, 1000, width * height).astype(">i2").tobytes()
    return header_bytes(cards, first) + pixels.ljust(-(-len(pixels) // BLOCK) * BLOCK, b"\0")


def frame_number(number: int, **changes: object) -> bytes:
    """Return the file of one frame of a series: five minutes after the one before, with noise of its own."""
    begun = dt.datetime(2027, 10, 3, 20) + dt.timedelta(minutes=5 * number)  # noqa: DTZ001 - FITS writes it bare
    return fits_bytes({**CAMERA, "DATE-OBS": begun.isoformat(timespec="milliseconds"), **changes}, seed=number)


def write_series(folder: Path, count: int, **changes: object) -> list[Path]:
    """Write a series of frames and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"light_{number:04d}.fits" for number in range(count)]
    for number, path in enumerate(paths):
        path.write_bytes(frame_number(number, **changes))
    return paths


def header_of(cards: Mapping[str, object], width: int = 512, height: int = 512) -> FitsHeader:
    """Return a header as if it had been read."""
    raw = {keyword: card(keyword, value).decode("latin-1")[10:] for keyword, value in cards.items()}
    return FitsHeader("image.fits", Cards(raw), width, height, "0")


def found(path: str = "image.fits") -> FoundFile:
    """Return a file that was found."""
    return FoundFile(path, 1, 1)


def frame(**changes: Any) -> Frame:
    """Return a frame without a file."""
    facts: dict[str, Any] = {
        "identity": "0",
        "exposure_key": None,
        "file": found(),
        "object_name": "M 31",
        "filter_name": "Ha",
        "exposure_s": 300.0,
        "start_mjd": 61681.0,
        "ra_deg": 10.6847,
        "dec_deg": 41.2687,
        "pointing": "mount",
        "camera": "",
        "telescope": "",
        "temperature_c": None,
        "gain": None,
        "binning": 1,
        "pixel_um": None,
        "focal_length_mm": None,
        "width_px": 100,
        "height_px": 100,
    }
    return Frame(**{**facts, **changes})


@dataclass(frozen=True)
class KnownImage:
    """A solved image: where its reference pixel points, its turn, scale and parity."""

    ra_deg: float
    dec_deg: float
    up_deg: float
    scale_deg: float
    mirrored: bool
    x_px: float
    y_px: float

    @property
    def matrix(self) -> np.ndarray:
        """Degrees (east, north) per pixel (x, y)."""
        up, side = np.radians(self.up_deg), -1.0 if self.mirrored else 1.0
        upwards = np.array([np.sin(up), np.cos(up)])
        # the right-hand side of an unmirrored picture lies at position angle up − 90°
        rightwards = side * np.array([-np.cos(up), np.sin(up)])
        return self.scale_deg * np.column_stack([rightwards, upwards])

    def cards(self, form: str) -> dict[str, object]:
        """Return the header of the image in one of the three forms, angles to full precision."""
        cards: dict[str, object] = {
            "CTYPE1": "RA---TAN",
            "CTYPE2": "DEC--TAN",
            "CRPIX1": self.x_px,
            "CRPIX2": self.y_px,
        }
        cards |= {"CRVAL1": self.ra_deg, "CRVAL2": self.dec_deg}
        names = ("1_1", "1_2", "2_1", "2_2")
        if form == "CD":
            return cards | {f"CD{name}": float(value) for name, value in zip(names, self.matrix.ravel(), strict=True)}
        cdelt = (self.scale_deg if self.mirrored else -self.scale_deg, self.scale_deg)
        cards |= {"CDELT1": cdelt[0], "CDELT2": cdelt[1]}
        if form == "PC":
            pc = self.matrix / np.array(cdelt)[:, None]
            return cards | {f"PC{name}": float(value) for name, value in zip(names, pc.ravel(), strict=True)}
        return cards | {"CROTA2": -self.up_deg}


known_images = st.builds(
    KnownImage,
    ra_deg=st.floats(0.0, 359.999),
    dec_deg=st.floats(-85.0, 85.0),
    up_deg=st.floats(-180.0, 180.0),
    scale_deg=st.floats(5e-5, 2e-3),
    mirrored=st.booleans(),
    x_px=st.floats(1.0, 512.0),
    y_px=st.floats(1.0, 512.0),
)
forms = st.sampled_from(["CD", "PC", "CROTA2"])
