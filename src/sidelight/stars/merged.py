"""Several catalogues as one: the deeper one wins where it covers, and every answer says what it rests on."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from sidelight.ground.angles import separation_deg
from sidelight.ground.types import BoolArray, FloatArray, Floats, IntArray
from sidelight.stars import cache, cells
from sidelight.stars.catalogue import embedded
from sidelight.stars.cone import Catalogue, Stars, check_cone
from sidelight.stars.doubts import near_any
from sidelight.stars.motion import J2000_YEAR, places_at, year_of
from sidelight.stars.service import Cone, StarTable, no_stars, together
from sidelight.stars.sphere import place_from

MATCH_ARCSEC = 3.0
"""Two entries nearer than this are one star: more than Tycho-2's errors and its blends of close pairs."""
MERGED_FILE = "merged.npz"
RING_STEPS = 12
MANY_CELLS = 1000


@dataclass(frozen=True)
class Merged:
    """The stars that stand in for, or beside, the base catalogue, and where they do.

    stars : one entry a star. origin : index into `names`. covers : cones (k, 3) in degrees. depth_mag : (k,).
    cover_origin : index into `names` of the catalogue that covers each cone.
    """

    stars: StarTable
    origin: IntArray
    names: tuple[str, ...]
    covers: FloatArray
    depth_mag: FloatArray
    cover_origin: IntArray


def merge(pieces: Sequence[cache.Piece], base: Catalogue, match_arcsec: float = MATCH_ARCSEC) -> Merged:
    """Return one list of stars from all pieces and, where they cover, the base catalogue.

    The deepest piece counts first. A star of a shallower one is dropped when a deeper one has it within the match
    radius at J2000.0, and kept otherwise: no catalogue holds every bright star. Pieces that cover nothing add stars
    that neither the others nor the base have.
    """
    useful = [piece for piece in pieces if len(piece.stars) or piece.covers]
    promising = sorted((p for p in useful if p.covers), key=lambda p: (-p.depth_mag, -p.covers[0].radius_deg))
    names = tuple(dict.fromkeys([base.name, *(piece.catalogue for piece in useful)]))
    collected = _Collected(match_arcsec)
    for piece in promising:
        collected.add(piece.stars, names.index(piece.catalogue))
    covers = [(cone, piece) for piece in promising for cone in piece.covers]
    for cone in dict.fromkeys(cone for cone, _ in covers):
        collected.add(_as_table(base.cone(cone.ra_deg, cone.dec_deg, cone.radius_deg)), 0)
    for piece in useful:
        if not piece.covers:
            collected.add(_not_in(piece.stars, base, match_arcsec), names.index(piece.catalogue))
    stars, origin = collected.result()
    return Merged(
        stars,
        origin,
        names,
        np.array([[c.ra_deg, c.dec_deg, c.radius_deg] for c, _ in covers]).reshape(-1, 3),
        np.array([piece.depth_mag for _, piece in covers], dtype=np.float64),
        np.array([names.index(piece.catalogue) for _, piece in covers], dtype=np.int64),
    )


def _as_table(stars: Stars) -> StarTable:
    """Return stars of a plain catalogue, which know no motion, as a table for J2000.0."""
    nothing = np.zeros(len(stars))
    return StarTable(stars.ra_deg, stars.dec_deg, stars.mag, nothing, nothing, np.full(len(stars), J2000_YEAR))


def _not_in(stars: StarTable, base: Catalogue, match_arcsec: float) -> StarTable:
    """Return the stars that the base catalogue lacks."""
    ra, dec = places_at(stars, J2000_YEAR)
    row, cell = cells.ring_and_cell(ra, dec)
    within_deg = match_arcsec / 3600.0
    some = np.unique(cell, return_index=True)[1]
    if len(some) > MANY_CELLS:
        around = base.cone(0.0, 0.0, 180.0)
        return stars.pick(~near_any(ra, dec, around.ra_deg, around.dec_deg, within_deg))
    keep = np.ones(len(stars), dtype=bool)
    for first in some:
        here = cell == cell[first]
        centre_ra, centre_dec = cells.cell_centre_deg(row[first], cell[first])
        around = base.cone(float(centre_ra), float(centre_dec), cells.CELL_RADIUS_DEG + within_deg)
        keep[here] = ~near_any(ra[here], dec[here], around.ra_deg, around.dec_deg, within_deg)
    return stars.pick(keep)


