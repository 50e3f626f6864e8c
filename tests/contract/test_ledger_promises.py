"""What the ledger promises the rooms above: frozen records, plain values, nothing heavy loaded, frames untouched."""

import dataclasses
import importlib
import json
import subprocess
import sys
from pathlib import Path

import pytest
from tests.strategies.ledger import header_of, write_series

from sidelight.ground.plain import to_plain
from sidelight.ledger.adding import add_folders
from sidelight.ledger.changes import all_frames
from sidelight.ledger.store import open_ledger
from sidelight.ledger.totals import totals
from sidelight.ledger.wcs import solution_of, solved_image

ROOM = Path(__file__).resolve().parents[2] / "src" / "sidelight" / "ledger"
MODULES = sorted(path.stem for path in ROOM.glob("*.py") if path.stem != "__init__")


@pytest.mark.parametrize("name", MODULES)
def test_records_are_frozen(name: str) -> None:
    """Every public record of the room is frozen."""
    module = importlib.import_module(f"sidelight.ledger.{name}")
    for label, kind in vars(module).items():
        if isinstance(kind, type) and dataclasses.is_dataclass(kind) and not label.startswith("_"):
            assert kind.__dataclass_params__.frozen, label


def test_nothing_heavy_is_loaded() -> None:
    """Importing the whole room loads neither astropy nor scipy nor erfa."""
    names = ", ".join(f"sidelight.ledger.{name}" for name in MODULES)
    program = f"import sys, {names}; print([name for name in ('astropy', 'scipy', 'erfa') if name in sys.modules])"
    answer = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[]"


def test_reports_are_plain(tmp_path: Path) -> None:
    """What is kept, added up and measured can be written as JSON."""
    write_series(tmp_path / "lights", 2)
    with open_ledger(tmp_path / "ledger.sqlite") as ledger:
        added = add_folders(ledger, [tmp_path / "lights"])
        for report in (added, all_frames(ledger), totals(ledger)):
            assert json.loads(json.dumps(to_plain(report))) is not None
    cards = {"CTYPE1": "RA---TAN", "CTYPE2": "DEC--TAN", "CRVAL1": 1.0, "CRVAL2": 1.0, "CRPIX1": 1.0, "CRPIX2": 1.0}
    image = solved_image(solution_of(header_of(cards | {"CDELT1": -0.001, "CDELT2": 0.001})))
    assert json.loads(json.dumps(to_plain(image)))["sound"] is True


def test_frames_are_only_read(tmp_path: Path) -> None:
    """Adding a folder changes no file in it and makes none."""
    write_series(tmp_path / "lights", 3)
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in (tmp_path / "lights").iterdir()}
    with open_ledger(tmp_path / "ledger.sqlite") as ledger:
        add_folders(ledger, [tmp_path / "lights"])
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in (tmp_path / "lights").iterdir()} == before
