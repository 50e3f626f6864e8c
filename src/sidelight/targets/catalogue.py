"""Deep-sky objects in bulk: OpenNGC, read once from the database file of the package PyOngc.

OpenNGC (Mattia Verga, https://github.com/mattiaverga/OpenNGC) is licensed CC-BY-SA-4.0. The file holds positions in
radians (ICRS, J2000); everything that leaves this module is in degrees, arcminutes and magnitudes.
"""

import re
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from sidelight.ground.errors import OurFault, Problem
from sidelight.ground.types import FloatArray, IntArray

STARS = ("*", "**")
NOT_REAL = ("Dup", "NonEx")
MADE_OF_STARS = ("*", "**", "*Ass", "OCl", "Nova")
GALAXY_B_MINUS_V_MAG = 0.8
"""Between the blue spirals (0.5) and the red ellipticals (1.0); common practice, no source."""
PLAUSIBLE_B_MINUS_V_MAG = (-0.2, 1.8)
"""A galaxy's V outside this range of its B is an aperture's, not the whole galaxy's (NGC 253: V 11.1, B 7.9)."""
FEWEST_ROWS = 13_000
COLUMNS = (
    *("name", "type", "ra", "dec", "const", "majax", "minax", "pa", "bmag", "vmag", "sbrightn"),
    *("messier", "ngc", "ic", "identifiers", "commonnames", "ongcnotes"),
)


@dataclass(frozen=True)
class DeepSkyObject:
    """One entry of the catalogue; None where the catalogue is silent.

    name : as printed, "NGC 224". kind : OpenNGC's code, kind_text : the same in words.
    major_arcmin, minor_arcmin : full axes. position_angle_deg : of the major axis, north through east.
    surface_brightness_mag_arcsec2 : mean V over the ellipse of the full axes; see `ObjectTable`.
    notes : what had to be said about the entry or about how it was found.
    """

    name: str
    kind: str
    kind_text: str
    ra_deg: float
    dec_deg: float
    major_arcmin: float | None
    minor_arcmin: float | None
    position_angle_deg: float | None
    v_mag: float | None
    b_mag: float | None
    surface_brightness_mag_arcsec2: float | None
    messier: str | None
    common_names: tuple[str, ...]
    constellation: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class ObjectTable:
    """Many objects as columns of length n; NaN where the catalogue is silent.

    major_arcmin, minor_arcmin : full axes (galaxies: the 25 mag/arcsec² isophote in B).
    surface_brightness_mag_arcsec2 : mean V over the ellipse of the full axes, V + 2.5 log10(area in arcsec²); one
    known axis is taken as a circle; for a galaxy without V, B - 0.8 stands in. NaN for what is made of stars.
    v_mag : a galaxy's V that its B contradicts is left out (some 6 % of those with both).
    surface_brightness_b25_mag_arcsec2 : OpenNGC's own figure for galaxies, mean B inside the 25 mag isophote.
    row : where the object stands in the whole catalogue.
    """

    name: tuple[str, ...]
    kind: tuple[str, ...]
    ra_deg: FloatArray
    dec_deg: FloatArray
    major_arcmin: FloatArray
    minor_arcmin: FloatArray
    position_angle_deg: FloatArray
    v_mag: FloatArray
    b_mag: FloatArray
    surface_brightness_mag_arcsec2: FloatArray
    surface_brightness_b25_mag_arcsec2: FloatArray
    messier: tuple[str | None, ...]
    common_names: tuple[tuple[str, ...], ...]
    row: IntArray

    def __len__(self) -> int:
        """Return the number of objects."""
        return len(self.name)


@dataclass(frozen=True)
class Entries:
    """Every row of the file as it stands, duplicates and non-existent ones too: one tuple a column."""

    columns: dict[str, tuple[Any, ...]]
    kinds: dict[str, str]

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.columns["name"])


def database_path() -> Path:
    """Return where the installed package keeps the file, without importing the package."""
    spec = find_spec("pyongc")
    if spec is None or not spec.origin:
        raise _broken("The package pyongc is not installed.")
    return Path(spec.origin).parent / "ongc.db"


def _broken(what: str) -> OurFault:
    """Return the error for a catalogue that is missing or not as known."""
    return OurFault(Problem(what, suggestion="Install Sidelight again with all it needs."))


@lru_cache(maxsize=1)
def entries() -> Entries:
    """Read the whole catalogue, once."""
    path = database_path()
    try:
        connection = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)
        try:
            rows = connection.execute(f"SELECT {', '.join(COLUMNS)} FROM objects ORDER BY id").fetchall()  # noqa: S608
            kinds = dict(connection.execute("SELECT type, typedesc FROM objTypes").fetchall())
        finally:
            connection.close()
    except sqlite3.Error as error:
        raise _broken(f"The catalogue of deep-sky objects {path} cannot be read: {error}.") from error
    if len(rows) < FEWEST_ROWS:
        raise _broken(f"The catalogue of deep-sky objects {path} has {len(rows)} rows only.")
    return Entries(dict(zip(COLUMNS, zip(*rows, strict=True), strict=True)), kinds)


