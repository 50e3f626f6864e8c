"""The demo's first image: a small FITS file with a solver's solution in its header and nothing but black in it.

Invented like the rest of the demo: M 81 in the west in the night of the demo, the camera 0.9° off its plan.
"""

import math

from sidelight.rig.optics import pixel_scale_arcsec
from sidelight.rig.records import Rig

OFF_DEG = 0.9
CENTRE_DEG = (148.8882, 69.0653)
"""Right ascension and declination of the middle of the picture, ICRS: M 81's place in OpenNGC."""
STEP = 88
"""Pixels of the camera to one of this picture, so that the file stays small; it divides 6248."""
BLOCK = 2880
"""FITS files come in blocks of so many bytes (FITS standard 4.0, section 3.1)."""


def first_image(rig: Rig, planned_camera_deg: float) -> bytes:
    """Return the file for a camera planned at a position angle.

    The columns of the CD matrix are the sky directions of +x and +y: up at (sin p, cos p), and +x a quarter turn off
    towards smaller position angle (Calabretta & Greisen 2002).
    """
    camera, up = rig.camera, math.radians(planned_camera_deg + OFF_DEG)
    width, height = camera.width_px // STEP, camera.height_px // STEP
    scale_deg = float(pixel_scale_arcsec(rig.telescope.effective_focal_length_mm, camera.pixel_um)) * STEP / 3600.0
    cards: dict[str, bool | int | float | str] = {
        "SIMPLE": True, "BITPIX": 8, "NAXIS": 2, "NAXIS1": width, "NAXIS2": height,
        "OBJECT": "M 81", "IMAGETYP": "Light Frame", "FILTER": "L", "EXPTIME": 60.0,
        "DATE-OBS": "2027-03-07T01:00:00", "CTYPE1": "RA---TAN", "CTYPE2": "DEC--TAN",
        "CRVAL1": CENTRE_DEG[0], "CRVAL2": CENTRE_DEG[1], "CRPIX1": (width + 1) / 2, "CRPIX2": (height + 1) / 2,
        "CD1_1": -scale_deg * math.cos(up), "CD2_1": scale_deg * math.sin(up),
        "CD1_2": scale_deg * math.sin(up), "CD2_2": scale_deg * math.cos(up),
    }  # fmt: skip
    head = "".join([*(_card(key, value) for key, value in cards.items()), "END".ljust(80)])
    return _filled(head.encode("ascii"), b" ") + _filled(bytes(width * height), b"\0")


def _card(key: str, value: bool | int | float | str) -> str:
    """Return one card of eighty signs, the value in the fixed format (FITS standard 4.0, section 4.2)."""
    if isinstance(value, str):
        written = f"'{value:<8}'"
    elif isinstance(value, bool):
        written = f"{'T' if value else 'F':>20}"
    else:
        written = f"{value:>20.12G}" if isinstance(value, float) else f"{value:>20d}"
    return f"{key:<8}= {written}".ljust(80)


def _filled(body: bytes, sign: bytes) -> bytes:
    """Return the bytes filled up to whole blocks."""
    return body + sign * (-len(body) % BLOCK)
