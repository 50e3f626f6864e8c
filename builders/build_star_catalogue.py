"""Build the star catalogue that ships, from Tycho-2 as Debian packages it, and check what it reads.

    python builders/build_star_catalogue.py [SOURCE] [DESTINATION]

SOURCE is the index file of the Debian package astrometry-data-tycho2-07-littleendian (its default place is the
default here). It holds a tree of unit vectors, three u32 a star, and beside it Tycho-2's VT magnitude.
Nothing is written unless every check passes.
"""

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sidelight.ground.angles import direction_deg, separation_deg
from sidelight.ground.types import FloatArray
from sidelight.stars import cells
from sidelight.stars.catalogue import EMBEDDED_FILE
from sidelight.stars.packed import FULL_CELL, pack

if TYPE_CHECKING:
    from astropy.io.fits import BinTableHDU

SOURCE = Path("/usr/share/astrometry/index-tycho2-07.littleendian.fits")
ROWS = 1_871_011
POSITIONS, SCALE, RECORD, MAGNITUDES = "kdtree_data_stars", "kdtree_range_stars", "kdtree_header_stars", "MAG_VT"


class WrongSource(Exception):
    """The file is not the one that this script knows."""


@dataclass(frozen=True)
class KnownStar:
    """A star whose place (ICRS, J2000.0) and visual magnitude were published before this file was made."""

    name: str
    ra_deg: float
    dec_deg: float
    v_mag: float
    within_arcsec: float
    source: str


MEEUS = "Meeus, Astronomical Algorithms, 2nd ed."
HIPPARCOS = "Hipparcos Catalogue (ESA 1997), from memory"
KNOWN_STARS = (
    # The brightest stars stand at their places of 1991.25, so their own motion of 8.75 years is allowed.
    KnownStar("Regulus", 152.092917, 11.967222, 1.35, 3.0, f"{MEEUS}, example 21.a"),
    KnownStar("Aldebaran", 68.98, 16.509167, 0.86, 3.0, f"{MEEUS}, exercise of chapter 17"),
    KnownStar("Antares", 247.35, -26.431944, 0.96, 7.0, f"{MEEUS}, exercise of chapter 17 (printed to 1 s)"),
    KnownStar("Rigel", 78.634467, -8.201642, 0.13, 0.2, HIPPARCOS),
    KnownStar("Deneb", 310.357979, 45.280339, 1.25, 0.2, HIPPARCOS),
    KnownStar("σ Octantis", 317.195167, -88.956500, 5.47, 0.2, HIPPARCOS),
    KnownStar("51 Pegasi", 344.366583, 20.768833, 5.45, 0.2, HIPPARCOS),
    KnownStar("HD 209458", 330.794888, 18.884319, 7.65, 0.2, HIPPARCOS),
    KnownStar("Barnard's Star", 269.452075, 4.693392, 9.51, 1.0, HIPPARCOS),
)


