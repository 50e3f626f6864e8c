"""The stars that a notebook keeps: one file for each answer or import, written whole or not at all.

A piece is a NumPy archive of two members: `about` (JSON) and `stars` (one row a star). It is written under another
name, flushed to the disk, and only then given its own, so that a program killed at any moment leaves whole pieces
and perhaps one file ending in ".part", which counts for nothing and is swept up by the next fetch.
"""

import datetime as dt
import hashlib
import io
import json
import os
import re
import zipfile
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

import numpy as np

from sidelight.ground.errors import BadInput, Problem
from sidelight.stars.service import Cone, ConeService, StarTable, no_stars

FORMAT = 1
ENDING = ".stars.npz"
PART = ".part"
DAMAGED = (
    OSError, ValueError, KeyError, IndexError, TypeError, AttributeError, EOFError, RecursionError, OverflowError,
    RuntimeError, NotImplementedError, MemoryError, zipfile.BadZipFile, zlib.error,
)  # fmt: skip
"""What reading an archive raises whose bytes have changed; RuntimeError and NotImplementedError are zipfile's own."""
COLUMNS = [field.name for field in fields(StarTable)]


@dataclass(frozen=True)
class Piece:
    """One answer or one imported table.

    catalogue : its name for people. source : the service's address or the file's name.
    asked_mag : the faint limit of the question. covers : where the table is complete to depth_mag; empty for a table
    that came without such a promise.
    cut : a cone that the service could not answer in one go; such a piece has no stars, only the need to split.
    """

    catalogue: str
    source: str
    covers: tuple[Cone, ...]
    asked_mag: float
    depth_mag: float
    stars: StarTable
    when_utc: str = ""
    notes: tuple[str, ...] = ()
    cut: Cone | None = None


def new_piece(
    service: ConeService, cone: Cone, limit_mag: float, depth_mag: float, stars: StarTable, notes: Sequence[str]
) -> Piece:
    """Return the piece for a whole answer of a service."""
    return Piece(service.name, service.url, (cone,), limit_mag, depth_mag, stars, _now(), tuple(notes))


def cut_piece(service: ConeService, cone: Cone, limit_mag: float) -> Piece:
    """Return the note that a cone has to be split."""
    return Piece(service.name, service.url, (), limit_mag, limit_mag, no_stars(), _now(), cut=cone)


def _now() -> str:
    """Return the present instant as text."""
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def save(folder: Path, piece: Piece) -> Path:
    """Write a piece into the folder, which is made if need be; return its path. BadInput when the disk refuses."""
    about = {
        "format": FORMAT,
        "catalogue": piece.catalogue,
        "source": piece.source,
        "covers": [[cone.ra_deg, cone.dec_deg, cone.radius_deg] for cone in piece.covers],
        "asked_mag": piece.asked_mag,
        "depth_mag": piece.depth_mag,
        "when_utc": piece.when_utc,
        "notes": list(piece.notes),
        "cut": None if piece.cut is None else [piece.cut.ra_deg, piece.cut.dec_deg, piece.cut.radius_deg],
    }
    path = folder / _file_name(piece)
    rows = np.column_stack([getattr(piece.stars, name) for name in COLUMNS]).reshape(-1, len(COLUMNS))
    text = np.frombuffer(json.dumps(about).encode("utf-8"), dtype=np.uint8)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(path, {"about": text, "stars": rows})
    except OSError as error:
        message = f"The stars cannot be written: {error.strerror or error}."
        raise BadInput(Problem(message, str(folder), suggestion="Look at the disk, then repeat.")) from error
    return path


def write_whole(path: Path, arrays: dict[str, np.ndarray]) -> None:
    """Write an archive so that it is there whole or not at all."""
    part = path.with_name(f"{path.name}.{os.getpid()}{PART}")
    try:
        whole = io.BytesIO()  # an archive that a full disk cuts short complains once more when it is thrown away
        # NumPy's types would have any name be its own keyword
        np.savez(whole, **arrays)  # type: ignore[arg-type]
        with part.open("wb") as file:
            file.write(whole.getbuffer())
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError:
        part.unlink(missing_ok=True)
        raise


def _file_name(piece: Piece) -> str:
    """Return a name that tells what is inside and is the same for the same question."""
    word = re.sub(r"[^a-z0-9]+", "-", piece.catalogue.casefold()).strip("-") or "stars"
    cone = piece.cut or (piece.covers[0] if piece.covers else None)
    where = "all" if cone is None else f"{cone.ra_deg:08.4f}{cone.dec_deg:+08.4f}_{cone.radius_deg:.3f}"
    question = json.dumps([piece.source, [vars(c) for c in piece.covers], piece.asked_mag, bool(piece.cut), where])
    mark = hashlib.sha256(question.encode("utf-8")).hexdigest()[:8]
    return f"{word}_{where}_{mark}{ENDING}"


def load(path: Path) -> Piece | None:
    """Return a piece, None when the file is damaged or of another version."""
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as archive:
            about = json.loads(archive["about"].tobytes().decode("utf-8"))
            rows = np.asarray(archive["stars"], dtype=np.float64)
        if about["format"] != FORMAT or rows.ndim != 2 or rows.shape[1] != len(COLUMNS):
            return None
        return _piece(about, rows)
    except DAMAGED:
        return None


def _piece(about: dict[str, Any], rows: np.ndarray) -> Piece:
    """Return the piece that a file's two members describe."""
    return Piece(
        catalogue=str(about["catalogue"]),
        source=str(about["source"]),
        covers=tuple(Cone(*map(float, cone)) for cone in about["covers"]),
        asked_mag=float(about["asked_mag"]),
        depth_mag=float(about["depth_mag"]),
        stars=StarTable(*(np.ascontiguousarray(rows[:, k]) for k in range(len(COLUMNS)))),
        when_utc=str(about["when_utc"]),
        notes=tuple(map(str, about["notes"])),
        cut=None if about["cut"] is None else Cone(*map(float, about["cut"])),
    )


def piece_files(folder: Path) -> list[Path]:
    """Return the files of all pieces, in a fixed order."""
    return sorted(folder.glob(f"*{ENDING}")) if folder.is_dir() else []


def load_all(folder: Path) -> tuple[list[Piece], list[Path]]:
    """Return every whole piece, and the files that could not be read."""
    pieces, damaged = [], []
    for path in piece_files(folder):
        piece = load(path)
        if piece is None:
            damaged.append(path)
        else:
            pieces.append(piece)
    return pieces, damaged


def sweep(folder: Path) -> None:
    """Remove what an interrupted writer left behind."""
    for path in folder.glob(f"*{PART}") if folder.is_dir() else ():
        path.unlink(missing_ok=True)


def without_stars(piece: Piece) -> Piece:
    """Return a piece's description alone."""
    return replace(piece, stars=no_stars())


def covering(pieces: Sequence[Piece], cone: Cone, source: str, limit_mag: float) -> Piece | None:
    """Return a piece from the same source that holds the whole cone at least as deep, None if there is none."""
    for piece in pieces:
        if piece.source == source and piece.asked_mag >= limit_mag and any(one.holds(cone) for one in piece.covers):
            return piece
    return None


def was_cut(pieces: Sequence[Piece], cone: Cone, source: str, limit_mag: float) -> bool:
    """Tell whether this very cone, or one inside it asked less deep, was too much for the source before."""
    return any(
        piece.cut is not None and piece.source == source and piece.asked_mag <= limit_mag and cone.holds(piece.cut)
        for piece in pieces
    )
