"""A program killed while it adds frames or migrates loses nothing recorded and doubles nothing."""

import random
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

from tests.strategies.ledger import write_series

from sidelight.ledger.adding import add_folders
from sidelight.ledger.changes import HandHours, add_hours, all_frames, hand_hours
from sidelight.ledger.migrations import STEPS
from sidelight.ledger.store import open_ledger
from sidelight.ledger.totals import totals

COUNT = 60
KILLS = 14

ADDING = """
import sys
from sidelight.ledger.adding import add_folders
from sidelight.ledger.changes import HandHours, add_hours
from sidelight.ledger.store import open_ledger
ledger = open_ledger(sys.argv[1])
print("open", flush=True)
add_folders(ledger, [sys.argv[2]], batch=2, progress=lambda done, of: print("frames", done, flush=True))
for number in range(10**6):
    print("hours", add_hours(ledger, HandHours("M 31", "Ha", 1.0)), flush=True)
"""

MIGRATING = """
import sys
from sidelight.ledger.migrations import STEPS
from sidelight.ledger.store import open_ledger
print("open", flush=True)
step = ";".join(f"ALTER TABLE frames ADD COLUMN c{n} REAL; UPDATE frames SET c{n} = {n}" for n in range(150))
open_ledger(sys.argv[1], steps=(*STEPS, step))
print("done", flush=True)
"""


def killed(program: str, *arguments: Path, after_s: float) -> list[str]:
    """Run a program, kill it some time after it has begun, and return the lines it had written."""
    child = subprocess.Popen(
        [sys.executable, "-c", program, *map(str, arguments)], stdout=subprocess.PIPE, text=True, encoding="utf-8"
    )
    assert child.stdout is not None
    first = child.stdout.readline()
    time.sleep(after_s)
    child.kill()
    rest = child.stdout.read()
    child.stdout.close()
    child.wait()
    return [first, *rest.splitlines()]


def sound(path: Path) -> bool:
    """Tell whether a database holds together."""
    with closing(sqlite3.connect(path)) as connection:
        rows = (
            connection.execute("PRAGMA integrity_check").fetchall()
            + connection.execute("PRAGMA foreign_key_check").fetchall()
        )
    return rows == [("ok",)]


def test_killed_while_adding(tmp_path: Path) -> None:
    """After each kill the ledger is sound and holds at least what was reported; in the end, each frame once."""
    write_series(tmp_path / "lights", COUNT)
    path = tmp_path / "ledger.sqlite"
    chance = random.Random(4)
    frames_before, told_hours, most_new = 0, 0, 0
    for _ in range(KILLS):
        lines = killed(ADDING, path, tmp_path / "lights", after_s=chance.uniform(0.0, 0.12))
        told_new = sum(line.startswith("frames") for line in lines)
        told_hours += sum(line.startswith("hours") for line in lines)
        assert sound(path)
        with open_ledger(path) as ledger:
            frames_now, hours_now = len(all_frames(ledger)), len(hand_hours(ledger))
        # one batch or entry may have been finished and not yet reported
        assert 2 * told_new <= frames_now - frames_before <= 2 * told_new + 2
        assert told_hours <= hours_now <= told_hours + 1
        frames_before, told_hours = frames_now, hours_now
        most_new = max(most_new, told_new)
    assert most_new > 0
    with open_ledger(path) as ledger:
        add_folders(ledger, [tmp_path / "lights"])
        kept = all_frames(ledger)
        assert len(kept) == len({one.frame.file.path for one in kept}) == COUNT
        add_hours(ledger, HandHours("M 31", "Ha", 1.0))
        assert sum(row.by_hand_h for row in totals(ledger)) == told_hours + 1


def test_killed_while_migrating(tmp_path: Path) -> None:
    """After each kill the ledger is wholly of the old version or wholly of the new one, with every frame."""
    write_series(tmp_path / "lights", COUNT)
    path = tmp_path / "ledger.sqlite"
    with open_ledger(path) as ledger:
        add_folders(ledger, [tmp_path / "lights"])
    chance = random.Random(9)
    for _ in range(KILLS // 2):
        killed(MIGRATING, path, after_s=chance.uniform(0.0, 0.2))
        assert sound(path)
        with closing(sqlite3.connect(path)) as connection:
            version = connection.execute("PRAGMA user_version").fetchone()[0]
            columns = {row[1] for row in connection.execute("PRAGMA table_info(frames)")}
            assert connection.execute("SELECT count(*) FROM frames").fetchone()[0] == COUNT
        assert version == len(STEPS) + ("c0" in columns)
        assert ("c0" in columns) == ("c149" in columns)
    for copy in tmp_path.glob("ledger.version-*.sqlite"):
        assert sound(copy)
