"""The shipped star catalogue: a compact file ordered by cells of the sky, read through a memory map.

The file, little-endian throughout:

    64 bytes     magic "SIDESTAR", format version u32, cells per side u32, stars u32, zero u32, SHA-256 of the rest,
                 zeros
    u8  [cells]  stars in each cell
    u16 [stars]  right ascension as a fraction of the cell's width, in units of 1/65536
    u16 [stars]  declination as a fraction of the ring's height, alike
    u16 [stars]  magnitude in thousandths

Stars stand in the order of their cells, and inside a cell from bright to faint. A position is off by 0.027″ at the
most, less than half of Tycho-2's own median error of 0.06″ (Høg et al. 2000).
"""

import hashlib
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelight.ground.angles import separation_deg, wrap_360
from sidelight.ground.errors import OurFault, Problem
from sidelight.ground.types import FloatArray, Floats, IntArray
from sidelight.stars import cells
from sidelight.stars.cone import Stars, check_cone

MAGIC = b"SIDESTAR"
VERSION = 1
HEADER = struct.Struct("<8sIIII32s8x")
STEPS = 65536
COMPLETE_TO_MAG = 11.5
"""Where Tycho-2 holds 90 % of all stars (its own notes, V about 11.5)."""
FULL_CELL = 10
"""The makers of the source file kept the ten brightest stars of each cell; only there is it cut short."""
NAME = "Tycho-2 (VT)"

U8 = NDArray[np.uint8]
U16 = NDArray[np.uint16]


def pack(ra_deg: FloatArray, dec_deg: FloatArray, mag: FloatArray) -> bytes:
    """Return the whole file for these stars: arrays (n,), magnitudes 0 to 65.5, at most 255 stars a cell."""
    row, cell = cells.ring_and_cell(ra_deg, dec_deg)
    thousandths = np.rint(np.asarray(mag, dtype=np.float64) * 1000.0)
    if np.any((thousandths < 0) | (thousandths >= STEPS)):
        raise ValueError("A magnitude does not fit the format.")
    counts = np.bincount(cell, minlength=cells.CELLS)
    if counts.max(initial=0) > 255:
        raise ValueError("A cell holds more stars than the format can count.")
    order = np.lexsort((ra_deg, dec_deg, thousandths, cell))
    across, up = _fractions(ra_deg, dec_deg, row, cell)
    columns = [
        counts.astype("u1"),
        across[order].astype("<u2"),
        up[order].astype("<u2"),
        thousandths[order].astype("<u2"),
    ]
    body = b"".join(column.tobytes() for column in columns)
    digest = hashlib.sha256(body).digest()
    return HEADER.pack(MAGIC, VERSION, cells.PER_SIDE, len(order), 0, digest) + body


def _fractions(
    ra_deg: FloatArray, dec_deg: FloatArray, row: IntArray, cell: IntArray
) -> tuple[FloatArray, FloatArray]:
    """Return where in its cell each star stands, across and up, in whole steps."""
    table = cells.rings()
    along = np.mod(ra_deg, 360.0) * table.count[row] / 360.0 - table.shift[row] - (cell - table.first[row])
    # the last half cell of a shifted ring is the first cell, seen from the other side of RA 0
    along = np.where(along >= 1.0, along - table.count[row], along)
    height = table.high_dec_deg[row] - table.low_dec_deg[row]
    up = (dec_deg - table.low_dec_deg[row]) / height
    return tuple(np.clip(np.floor(part * STEPS), 0, STEPS - 1) for part in (along, up))  # type: ignore[return-value]


def _damaged(path: Path, why: str) -> OurFault:
    """Return the error for a file that is not what was shipped."""
    again = "Install Sidelight again, or build the file with builders/build_star_catalogue.py."
    return OurFault(Problem(f"The star catalogue is damaged: {why}.", file=str(path), suggestion=again))