def printed_name(name: str) -> str:
    """Return a catalogue name as people print it: "NGC0224" becomes "NGC 224", "IC0080 NED01" "IC 80 NED01"."""
    match = re.match(r"([A-Za-z]+)(\d.*)", name)
    if not match:
        return name
    prefix, rest = match.groups()
    return f"{prefix} {rest if prefix == 'ESO' else rest.lstrip('0')}"


def _floats(column: Sequence[float | None]) -> FloatArray:
    """Return a column as numbers, NaN for what is missing."""
    return np.array(column, dtype=np.float64)


@lru_cache(maxsize=2)
def objects(with_stars: bool = False) -> ObjectTable:
    """Return every real deep-sky object (some 12,600), in the catalogue's order; read once, then kept.

    Left out: duplicates, non-existent entries, and single and double stars unless `with_stars`.
    """
    kind = np.array(entries().columns["type"])
    left_out = NOT_REAL if with_stars else NOT_REAL + STARS
    return _table(np.flatnonzero(~np.isin(kind, left_out)))


def _table(row: IntArray) -> ObjectTable:
    """Return the table of some rows of the catalogue."""
    column = entries().columns
    kind = np.array([column["type"][k] for k in row])

    def pick(name: str) -> FloatArray:
        return _floats([column[name][k] for k in row])

    major, minor, b_mag = pick("majax"), pick("minax"), pick("bmag")
    v_mag = _without_apertures(kind, pick("vmag"), b_mag)
    table = ObjectTable(
        name=tuple(printed_name(column["name"][k]) for k in row),
        kind=tuple(column["type"][k] for k in row),
        ra_deg=np.degrees(pick("ra")) % 360.0,
        dec_deg=np.degrees(pick("dec")),
        major_arcmin=major,
        minor_arcmin=minor,
        position_angle_deg=pick("pa"),
        v_mag=v_mag,
        b_mag=b_mag,
        surface_brightness_mag_arcsec2=_surface_brightness(kind, major, minor, v_mag, b_mag),
        surface_brightness_b25_mag_arcsec2=pick("sbrightn"),
        messier=tuple(messier_name(column["messier"][k]) for k in row),
        common_names=tuple(common_names(column["commonnames"][k]) for k in row),
        row=row,
    )
    for value in vars(table).values():
        if isinstance(value, np.ndarray):
            value.setflags(write=False)
    return table


def _without_apertures(kind: Any, v_mag: FloatArray, b_mag: FloatArray) -> FloatArray:  # noqa: ANN401 - text array
    """Return V with NaN where a galaxy's B contradicts it."""
    least, most = PLAUSIBLE_B_MINUS_V_MAG
    colour = b_mag - v_mag
    return np.where((kind == "G") & ((colour < least) | (colour > most)), np.nan, v_mag)


def _surface_brightness(
    kind: Any,  # noqa: ANN401 - NumPy text arrays have no short name
    major_arcmin: FloatArray,
    minor_arcmin: FloatArray,
    v_mag: FloatArray,
    b_mag: FloatArray,
) -> FloatArray:
    """Return the mean V surface brightness over the ellipse, mag/arcsec², NaN where it is not known."""
    estimated = np.where(kind == "G", b_mag - GALAXY_B_MINUS_V_MAG, np.nan)
    total = np.where(np.isnan(v_mag), estimated, v_mag)
    across = np.where(np.isnan(minor_arcmin), major_arcmin, minor_arcmin)
    area = np.pi / 4.0 * major_arcmin * across * 3600.0
    diffuse = ~np.isin(kind, MADE_OF_STARS)
    return np.where(diffuse, total + 2.5 * np.log10(area), np.nan)


def messier_name(text: str) -> str | None:
    """Return "M 31" for the file's "031", None for nothing."""
    return f"M {int(text)}" if text else None


def common_names(text: str) -> tuple[str, ...]:
    """Return the common names that the file lists, a leading "the" dropped."""
    return tuple(name.strip().removeprefix("the ") for name in text.split(",") if name.strip())


def object_at(row: int, notes: tuple[str, ...] = ()) -> DeepSkyObject:
    """Return the record of one real row of the catalogue."""
    # a table of one: the whole one takes a tenth of a second, for a handful of targets
    table = _table(np.array([row]))

    def known(values: FloatArray) -> float | None:
        return None if np.isnan(values[0]) else float(values[0])

    remarks = list(notes)
    if np.isnan(table.v_mag[0]) and known(table.surface_brightness_mag_arcsec2) is not None:
        remarks.append("The surface brightness is estimated from the blue magnitude.")
    return DeepSkyObject(
        name=table.name[0],
        kind=table.kind[0],
        kind_text=entries().kinds.get(table.kind[0], "Object of unknown type"),
        ra_deg=float(table.ra_deg[0]),
        dec_deg=float(table.dec_deg[0]),
        major_arcmin=known(table.major_arcmin),
        minor_arcmin=known(table.minor_arcmin),
        position_angle_deg=known(table.position_angle_deg),
        v_mag=known(table.v_mag),
        b_mag=known(table.b_mag),
        surface_brightness_mag_arcsec2=known(table.surface_brightness_mag_arcsec2),
        messier=table.messier[0],
        common_names=table.common_names[0],
        constellation=entries().columns["const"][row] or "",
        notes=tuple(remarks),
    )
