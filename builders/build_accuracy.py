"""Write docs/accuracy.md from a run: each model's largest and typical difference from an outside reference.

python builders/build_accuracy.py
"""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.comparisons.all import every_comparison  # noqa: E402 - the tests live beside the package
from tests.comparisons.records import Comparison  # noqa: E402

PAGE = ROOT / "docs" / "accuracy.md"
HEAD = """<!-- Made by builders/build_accuracy.py; run it instead of editing this page. -->

# How accurate it is

Each row holds a model of Sidelight against a reference from outside: a printed table, an observatory's almanac,
another library. *Largest* and *typical* (the median) are differences found in the run that wrote this page; *allowed*
is what the tests refuse to exceed (`tests/reference/test_accuracy.py`). How far the models are from a real night
(clouds, haze, a town's lamps) stands in the words of each model, not here.

| what | held against | cases | largest | typical | allowed |
| --- | --- | --: | --: | --: | --: |
"""
ROOMS = {"sky": "Sky", "season": "Season", "light": "Light", "rig": "Rig", "setup": "Set-up"}


def figure(value: float) -> str:
    """Return two significant figures, as people write them."""
    if value == 0 or 1e-3 <= abs(value) < 1e4:
        return f"{value:.2g}" if abs(value) < 100 else f"{value:.0f}"
    mantissa, exponent = f"{value:.1e}".split("e")
    return f"{mantissa} × 10^{int(exponent)}"


def row(one: Comparison) -> str:
    """Return a comparison as a row of the page."""
    what = f"{ROOMS[one.room]}: {one.model}"
    against = one.reference + (f" ({one.remark})" if one.remark else "")
    figures = (one.largest, one.typical, one.allowed)
    return f"| {what} | {against} | {one.cases} | " + " | ".join(f"{figure(v)} {one.unit}" for v in figures) + " |"


def page() -> str:
    """Return the page of this run."""
    ordered = sorted(every_comparison(), key=lambda one: list(ROOMS).index(one.room))
    return HEAD + "\n".join(row(one) for one in ordered) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
