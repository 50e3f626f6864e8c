"""Disturb the physics one spot at a time and see whether some test notices; writes docs/mutation.md.

    python builders/mutation_run.py FOLDER [--workers 1] [--only sky/sun.py ...] [--again survived] [--page]

FOLDER, outside the project, keeps what was found, so that a run may be interrupted and taken up again.
"""

import argparse
from pathlib import Path

from mutation.page import reasons, write_page
from mutation.runner import run
from mutation.spots import spots
from mutation.store import Store
from mutation.subjects import SOURCE, modules, test_files


def main() -> None:
    """Try the spots and write the page."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--workers", type=int, default=1)
    asked.add_argument("--patience", type=float, default=20.0, help="seconds of tests for one spot")
    asked.add_argument("--ask", nargs="*", default=[], help="only these files of tests, by parts of their names")
    asked.add_argument("--only", nargs="*", default=[])
    asked.add_argument("--again", choices=("unexplained", "survived", "all"))
    asked.add_argument("--page", action="store_true", help="write the page from what was found; try nothing")
    words = asked.parse_args()
    store = Store(words.folder.resolve())
    listed = [spot for name in modules() for spot in spots(name, (SOURCE / name).read_text(encoding="utf-8"))]
    if words.again:
        kept = reasons() if words.again == "unexplained" else []
        store.drop(words.again, [spot.key for spot in listed if any(one.fits(spot) for one in kept)])
    chosen = [spot for spot in listed if not words.only or spot.module in words.only]
    files = [path for path in test_files() if not words.ask or any(part in path.name for part in words.ask)]
    if not words.page:
        run(store, chosen, files, words.workers, words.patience)
    unexplained, stale = write_page(store, listed)
    for what, keys in (("not explained", unexplained), ("explained, but no survivor", stale)):
        print(f"{len(keys)} {what}", *keys, sep="\n  ")


if __name__ == "__main__":
    main()