class _Collected:
    """Tables put together, later ones without the stars that are there already."""

    def __init__(self, match_arcsec: float) -> None:
        self.match_deg = match_arcsec / 3600.0
        self.tables: list[StarTable] = []
        self.places: list[tuple[FloatArray, FloatArray]] = []
        self.boxes: list[Cone] = []
        self.origins: list[IntArray] = []

    def add(self, stars: StarTable, origin: int) -> None:
        """Add the stars that have no match yet."""
        if not len(stars):
            return
        ra, dec = places_at(stars, J2000_YEAR)
        box = _box(ra, dec)
        keep = np.ones(len(stars), dtype=bool)
        for other, (other_ra, other_dec) in zip(self.boxes, self.places, strict=True):
            away = float(separation_deg(box.ra_deg, box.dec_deg, other.ra_deg, other.dec_deg))
            if away <= box.radius_deg + other.radius_deg + self.match_deg:
                keep &= ~near_any(ra, dec, other_ra, other_dec, self.match_deg)
        if np.any(keep):
            self.tables.append(stars.pick(keep))
            self.places.append((ra[keep], dec[keep]))
            self.boxes.append(box)
            self.origins.append(np.full(int(keep.sum()), origin, dtype=np.int64))

    def result(self) -> tuple[StarTable, IntArray]:
        """Return all stars and where each comes from."""
        if not self.tables:
            return no_stars(), np.empty(0, dtype=np.int64)
        return together(self.tables), np.concatenate(self.origins)


def _box(ra_deg: FloatArray, dec_deg: FloatArray) -> Cone:
    """Return a cone that holds all places, not the smallest one."""
    ra, dec = float(ra_deg[0]), float(dec_deg[0])
    return Cone(ra, dec, float(separation_deg(ra, dec, ra_deg, dec_deg).max()))


