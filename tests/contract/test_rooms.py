"""The rooms of ARCHITECTURE.md and who may import whom, held against every import in the source."""

import ast
from pathlib import Path
from types import ModuleType

import pytest
from tests.contract.test_reference_pages import builder

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "sidelight"


def drawn() -> ModuleType:
    """Return the builder of the drawing, which reads the table."""
    return builder("build_rooms_drawing")


def room_table() -> dict[str, set[str]]:
    """Read the table under "Rooms" in ARCHITECTURE.md: room -> rooms it imports."""
    found: dict[str, tuple[int, set[str]]] = drawn().room_table()
    return {room: imports for room, (_, imports) in found.items()}


def imported_rooms(path: Path) -> list[tuple[int, str]]:
    """Return (line, room) of each import of a room in one file, those inside functions too."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            found.append((node.lineno, "a relative import"))
        for name in names:
            parts = name.split(".")
            if parts[0] == "sidelight" and len(parts) > 1 and (SOURCE / parts[1]).is_dir():
                found.append((node.lineno, parts[1]))
    return found


def test_the_table_names_every_room() -> None:
    """Each package under src/sidelight stands in the table, and the table names no other."""
    packages = {path.parent.name for path in SOURCE.glob("*/__init__.py")}
    assert packages == set(room_table())


def test_no_import_against_the_table() -> None:
    """No file imports a room that its own room's row does not name."""
    table = room_table()
    forbidden = [
        f"{path.relative_to(ROOT)}:{line}: {room} may not import {other}"
        for room, may in table.items()
        for path in sorted((SOURCE / room).rglob("*.py"))
        for line, other in imported_rooms(path)
        if other not in may | {room}
    ]
    assert not forbidden, "\n".join(forbidden)


def test_the_table_promises_nothing_unused() -> None:
    """A room's row names a room only if some file of it imports that room."""
    unused = {
        room: may - {other for path in (SOURCE / room).rglob("*.py") for _, other in imported_rooms(path)}
        for room, may in room_table().items()
    }
    assert not {room: names for room, names in unused.items() if names}


def test_levels_follow_from_the_table() -> None:
    """Every room stands above all that it imports."""
    table = drawn().room_table()
    assert all(level > table[other][0] for level, imports in table.values() for other in imports)


def test_the_drawing_is_the_tables() -> None:
    """The drawing is current, names every room, and its arrows lead to all that the table names and nowhere else."""
    made = drawn()
    svg = made.drawing()
    assert made.DRAWING.read_text(encoding="utf-8") == svg
    table = room_table()
    assert all(f">{room}</text>" in svg for room in table)
    pairs = made.arrows(made.room_table())
    assert svg.count('stroke-width="1.4"') == len(pairs)
    assert all(other in table[room] for room, other in pairs)
    reached: dict[str, set[str]] = {}
    for room in table:
        to = {other for one, other in pairs if one == room}
        reached[room] = to.union(*(reached[other] for other in to))
    assert all(imports <= reached[room] for room, imports in table.items())


def test_the_table_has_no_cycle() -> None:
    """Every room imports rooms that come before it only."""
    table = room_table()
    seen: set[str] = set()
    for room, may in table.items():
        assert may <= seen | {room}, f"{room} may import {may - seen}, which come later in the table"
        seen.add(room)


@pytest.mark.parametrize("line", ["import sidelight.web.app", "def f():\n    from sidelight.web import app"])
def test_the_reader_of_imports_sees(tmp_path: Path, line: str) -> None:
    """The reader that the other tests trust finds imports at the top and inside functions."""
    path = tmp_path / "sample.py"
    path.write_text(line, encoding="utf-8")
    assert [room for _, room in imported_rooms(path)] == ["web"]
