"""Stars from a file: VOTable, FITS, ECSV or CSV, into the same folder as fetched ones."""

import math
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sidelight.ground.errors import BadInput, Problem
from sidelight.stars import cache
from sidelight.stars.columns import star_table
from sidelight.stars.service import ColumnMap, Cone

FORMATS = {
    ".xml": "votable",
    ".vot": "votable",
    ".votable": "votable",
    ".vo": "votable",
    ".fits": "fits",
    ".fit": "fits",
    ".fts": "fits",
    ".ecsv": "ascii.ecsv",
    ".csv": "ascii.csv",
}
EXPECTED = "a VOTable (.xml, .vot), a FITS table (.fits), ECSV (.ecsv) or CSV (.csv)"
LARGEST_BYTES = 500_000_000


@dataclass(frozen=True)
class ImportReport:
    """What an import did: the stars kept, the file they are in, and what the person should know."""

    catalogue: str
    stars: int
    path: Path
    notes: tuple[str, ...]


def import_stars(
    path: Path,
    folder: Path,
    columns: ColumnMap | None = None,
    name: str | None = None,
    epoch_year: float = 2000.0,
    covers: Sequence[Cone] = (),
    depth_mag: float | None = None,
) -> ImportReport:
    """Read a table of stars and keep it in the folder; return what was done.

    columns : which column is which, where neither UCD nor name tells. epoch_year : of the positions, likewise.
    covers, depth_mag : where the table is known to be complete, and to which magnitude; without them its stars
    are added to the others, and no place counts as deeper because of them.
    Raises BadInput for a file that cannot be read, has no stars, or lacks the columns that are needed.
    """
    if bool(covers) != (depth_mag is not None):
        message = "Where a table is complete and to which magnitude belong together."
        raise BadInput(Problem(message, suggestion="Give both, or neither."))
    if depth_mag is not None and not math.isfinite(depth_mag):
        raise BadInput(Problem("The depth is not a magnitude.", expected="a number, such as 15"))
    table = _read(path)
    stars, notes = star_table(table, columns or ColumnMap(), epoch_year)
    if not len(stars):
        raise BadInput(Problem("The table holds no star with a position and a magnitude.", file=str(path)))
    deepest = float(stars.mag.max()) if depth_mag is None else depth_mag
    piece = cache.Piece(name or path.stem, path.name, tuple(covers), deepest, deepest, stars, notes=notes)
    if not covers:
        notes += ("It is not known where this table is complete, so its stars are added and nothing is replaced.",)
    return ImportReport(piece.catalogue, len(stars), cache.save(folder, piece), notes)


def _read(path: Path) -> Any:  # noqa: ANN401 - an astropy Table
    """Return the table in a file, by its ending or by how it begins."""
    from astropy.table import Table

    if not path.is_file():
        raise BadInput(Problem("There is no such file.", file=str(path), expected=EXPECTED))
    if path.stat().st_size > LARGEST_BYTES:
        message = f"The table has more than {LARGEST_BYTES // 1_000_000:,} million bytes and would fill the memory."
        raise BadInput(Problem(message, file=str(path), suggestion="Cut it down to the stars round your targets."))
    kind = FORMATS.get(path.suffix.casefold()) or _kind_by_content(path)
    if kind is None:
        raise BadInput(Problem("This is no table of stars that can be read.", file=str(path), expected=EXPECTED))
    if kind == "fits":
        _refuse_too_many_columns(path)
    options: dict[str, Any] = {"verify": "ignore"} if kind == "votable" else {}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what matters is checked when the columns are read
        try:
            return Table.read(path, format=kind, **options)
        except Exception as error:
            message = f"The file cannot be read as {kind.removeprefix('ascii.')}: {error}"
            raise BadInput(Problem(message, file=str(path), expected=EXPECTED)) from error


def _refuse_too_many_columns(path: Path) -> None:
    """Raise BadInput for a FITS table that says it has more columns than the standard allows.

    FITS Standard 4.0, section 7.2.1: TFIELDS is at most 999. A damaged header that names more would fill the memory.
    """
    with path.open("rb") as file:
        while block := file.read(2880):
            for card in (block[at : at + 80] for at in range(0, len(block), 80)):
                figures = card[9:].split(b"/")[0].strip()
                if card.startswith(b"TFIELDS =") and figures.isdigit() and len(figures.lstrip(b"0")) > 3:
                    message = "Its header is damaged: it says that there are more than 999 columns."
                    raise BadInput(Problem(message, file=str(path), expected=EXPECTED))


def _kind_by_content(path: Path) -> str | None:
    """Return the format that the first bytes betray."""
    with path.open("rb") as file:
        start = file.read(4096)
    if start.startswith(b"SIMPLE  ="):
        return "fits"
    if b"<VOTABLE" in start.upper():
        return "votable"
    if start.startswith(b"# %ECSV"):
        return "ascii.ecsv"
    return None