class MergedCatalogue:
    """The merged stars at one date, over the base catalogue everywhere else."""

    def __init__(self, merged: Merged, base: Catalogue, year: float) -> None:
        self._base, self._merged = base, merged
        ra, dec = places_at(merged.stars, year)
        cell = cells.ring_and_cell(ra, dec)[1] if len(ra) else np.empty(0, dtype=np.int64)
        order = np.lexsort((merged.stars.mag, cell))
        self._cell, self._ra, self._dec = cell[order], ra[order], dec[order]
        self._mag, self._origin = merged.stars.mag[order], merged.origin[order]

    @property
    def name(self) -> str:
        """All catalogues, the deepest first."""
        return ", ".join([*self._merged.names[1:], self._base.name])

    @property
    def depth_mag(self) -> float:
        """The depth of the base catalogue: what holds everywhere."""
        return self._base.depth_mag

    def cone(self, ra_deg: float, dec_deg: float, radius_deg: float, faint_mag: float | None = None) -> Stars:
        """Return the stars in a cone at the catalogue's date, brightest first, each with its origin."""
        check_cone(ra_deg, dec_deg, radius_deg)
        near = self._covers_near(ra_deg, dec_deg, radius_deg)
        plain = self._base.cone(ra_deg, dec_deg, radius_deg, faint_mag)
        left = ~self._covered(plain.ra_deg, plain.dec_deg, near)
        rows = self._rows(ra_deg, dec_deg, radius_deg, faint_mag)
        mag = np.concatenate([plain.mag[left], self._mag[rows]])
        order = np.argsort(mag, kind="stable")
        origin = np.concatenate([np.zeros(int(left.sum()), dtype=np.int64), self._origin[rows]])[order]
        depths = self._depths_in(ra_deg, dec_deg, radius_deg, near, plain)
        return Stars(
            np.concatenate([plain.ra_deg[left], self._ra[rows]])[order],
            np.concatenate([plain.dec_deg[left], self._dec[rows]])[order],
            mag[order],
            self._says(ra_deg, dec_deg, radius_deg, near, origin),
            float(depths.min()),
            float(np.median(depths)),
            self._merged.names,
            origin,
        )

    def depth_at(self, ra_deg: Floats, dec_deg: Floats) -> FloatArray:
        """Return the magnitude to which the catalogues are complete at each place; broadcasts."""
        ra, dec = np.broadcast_arrays(np.asarray(ra_deg, dtype=np.float64), np.asarray(dec_deg, dtype=np.float64))
        depth = np.array(self._base.depth_at(ra, dec), dtype=np.float64)
        for (cover_ra, cover_dec, radius), deep in zip(self._merged.covers, self._merged.depth_mag, strict=True):
            inside = separation_deg(cover_ra, cover_dec, ra, dec) <= radius
            depth = np.where(inside, np.maximum(depth, deep), depth)
        return depth

    def covered(self, ra_deg: Floats, dec_deg: Floats) -> BoolArray:
        """Tell for each place whether a deeper catalogue covers it; broadcasts."""
        ra, dec = np.broadcast_arrays(np.asarray(ra_deg, dtype=np.float64), np.asarray(dec_deg, dtype=np.float64))
        return self._covered(ra, dec, np.arange(len(self._merged.covers)))

    def _covers_near(self, ra_deg: float, dec_deg: float, radius_deg: float) -> IntArray:
        """Return the numbers of the covers that touch a cone."""
        cover = self._merged.covers
        away = separation_deg(ra_deg, dec_deg, cover[:, 0], cover[:, 1])
        return np.flatnonzero(away <= radius_deg + cover[:, 2])

    def _covered(self, ra_deg: FloatArray, dec_deg: FloatArray, which: IntArray) -> BoolArray:
        """Tell for each place whether one of some covers holds it."""
        inside = np.zeros(np.shape(ra_deg), dtype=bool)
        for cover_ra, cover_dec, radius in self._merged.covers[which]:
            inside |= separation_deg(cover_ra, cover_dec, ra_deg, dec_deg) <= radius
        return inside

    def _rows(self, ra_deg: float, dec_deg: float, radius_deg: float, faint_mag: float | None) -> IntArray:
        """Return the rows of the merged stars in a cone."""
        near, _ = cells.cells_near(ra_deg, dec_deg, radius_deg)
        first = np.searchsorted(self._cell, near, side="left")
        count = np.searchsorted(self._cell, near, side="right") - first
        rows = np.repeat(first - (np.cumsum(count) - count), count) + np.arange(count.sum())
        keep = separation_deg(ra_deg, dec_deg, self._ra[rows], self._dec[rows]) <= radius_deg
        if faint_mag is not None:
            keep &= self._mag[rows] <= faint_mag
        return np.asarray(rows[keep])

    def _depths_in(
        self, ra_deg: float, dec_deg: float, radius_deg: float, near: IntArray, plain: Stars
    ) -> FloatArray:
        """Return the depth at places all over a cone; exact when one cover holds it whole or none touches it."""
        if not len(near):
            typical = plain.depth_mag if plain.typical_depth_mag is None else plain.typical_depth_mag
            return np.array([plain.depth_mag, typical, max(typical, self._base.depth_mag)])
        cone = Cone(ra_deg, dec_deg, radius_deg)
        whole = [self._merged.depth_mag[k] for k in near if Cone(*self._merged.covers[k]).holds(cone)]
        if whole:
            return np.array([max(*whole, plain.depth_mag)])
        return self.depth_at(*_spread(cone))

    def _says(self, ra_deg: float, dec_deg: float, radius_deg: float, near: IntArray, origin: IntArray) -> str:
        """Return what the answer rests on, for people."""
        if not len(near) and not np.any(origin):
            return self._base.name
        deep = {self._merged.names[self._merged.cover_origin[k]]: self._merged.depth_mag[k] for k in near[::-1]}
        parts = [f"{name} to {depth:g} mag" for name, depth in deep.items()]
        cone = Cone(ra_deg, dec_deg, radius_deg)
        if (
            not any(Cone(*self._merged.covers[k]).holds(cone) for k in near)
            and not self.covered(*_spread(cone)).all()
        ):
            parts.append(f"elsewhere {self._base.name}")
        parts += [self._merged.names[k] for k in np.unique(origin) if k and self._merged.names[k] not in deep]
        return ", ".join(parts)