@dataclass(frozen=True)
class PackedCatalogue:
    """A catalogue in the packed format, memory-mapped; opening reads the counts only."""

    path: Path
    name: str
    depth_mag: float
    counts: U8
    offsets: IntArray
    across: U16
    up: U16
    thousandths: U16

    @classmethod
    def open(cls, path: Path, name: str = NAME, complete_to_mag: float = COMPLETE_TO_MAG) -> "PackedCatalogue":
        """Open a file; raises OurFault when it is missing, of another version, or of the wrong length."""
        try:
            raw = np.memmap(path, dtype=np.uint8, mode="r")
        except (OSError, ValueError) as error:
            raise _damaged(path, f"it cannot be opened ({error})") from error
        if len(raw) < HEADER.size:
            raise _damaged(path, "it has no header")
        magic, version, side, stars, _, _ = HEADER.unpack(raw[: HEADER.size].tobytes())
        if (magic, version, side) != (MAGIC, VERSION, cells.PER_SIDE):
            raise _damaged(path, "it is of another format or version")
        if len(raw) != HEADER.size + cells.CELLS + 6 * stars:
            raise _damaged(path, f"{len(raw)} bytes do not hold {stars} stars")
        counts = raw[HEADER.size : HEADER.size + cells.CELLS]
        offsets = np.concatenate([[0], np.cumsum(counts, dtype=np.int64)])
        if offsets[-1] != stars:
            raise _damaged(path, f"its cells add up to {offsets[-1]} stars, not {stars}")
        start = HEADER.size + cells.CELLS
        # a plain view of the mapped bytes: slicing a memmap object itself costs more than the look-up
        body: Any = np.asarray(raw)[start:].view("<u2")
        across, up, thousandths = (body[k * stars : (k + 1) * stars] for k in range(3))
        return cls(path, name, complete_to_mag, np.asarray(counts), offsets, across, up, thousandths)

    def __len__(self) -> int:
        """Return the number of stars."""
        return len(self.thousandths)

    def verify(self) -> None:
        """Read the whole file and raise OurFault when its checksum is wrong."""
        content = self.path.read_bytes()
        if hashlib.sha256(content[HEADER.size :]).digest() != HEADER.unpack(content[: HEADER.size])[5]:
            raise _damaged(self.path, "its checksum is wrong")

    def cone(self, ra_deg: float, dec_deg: float, radius_deg: float, faint_mag: float | None = None) -> Stars:
        """Return the stars in a cone, brightest first; exact by great-circle separation, edge included.

        Complete to `depth_mag` except in cells that the makers of the file filled to their ten brightest stars
        (30 % of the sky, the Milky Way above all); there to the tenth star. Some of the very brightest stars and
        many double stars and fast ones are not in the source at all.
        """
        check_cone(ra_deg, dec_deg, radius_deg)
        near, row = cells.cells_near(ra_deg, dec_deg, radius_deg)
        count = self.counts[near].astype(np.int64)
        first = self.offsets[near]
        index = np.repeat(first - (np.cumsum(count) - count), count) + np.arange(count.sum())
        ra, dec = self._positions(index, np.repeat(near, count), np.repeat(row, count))
        mag = self.thousandths[index] / 1000.0
        keep = separation_deg(ra_deg, dec_deg, ra, dec) <= radius_deg
        if faint_mag is not None:
            keep &= mag <= faint_mag
        ra, dec, mag = ra[keep], dec[keep], mag[keep]
        order = np.argsort(mag, kind="stable")
        depths = self._cell_depths(near)
        return Stars(
            ra[order],
            dec[order],
            mag[order],
            self.name,
            float(depths.min(initial=self.depth_mag)),
            float(np.median(depths)) if len(depths) else self.depth_mag,
        )

    def depth_at(self, ra_deg: Floats, dec_deg: Floats) -> FloatArray:
        """Return the magnitude to which the catalogue is complete in the cell at each place; broadcasts."""
        _, cell = cells.ring_and_cell(ra_deg, dec_deg)
        return self._cell_depths(cell)

    def _cell_depths(self, cell: IntArray) -> FloatArray:
        """Return the depth of cells: nominal, or the tenth star's magnitude where that is brighter."""
        count = self.counts[cell]
        last = np.maximum(self.offsets[np.asarray(cell) + 1] - 1, 0)
        tenth = self.thousandths[last] / 1000.0 if len(self) else np.full(np.shape(cell), np.inf)
        return np.where(count >= FULL_CELL, np.minimum(tenth, self.depth_mag), self.depth_mag)

    def _positions(self, index: IntArray, cell: IntArray, row: IntArray) -> tuple[FloatArray, FloatArray]:
        """Return the right ascension and declination of stars whose cells are known."""
        table = cells.rings()
        along = (cell - table.first[row]) + table.shift[row] + (self.across[index] + 0.5) / STEPS
        low = table.low_dec_deg[row]
        dec = low + (self.up[index] + 0.5) / STEPS * (table.high_dec_deg[row] - low)
        return wrap_360(along * 360.0 / table.count[row]), dec
