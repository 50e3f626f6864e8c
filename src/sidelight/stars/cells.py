"""Equal-area cells on the sphere in rings of constant declination, the order in which stars are stored.

The HEALPix partition in its ring scheme (Górski et al. 2005, ApJ 622, 759), any number of cells per side.
Tycho-2 as shipped was thinned by its makers on exactly these cells with 156 per side, at most ten stars in each,
so the same cells serve both to find stars and to tell how deep the catalogue goes at a place.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sidelight.ground.angles import separation_deg
from sidelight.ground.types import FloatArray, Floats, IntArray

PER_SIDE = 156
"""Cells per side of a base cell: 12 × 156² = 292,032 cells of 22.55′ × 22.55′."""
CELLS = 12 * PER_SIDE**2
RINGS = 4 * PER_SIDE - 1
CELL_RADIUS_DEG = 0.42
"""No point of a cell is farther than this from its centre (0.39 at the most, in the polar caps)."""


@dataclass(frozen=True)
class Rings:
    """The rings from north to south, one row each.

    first : number of the ring's first cell. count : cells in the ring. shift : where, in cells, the first cell
    begins: 0 or -0.5. low_dec_deg, high_dec_deg : what the cells of the ring reach; neighbours overlap.
    """

    first: IntArray
    count: IntArray
    shift: FloatArray
    low_dec_deg: FloatArray
    high_dec_deg: FloatArray
    centre_dec_deg: FloatArray


def _ring_z(ring: IntArray) -> FloatArray:
    """Return the sine of declination of ring centres; ring 0 and ring 4·side are the poles."""
    north = np.minimum(ring, 4 * PER_SIDE - ring)
    cap = 1.0 - north**2 / (3.0 * PER_SIDE**2)
    belt = (4.0 - 2.0 * north / PER_SIDE) / 3.0
    z = np.where(north < PER_SIDE, cap, belt)
    return np.where(ring <= 2 * PER_SIDE, z, -z)


@lru_cache(maxsize=1)
def rings() -> Rings:
    """Return the table of rings, made once."""
    number = np.arange(1, RINGS + 1)
    count = 4 * np.minimum(PER_SIDE, np.minimum(number, 4 * PER_SIDE - number))
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    in_belt = (number >= PER_SIDE) & (number <= 3 * PER_SIDE)
    shift = np.where(in_belt & ((number + PER_SIDE) % 2 == 1), -0.5, 0.0)
    dec = np.degrees(np.arcsin(_ring_z(np.arange(0, RINGS + 2))))
    return Rings(first, count, shift, dec[2:], dec[:-2], dec[1:-1])


def ring_and_cell(ra_deg: Floats, dec_deg: Floats) -> tuple[IntArray, IntArray]:
    """Return for each direction the row in `rings()` and the number of its cell, 0 to CELLS - 1; broadcasts."""
    ra, dec = np.broadcast_arrays(np.asarray(ra_deg, dtype=np.float64), np.asarray(dec_deg, dtype=np.float64))
    quarter = np.mod(ra, 360.0) / 90.0
    quarter = np.where(quarter >= 4.0, 0.0, quarter)
    z = np.sin(np.radians(dec))
    # 1 - |z| by the half angle, which keeps its digits at the poles
    colatitude = np.radians(90.0 - np.abs(dec))
    scaled = PER_SIDE * np.sqrt(6.0) * np.sin(colatitude / 2.0)
    part = np.mod(quarter, 1.0)
    cap_ring = (np.floor(part * scaled) + np.floor((1.0 - part) * scaled)).astype(np.int64) + 1
    cap_ring = np.minimum(cap_ring, PER_SIDE)
    up = np.floor(PER_SIDE * (0.5 + quarter - 0.75 * z)).astype(np.int64)
    down = np.floor(PER_SIDE * (0.5 + quarter + 0.75 * z)).astype(np.int64)
    belt_ring = PER_SIDE + up - down + PER_SIDE
    number = np.where(np.abs(z) > 2.0 / 3.0, np.where(z > 0, cap_ring, 4 * PER_SIDE - cap_ring), belt_ring)
    row = number - 1
    table = rings()
    count = table.count[row]
    along = np.floor(quarter * count / 4.0 - table.shift[row]).astype(np.int64) % count
    return row, table.first[row] + along


def cell_centre_deg(row: IntArray, cell: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return (right ascension, declination) of the centres of cells whose ring rows are known."""
    table = rings()
    along = cell - table.first[row]
    ra = (along + table.shift[row] + 0.5) * 360.0 / table.count[row]
    return np.mod(ra, 360.0), table.centre_dec_deg[row]


def cells_near(ra_deg: float, dec_deg: float, radius_deg: float) -> tuple[IntArray, IntArray]:
    """Return the numbers and ring rows of all cells that may touch a cone."""
    table = rings()
    low, high = dec_deg - radius_deg, dec_deg + radius_deg
    # the rings run from north to south, so both limits fall steadily along the table
    top = int(np.searchsorted(-table.low_dec_deg, -high, side="left"))
    bottom = int(np.searchsorted(-table.high_dec_deg, -low, side="right"))
    rows = np.arange(top, bottom)
    count = table.count[rows]
    if high >= 90.0 or low <= -90.0 or radius_deg >= 90.0:
        start: IntArray = np.zeros(len(rows), dtype=np.int64)
        width = count
    else:
        half = np.degrees(np.arcsin(np.sin(np.radians(radius_deg)) / np.cos(np.radians(dec_deg))))
        edges = np.array([[ra_deg - half], [ra_deg + half]]) % 360.0
        edges[1] += np.where(edges[1] < edges[0], 360.0, 0.0)
        start, last = np.floor(edges * count / 360.0 - table.shift[rows]).astype(np.int64)
        width = np.minimum(last - start + 1, count)
    along: IntArray = np.repeat(start - (np.cumsum(width) - width), width) + np.arange(width.sum())
    row: IntArray = np.repeat(rows, width)
    near: IntArray = table.first[row] + along % table.count[row]
    centre_ra, centre_dec = cell_centre_deg(row, near)
    touching = separation_deg(ra_deg, dec_deg, centre_ra, centre_dec) <= radius_deg + CELL_RADIUS_DEG
    return near[touching], row[touching]