def _spread(cone: Cone) -> tuple[FloatArray, FloatArray]:
    """Return places all over a cone: its centre and rings of them, the edge included."""
    away = cone.radius_deg * np.linspace(0.0, 1.0, 6)[:, None]
    ra, dec = place_from(cone.ra_deg, cone.dec_deg, away, np.arange(0.0, 360.0, 360.0 / RING_STEPS))
    return ra.ravel(), dec.ravel()


def catalogue_for(folder: Path | None, at_mjd: float | None = None, match_arcsec: float = MATCH_ARCSEC) -> Catalogue:
    """Return the stars that a notebook has: its own deeper ones over the shipped catalogue.

    folder : the notebook's folder `stars`, or None. at_mjd : the date to which proper motion is applied, J2000.0
    when None. match_arcsec : two entries nearer than this are one star.
    Without any deeper stars this is the shipped catalogue itself. Kept until a file changes.
    """
    files = [] if folder is None else cache.piece_files(folder)
    if folder is None or not files:
        return embedded()
    year = J2000_YEAR if at_mjd is None else round(year_of(at_mjd), 1)
    return _catalogue(folder, _fingerprint(files, match_arcsec), match_arcsec, year)


def _fingerprint(files: Sequence[Path], match_arcsec: float) -> str:
    """Return a text that changes when any file does, or the rule by which they are merged."""
    digest = hashlib.sha256(f"{cache.FORMAT} {match_arcsec}".encode())
    for path in files:
        status = path.stat()
        digest.update(f"{path.name} {status.st_size} {status.st_mtime_ns}\n".encode())
    return digest.hexdigest()


@lru_cache(maxsize=4)
def _catalogue(folder: Path, fingerprint: str, match_arcsec: float, year: float) -> Catalogue:
    """Return the merged catalogue of a folder in one state."""
    merged = _load_merged(folder, fingerprint)
    if merged is None:
        merged = merge(cache.load_all(folder)[0], embedded(), match_arcsec)
        _keep_merged(folder, fingerprint, merged)
    return MergedCatalogue(merged, embedded(), year)


def _load_merged(folder: Path, fingerprint: str) -> Merged | None:
    """Return the merged stars as they were kept, None when they are not those of these files."""
    path = folder / MERGED_FILE
    if not path.exists():
        return None
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as kept:
            if str(kept["fingerprint"]) != fingerprint:
                return None
            rows = kept["stars"]
            table = StarTable(*(np.ascontiguousarray(rows[:, k]) for k in range(rows.shape[1])))
            names = tuple(str(name) for name in kept["names"])
            return Merged(table, kept["origin"], names, kept["covers"], kept["depth_mag"], kept["cover_origin"])
    except cache.DAMAGED:
        return None


def _keep_merged(folder: Path, fingerprint: str, merged: Merged) -> None:
    """Keep the merged stars, so that the next start is quick; a folder that cannot be written to is no harm."""
    rows = np.column_stack([getattr(merged.stars, name) for name in cache.COLUMNS]).reshape(-1, len(cache.COLUMNS))
    arrays = {
        "fingerprint": np.array(fingerprint),
        "stars": rows,
        "origin": merged.origin,
        "names": np.array(merged.names),
        "covers": merged.covers,
        "depth_mag": merged.depth_mag,
        "cover_origin": merged.cover_origin,
    }
    try:
        cache.write_whole(folder / MERGED_FILE, arrays)
    except OSError:
        return
