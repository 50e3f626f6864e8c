"""Names that stand in a notebook, found quickly and without complaint: what a shell offers on the tab key."""

import tomllib
from pathlib import Path


def target_names(folder: Path) -> tuple[str, ...]:
    """Return the names of the targets on the list, in its order; none when the file cannot be read."""
    return _names(folder / "targets.toml", "target")


def setup_names(folder: Path) -> tuple[str, ...]:
    """Return the names of the kept set-ups; none when the file cannot be read."""
    return _names(folder / "setups.toml", "setup")


def _names(path: Path, table: str) -> tuple[str, ...]:
    """Return the name of each row of a table that repeats."""
    try:
        rows = tomllib.loads(path.read_text(encoding="utf-8-sig")).get(table, [])
        return tuple(row["name"] for row in rows if isinstance(row, dict) and isinstance(row.get("name"), str))
    except (OSError, ValueError, TypeError, RecursionError):
        return ()
