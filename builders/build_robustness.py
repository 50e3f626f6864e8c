"""Write docs/robustness.md from a run: what is handed in spoilt, and what became of it; troubles; versions.

SIDELIGHT_FUZZ_CASES=2000 python builders/build_robustness.py

It ends with 1 when any case ended otherwise than used or refused; such cases are named on standard error.
"""

import ast
import runpy
import sys
import tempfile
import time
import tomllib
import warnings
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from importlib.metadata import version
from multiprocessing import get_context
from pathlib import Path
from platform import python_version

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.spoilt.all import every_spoiling  # noqa: E402 - the tests live beside the package
from tests.spoilt.records import Spoiling  # noqa: E402
from tests.strategies.spoiling import CASES  # noqa: E402

PAGE = ROOT / "docs" / "robustness.md"
TROUBLES = ("test_robustness_machine.py", "test_robustness_paths.py")
USUAL_CASES = 2000
AT_ONCE = 2
HEAD = """<!-- Made by builders/build_robustness.py; run it, do not edit this page. -->

# What it withstands

Whatever you hand in, one of two things happens: it is used, or it is refused in words that name the file or the
value, with nothing of yours changed. This page is written by a run that tries to find a third.

## Handed in spoilt

A sound file, command line or request is spoilt at random and handed in. *Used* means accepted, and that what was made
of it held together; *refused* means a sentence, exit code 1 or 2, or an answer of the page in the shape of refusals,
and every file of the notebook as it was. *Anything else* would be a traceback, a server's error, a line in its log,
a message too long to read, a terminal's command echoed raw, or a changed file. Warnings count as errors. Seconds are
those of a machine that was busy with other things.
"""
HEADINGS = {"files": "Files", "commands": "Command lines", "requests": "Requests to the page"}
TABLE = """| what | how it is spoilt | cases | used | refused | anything else | seconds |
| --- | --- | --: | --: | --: | --: | --: |
"""
TROUBLE_HEAD = """## A machine in trouble

Each line is a test that runs with all others.
"""
VERSION_HEAD = """## Versions

The lowest versions that `pyproject.toml` allows are installed as they stand there (`.ci/oldest`), and the tests pass
with them on every run, but for those in a browser and those that judge the source; the newest are what a plain
installation brings.
"""
BY_HAND = """
By hand, on 25 November 2026: Python 3.13.0 with the newest versions for it, pre-releases allowed (numpy 2.5.5, scipy
1.18.1, astropy 8.0.2, pyvo 1.9.1, fastapi 0.165.0, starlette 1.10.0, click 8.5.1); every test but those in a browser
passed, with warnings as errors. No pre-release of anything that runs was to be had that day. Not tried: Python 3.14
and later, and any system but Linux.
"""


@dataclass(frozen=True)
class Row:
    """What became of one kind of thing."""

    used: int
    refused: int
    else_: int
    seconds: float


def row_of(number: int, cases: int) -> Row:
    """Hand in one kind of thing spoilt, as often as its share says."""
    warnings.simplefilter("error")
    spoiling = every_spoiling()[number]
    count = max(1, round(cases * spoiling.share))
    found = {True: 0, False: 0, None: 0}
    began_s = time.perf_counter()
    with tempfile.TemporaryDirectory() as scratch, spoiling.ready(Path(scratch)) as attempt:
        for seed in range(count):
            try:
                found[attempt(seed)] += 1
            except Exception as error:  # noqa: BLE001 - whatever it is, it is what the page counts
                found[None] += 1
                print(f"{spoiling.what}, seed {seed}: {str(error)[:1500]}", file=sys.stderr, flush=True)
    row = Row(found[True], found[False], found[None], time.perf_counter() - began_s)
    print(f"{spoiling.what}: {row}", flush=True)
    return row


def rows_of(every: Sequence[Spoiling], cases: int) -> list[Row]:
    """Hand in everything, two kinds at a time."""
    with ProcessPoolExecutor(AT_ONCE, get_context("spawn")) as pool:
        return list(pool.map(row_of, range(len(every)), [cases] * len(every)))


def spoilt_tables(every: Sequence[Spoiling], rows: Sequence[Row]) -> str:
    """Return the tables of what was handed in spoilt."""
    parts = []
    for group, heading in HEADINGS.items():
        lines = [
            f"| {one.what} | {one.how} | {row.used + row.refused + row.else_:,} | {row.used:,} | {row.refused:,} "
            f"| {row.else_:,} | {row.seconds:.0f} |"
            for one, row in zip(every, rows, strict=True)
            if one.group == group
        ]
        parts.append(f"### {heading}\n\n{TABLE}" + "\n".join(lines))
    return "\n\n".join(parts)


def troubles() -> list[str]:
    """Return what every test of a machine in trouble says must hold."""
    said = []
    for name in TROUBLES:
        tree = ast.parse((ROOT / "tests" / "contract" / name).read_text(encoding="utf-8"))
        for one in tree.body:
            if isinstance(one, ast.FunctionDef) and one.name.startswith("test_"):
                title = one.name.removeprefix("test_").replace("_", " ").capitalize()
                said.append(f"- **{title}.** {(ast.get_docstring(one) or '').splitlines()[0]}")
    return said


def oldest_versions() -> dict[str, str]:
    """Return the lowest version of everything that runs."""
    found = runpy.run_path(str(ROOT / ".ci" / "oldest.py"))["oldest"]()
    return dict(one.split("==") for one in found)


def version_table() -> str:
    """Return the table of versions."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lowest_python = project["requires-python"].removeprefix(">=")
    lines = [f"| Python | {lowest_python} | {python_version()} |"]
    lines += [f"| {name} | {oldest} | {version(name)} |" for name, oldest in oldest_versions().items()]
    return "\n".join(["| package | oldest | in this run |", "| --- | --- | --- |", *lines])


def page(every: Sequence[Spoiling], rows: Sequence[Row]) -> str:
    """Return the whole page."""
    tried = sum(row.used + row.refused + row.else_ for row in rows)
    told = f"{tried:,} cases in this run; anything else: {sum(row.else_ for row in rows):,}."
    parts = [HEAD, told + "\n", spoilt_tables(every, rows) + "\n", TROUBLE_HEAD, "\n".join(troubles()) + "\n"]
    return "\n".join([*parts, VERSION_HEAD, version_table(), BY_HAND.rstrip("\n")]) + "\n"


def main() -> None:
    """Run everything and write the page."""
    every = every_spoiling()
    rows = rows_of(every, CASES or USUAL_CASES)
    PAGE.write_text(page(every, rows), encoding="utf-8", newline="\n")
    sys.exit(any(row.else_ for row in rows))


if __name__ == "__main__":
    main()