def read_source(path: Path) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return (right ascension, declination, VT) of every row; raises WrongSource when anything is not as known."""
    from astropy.io import fits

    with fits.open(path, memmap=True) as units:
        tables = {unit.header.get("TTYPE1", "").strip(): unit for unit in units[1:]}
        missing = {POSITIONS, SCALE, RECORD, MAGNITUDES} - set(tables)
        if missing:
            raise WrongSource(f"{path} has no table {', '.join(sorted(missing))}.")
        if units[0].header.get("NSTARS") != ROWS:
            raise WrongSource(f"{path} announces {units[0].header.get('NSTARS')} stars, not {ROWS}.")
        record = tables[RECORD].header
        sweeps = [record.get(f"SWEEP{k}") for k in range(1, FULL_CELL + 1)]
        scale = _content(path, tables[SCALE], "<f8", 1, 7)[:, 0]
        raw = _content(path, tables[POSITIONS], "<u4", 3, ROWS)
        # a standard FITS column, so big-endian, unlike the tree
        vt_mag = _content(path, tables[MAGNITUDES], ">f4", 1, ROWS)[:, 0].astype(np.float64)
    vectors = raw / scale[6] + scale[:3]
    lengths = np.linalg.norm(vectors, axis=1)
    if np.abs(lengths - 1.0).max() > 1e-8:
        raise WrongSource(f"{path} holds vectors that are not of unit length.")
    ra_deg, dec_deg = direction_deg(vectors)
    check_cells(ra_deg, dec_deg, sweeps)
    return ra_deg, dec_deg, vt_mag


def _content(path: Path, unit: "BinTableHDU", kind: str, columns: int, rows: int) -> NDArray[Any]:
    """Return the raw content of one table, shape (rows, columns), as numbers of one kind."""
    size = unit.header["NAXIS1"] * unit.header["NAXIS2"]
    if size != rows * columns * np.dtype(kind).itemsize:
        raise WrongSource(f"{path}: table {unit.header['TTYPE1']} has {size} bytes.")
    offset = unit.fileinfo()["datLoc"]
    return np.fromfile(path, dtype=kind, count=rows * columns, offset=offset).reshape(rows, columns)


def check_cells(ra_deg: FloatArray, dec_deg: FloatArray, sweeps: list[int]) -> None:
    """Hold our cells against the makers' own record: how many cells have at least 1, 2, … 10 stars.

    The source was thinned to the ten brightest stars of each cell; agreement to the last star shows that our cells
    are the same ones, and so that a cell with ten stars is known to be cut short.
    """
    counts = np.bincount(cells.ring_and_cell(ra_deg, dec_deg)[1], minlength=cells.CELLS)
    ours = [int(np.sum(counts >= k)) for k in range(1, FULL_CELL + 1)]
    if ours != sweeps or counts.max() > FULL_CELL:
        raise WrongSource(f"The stars fill the cells as {ours}, not as {sweeps}.")


def check_known_stars(ra_deg: FloatArray, dec_deg: FloatArray, vt_mag: FloatArray) -> None:
    """Find each known star within its tolerance, with VT within 0.4 mag of V (they differ by the star's colour)."""
    for star in KNOWN_STARS:
        away = separation_deg(star.ra_deg, star.dec_deg, ra_deg, dec_deg) * 3600.0
        row = int(np.argmin(away))
        if away[row] > star.within_arcsec or not -0.1 < vt_mag[row] - star.v_mag < 0.4:
            raise WrongSource(
                f"{star.name} ({star.source}): the nearest star is {away[row]:.2f}″ off and has VT {vt_mag[row]:.2f}."
            )


def without_the_empty_place(
    ra_deg: FloatArray, dec_deg: FloatArray, vt_mag: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Drop the one row at right ascension 0, declination 0.

    There is no star of second magnitude there: it is where entries without a mean position were put,
    reduced to the brightest of them when the source was made.
    """
    empty = separation_deg(0.0, 0.0, ra_deg, dec_deg) < 0.001
    if int(empty.sum()) != 1 or not 1.5 < vt_mag[empty][0] < 2.5:
        raise WrongSource("The row at right ascension 0, declination 0 is not as known.")
    return ra_deg[~empty], dec_deg[~empty], vt_mag[~empty]


def build(path: Path) -> bytes:
    """Return the content of the catalogue file made from the source."""
    ra_deg, dec_deg, vt_mag = read_source(path)
    check_known_stars(ra_deg, dec_deg, vt_mag)
    return pack(*without_the_empty_place(ra_deg, dec_deg, vt_mag))


def main() -> None:
    """Read, check, write."""
    source, destination = [*map(Path, sys.argv[1:]), *(SOURCE, EMBEDDED_FILE)[len(sys.argv) - 1 :]]
    content = build(source)
    destination.parent.mkdir(parents=True, exist_ok=True)
    part = destination.with_suffix(".part")
    part.write_bytes(content)
    part.replace(destination)
    print(f"{destination}: {len(content):,} bytes")


if __name__ == "__main__":
    main()
