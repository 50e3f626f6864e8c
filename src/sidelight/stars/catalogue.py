"""The catalogue that ships."""

from functools import lru_cache
from pathlib import Path

from sidelight.stars.cone import Catalogue
from sidelight.stars.packed import PackedCatalogue

EMBEDDED_FILE = Path(__file__).parent / "data" / "tycho2.bin"


@lru_cache(maxsize=1)
def embedded() -> Catalogue:
    """Return the catalogue that ships: Tycho-2, opened once, memory-mapped."""
    return PackedCatalogue.open(EMBEDDED_FILE)
