"""A notebook that answers everything fast: two targets, five nights, a star service that nobody runs."""

import re
import shutil
from pathlib import Path

from sidelight.desk.demo import DATE, make_demo

TARGETS = ("M 81", "NGC 2903")
NIGHTS = 5
PAST_NIGHTS = b"date,clear\n" + b"".join(f"2026-{m:02d}-{d:02d},yes\n".encode() for m in (1, 6) for d in range(1, 29))
WHEN = str(DATE)


def tiny_notebook(folder: Path) -> Path:
    """Make the notebook."""
    make_demo(folder)
    listed = "\n".join(f'[[target]]\nname = "{name}"\n' for name in TARGETS)
    (folder / "targets.toml").write_text(listed, encoding="utf-8")
    change(folder / "campaign.toml", r"^planned_nights_count = \d+", f"planned_nights_count = {NIGHTS}")
    change(folder / "stars.toml", r'^url = ".*"', 'url = "http://127.0.0.1:9/cone?"')
    change(folder / "stars.toml", r"^pause_s = .*", "pause_s = 0.0")
    change(folder / "stars.toml", r"^timeout_s = .*", "timeout_s = 1.0")
    return folder


def change(path: Path, old: str, new: str) -> None:
    """Replace one line, which must be there."""
    text, count = re.subn(old, new, path.read_text(encoding="utf-8"), count=1, flags=re.MULTILINE)
    assert count == 1, (path, old)
    path.write_text(text, encoding="utf-8")


def held(folder: Path) -> dict[str, bytes]:
    """Return every file in and below a folder."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def put_back(folder: Path, files: dict[str, bytes]) -> None:
    """Give a folder exactly these files again."""
    now = held(folder) if folder.exists() else {}
    for name in now.keys() - files.keys():
        (folder / name).unlink()
    for name, data in files.items():
        if now.get(name) != data:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(data)
    if not files:
        shutil.rmtree(folder, ignore_errors=True)
