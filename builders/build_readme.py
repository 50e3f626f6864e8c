"""Write what the demo prints and what the accuracy page says into README.md, and the pictures that documents show.

python builders/build_readme.py          the words and the drawings
python builders/build_readme.py --page   and the picture of the set-up page, by Chromium
"""

import os
import re
import struct
import sys
import tempfile
import time
import zlib
from pathlib import Path
from unittest.mock import patch

import numpy as np
from click.testing import CliRunner
from numpy.typing import NDArray

from sidelight.cli.main import sidelight
from sidelight.desk.demo import DATE

ROOT = Path(__file__).resolve().parents[1]
PICTURES = {
    "dial.svg": "dial.svg",
    "bench.svg": "bench.svg",
    "year-ngc-2903.svg": "year.svg",
    "night.svg": "night.svg",
}
"""The demo's pictures that the documents show, and their names there."""

PIECES = (("target    from", 7), ("Every needed ring", 9), ("part ", 4), ("from   to", 4), ("The notebook is", 6))
"""What a stranger wants to see of the demo: where each piece begins, and its number of lines."""

PROOF = ("Sun's place from the Earth's centre", "edges of windows", "ends of a star's arc")
"""Three rows of the accuracy page."""


def run_demo(folder: Path) -> str:
    """Run the demo inside a folder and return what it prints after "python3 start.py demo" in the checkout."""
    home = Path.cwd()
    os.chdir(folder)
    try:
        with patch("sidelight.cli.demo.how_it_is_called", return_value=".venv/bin/sidelight"):
            result = CliRunner().invoke(sidelight, ["demo"], terminal_width=100)
    finally:
        os.chdir(home)
    if result.exit_code:
        raise SystemExit(result.output)
    return result.stdout.lstrip()


def excerpt(printed: str) -> str:
    """Return the pieces that a stranger wants to see, with dots where lines are left out."""
    lines = printed.rstrip().split("\n")
    shown = []
    for begins, count in PIECES:
        first = next(n for n, text in enumerate(lines) if text.startswith(begins))
        shown += ["...", *lines[first : first + count]]
    return "\n".join(shown)


def proof() -> str:
    """Return three rows of the accuracy page, the first of each name."""
    page = (ROOT / "docs" / "accuracy.md").read_text(encoding="utf-8")
    rows = [[cell.strip() for cell in text.strip("| ").split(" | ")] for text in page.split("\n") if "|" in text]
    chosen = [next(row for row in rows if row[0] == name) for name in PROOF]
    lines = [f"| {what} | {by.split(' (')[0]} | {n} | {mid} | {most} |" for what, by, _, n, mid, most, _ in chosen]
    return "\n".join(
        ["| what | held against | cases | typical | largest |", "| --- | --- | --: | --: | --: |", *lines]
    )


def readme(printed: str) -> str:
    """Return the README with the excerpt and the proof in their places."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for name, inside in (("demo output", f"```\n{excerpt(printed)}\n```"), ("proof", proof())):
        block = f"<!-- {name} -->\n\n{inside}\n\n<!-- end of {name} -->"
        text = re.sub(f"<!-- {name} -->.*?<!-- end of {name} -->", lambda _, b=block: b, text, flags=re.DOTALL)
    return text


def photograph_page(notebook: Path, target: Path) -> None:
    """Take the picture of the set-up page of a notebook, as a PNG of few colours."""
    sys.path.insert(0, str(ROOT))
    from tests.browser.chrome import Chromium, Tab  # the tests' own way to a real browser
    from tests.browser.conftest import served
    from tests.browser.png import pixels

    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile, served(notebook) as address:
        browser = Chromium(Path(profile))
        tab = Tab(browser, address, 1200, 1010)
        tab.go(f"/setup?date={DATE}")
        time.sleep(2.0)  # until the needle has come to rest
        tab.eval("document.documentElement.style.overflow = 'hidden'")
        tab.eval("for (const one of document.querySelectorAll('time, [data-clock]')) one.textContent = '';")
        target.write_bytes(few_colours(pixels(tab.picture(whole=False))))
        browser.close()


def few_colours(picture: NDArray[np.uint8]) -> bytes:
    """Return a picture of shape (height, width, 3) as a PNG of its 256 most frequent colours (PNG, W3C)."""
    height, width, _ = picture.shape
    colours, which, counts = np.unique(picture.reshape(-1, 3), axis=0, return_inverse=True, return_counts=True)
    kept = colours[np.argsort(counts)[::-1][:256]]
    far = ((colours[:, None].astype(np.int32) - kept[None].astype(np.int32)) ** 2).sum(axis=2)
    rows = far.argmin(axis=1).astype(np.uint8)[which.reshape(-1)].reshape(height, width)
    lines = np.concatenate([np.zeros((height, 1), np.uint8), rows], axis=1).tobytes()

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)
    parts = ((b"IHDR", head), (b"PLTE", kept.tobytes()), (b"IDAT", zlib.compress(lines, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(*part) for part in parts)


def main() -> None:
    """Run the demo and write everything."""
    shown = ROOT / "docs" / "pictures"
    with tempfile.TemporaryDirectory() as scratch:
        printed = run_demo(Path(scratch))
        made = Path(scratch) / "sidelight-demo"
        for name, target in PICTURES.items():
            shown.mkdir(parents=True, exist_ok=True)
            (shown / target).write_bytes((made / "pictures" / name).read_bytes())
        if "--page" in sys.argv[1:]:
            photograph_page(made, shown / "page.png")
    (ROOT / "README.md").write_text(readme(printed), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
