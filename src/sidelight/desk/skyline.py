"""The skyline to be looked at and edited: the points as measured, and where the targets pass over it."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sidelight.desk.clock import local, utc
from sidelight.ground.types import FloatArray
from sidelight.notebook.edit import set_horizon
from sidelight.notebook.files import Folder, as_text, fingerprint_of
from sidelight.notebook.horizon_text import read_rows
from sidelight.notebook.read import Notebook
from sidelight.notebook.schema.pages import HORIZON_FILE
from sidelight.notebook.toml_text import parse_toml
from sidelight.sky.altitude import altitude_azimuth
from sidelight.sky.darkness import year_of_darkness

TRACK_STEP_MIN = 10


@dataclass(frozen=True, eq=False)
class SkyPath:
    """One target's way over the skyline in a night, while the Sun is down; labels are clock hours at the site."""

    target: str
    azimuth_deg: FloatArray
    altitude_deg: FloatArray
    labels: tuple[str, ...]


@dataclass(frozen=True)
class Skyline:
    """The skyline.

    points_deg : (bearing, altitude) as the file counts bearings; declination_deg is added to make them true.
    azimuth_deg, altitude_deg : the same in true azimuths, as the program uses them.
    """

    points_deg: tuple[tuple[float, float], ...]
    declination_deg: float
    azimuth_deg: tuple[float, ...]
    altitude_deg: tuple[float, ...]
    floor_deg: float
    southern: bool
    date: dt.date
    fingerprint: str
    paths: tuple[SkyPath, ...]


def skyline(notebook: Notebook, date: dt.date) -> Skyline:
    """Return a notebook's skyline with the targets' paths in one night."""
    site = notebook.site
    data = Folder(notebook.folder).read(HORIZON_FILE)
    rows = read_rows(as_text(HORIZON_FILE, data)) if data is not None else ()
    return Skyline(
        points_deg=tuple((row.bearing_deg, row.altitude_deg) for row in rows),
        declination_deg=_declination(notebook.folder),
        azimuth_deg=tuple(float(one) for one in site.horizon.azimuth_deg),
        altitude_deg=tuple(float(one) for one in site.horizon.altitude_deg),
        floor_deg=site.floor_deg,
        southern=site.latitude_deg < 0,
        date=date,
        fingerprint=fingerprint_of(data),
        paths=_paths(notebook, date),
    )


def _declination(folder: Path) -> float:
    """Return by how much the bearings of the file differ from true azimuths, as site.toml says."""
    data = Folder(folder).read("site.toml")
    said = parse_toml("site.toml", data or b"").data.get("horizon", {})
    return float(said.get("magnetic_declination_deg", 0.0)) if said.get("bearings") == "magnetic" else 0.0


def _paths(notebook: Notebook, date: dt.date) -> tuple[SkyPath, ...]:
    """Return every target's path while it is dark, or through the night where it never is."""
    site = notebook.site
    darkness = year_of_darkness(site, date, 1)
    dark = darkness.dark.of(0)
    start, end = (float(dark[0, 0]), float(dark[-1, 1])) if len(dark) else (0.0, 0.0)
    if end <= start:
        return ()
    step = TRACK_STEP_MIN / 1440.0
    times = np.arange(np.ceil(start / step) * step, end, step)
    labels = []
    for instant in times:
        clock = local(site, utc(instant))
        labels.append(f"{clock:%H}" if clock.minute == 0 and clock.hour % 2 == 0 else "")
    paths = []
    for target in notebook.targets:
        altitude, azimuth = altitude_azimuth(target.ra_deg, target.dec_deg, times, site)
        paths.append(SkyPath(target.key, azimuth, altitude, tuple(labels)))
    return tuple(paths)


def change_skyline(folder: Path, points_deg: Sequence[tuple[float, float]], seen: str | None) -> str:
    """Replace the skyline's points; return the file's new fingerprint.

    Raises BadInput, with nothing written, for points that cannot be or a file changed since it was `seen`.
    """
    return set_horizon(folder, points_deg, seen)
