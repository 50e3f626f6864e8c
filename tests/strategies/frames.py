"""FITS files as a camera and a plate solver leave them, small: with the sensor binned hard."""

import datetime as dt
import zlib
from pathlib import Path

import numpy as np
from astropy.io import fits

ARCSEC_PER_RADIAN = 206264.80624709636


def write_light(
    path: Path,
    start: dt.datetime,
    *,
    object_name: str = "",
    place_deg: tuple[float, float] | None = None,
    exposure_s: float = 300.0,
    filter_name: str = "L",
    kind: str = "Light Frame",
    seed: int = 0,
) -> Path:
    """Write one frame of noise; `place_deg` is where the mount says it points."""
    rng = np.random.default_rng(zlib.crc32(f"{start} {filter_name} {seed}".encode()))
    hdu = fits.PrimaryHDU(rng.integers(0, 4000, (24, 32)).astype(np.int16))
    cards = {
        "DATE-OBS": start.strftime("%Y-%m-%dT%H:%M:%S.%f"),
        "EXPTIME": exposure_s,
        "IMAGETYP": kind,
        "FILTER": filter_name,
        "INSTRUME": "Test camera",
        "XBINNING": 1,
    }
    if object_name:
        cards["OBJECT"] = object_name
    if place_deg is not None:
        cards |= {"RA": place_deg[0], "DEC": place_deg[1]}
    hdu.header.update(cards)
    path.parent.mkdir(parents=True, exist_ok=True)
    hdu.writeto(path, overwrite=True)
    return path


def write_solved(
    path: Path,
    start: dt.datetime | None,
    centre_deg: tuple[float, float],
    up_deg: float,
    *,
    sensor_px: tuple[int, int],
    pixel_um: float,
    focal_mm: float,
    mirrored: bool = False,
    asked_deg: tuple[float, float] | None = None,
    binning: int = 16,
    skew_deg: float = 0.0,
) -> Path:
    """Write a solved image of the whole sensor whose up (+y) stands at a position angle; the solution is a CD matrix.

    The columns of the matrix are the sky directions of +x and +y: up at (sin p, cos p), and +x a quarter turn off,
    towards smaller position angle as on the sky, towards greater when mirrored (Calabretta & Greisen 2002).
    """
    width, height = sensor_px[0] // binning, sensor_px[1] // binning
    scale = np.degrees(pixel_um / 1000.0 * binning / focal_mm)
    up = np.radians(up_deg)
    right = up + (np.pi / 2 if mirrored else -np.pi / 2) + np.radians(skew_deg)
    hdu = fits.PrimaryHDU(np.zeros((height, width), dtype=np.uint8))
    cards = {
        "CTYPE1": "RA---TAN",
        "CTYPE2": "DEC--TAN",
        "CRVAL1": centre_deg[0],
        "CRVAL2": centre_deg[1],
        "CRPIX1": (width + 1) / 2,
        "CRPIX2": (height + 1) / 2,
        "CD1_1": scale * np.sin(right),
        "CD2_1": scale * np.cos(right),
        "CD1_2": scale * np.sin(up),
        "CD2_2": scale * np.cos(up),
        "EXPTIME": 120.0,
        "IMAGETYP": "Light Frame",
    }
    if start is not None:
        cards["DATE-OBS"] = start.strftime("%Y-%m-%dT%H:%M:%S")
    if asked_deg is not None:
        cards |= {"RA": asked_deg[0], "DEC": asked_deg[1]}
    hdu.header.update(cards)
    path.parent.mkdir(parents=True, exist_ok=True)
    hdu.writeto(path, overwrite=True)
    return path
