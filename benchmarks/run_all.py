"""Run every benchmark and write docs/speed.md and its picture: what was measured, on which machine, how busy it was.

python benchmarks/run_all.py            all of them, some minutes
python benchmarks/run_all.py FOLDER     keep what each finds in a folder, and take what is there already from it
"""

import argparse
import json
import os
import platform
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from importlib.metadata import version
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from benchmarks.growth_picture import draw_growth  # noqa: E402 - the benchmarks live beside the package
from benchmarks.measure import (  # noqa: E402
    Figure,
    Point,
    Ran,
    Record,
    Table,
    Words,
    clock,
    exponent,
    memory,
    ratio,
    read,
    series,
)

PAGE = HERE.parent / "docs" / "speed.md"
PICTURE = HERE.parent / "docs" / "pictures" / "speed-growth.svg"
LONGEST_S = 900
BUSY_LOAD = 2.5
NO_BREAK = "\N{NO-BREAK SPACE}"
SECTIONS = {
    "startup": "Start-up",
    "page": "The page",
    "season": "The season",
    "darkness": "Darkness and Moon",
    "light": "What an hour is worth",
    "stars": "Stars and objects",
    "deeper_stars": "Deeper stars",
    "setup": "The set-up",
    "campaign": "The campaign",
    "ledger": "The ledger",
}
"""Every benchmark by its file's name, and its heading on the page, in this order."""
Found = Mapping[str, Sequence[Record]]
HEAD = """<!-- Made by benchmarks/run_all.py; run it, do not edit this page. -->

# Speed

Every figure stands beside the plain way of doing the same in the same run, where there is one: what one writes in an
afternoon with a general-purpose library. Ratios travel between machines better than seconds. Where the plain way
would take hours, a sample was done and scaled, as the tables say. Times are the process's processor time; whole
processes and pages are on the clock too. Nothing here passes or fails; the tests hold no timing.
"""
RATIO = """\
*Ratio* says how many times as long the plain way takes. *Peak memory* is that of the whole process while ours
ran, Python and libraries included: Python with NumPy alone has some 30 MB."""
GROWTH = """\
A power of n is fitted to all sizes (least squares of the logarithms): n^1 is growth in proportion, less is
cheaper for each further one. What is the same for any size keeps small sizes dear, so the growth between the two
largest stands beside it. Memory and each size are in the sections below."""


def machine(found: Found) -> str:
    """Return what the machine is and how busy it was."""
    info = Path("/proc/cpuinfo")
    names = (
        [line.split(":", 1)[1].strip() for line in info.read_text().splitlines() if line.startswith("model name")]
        if info.exists()
        else []
    )
    packages = ", ".join(f"{name} {version(name)}" for name in ("numpy", "pyerfa", "scipy", "astropy"))
    name = names[0] if names else platform.processor() or platform.machine()
    python = f"{platform.system()}; Python {platform.python_version()}, {packages}"
    lines = [f"{name}, {os.cpu_count()} cores, {_memory_gb()}{python}. Ours ran in one thread."]
    loads = [
        one.load for records in found.values() for one in records if isinstance(one, Ran) and one.load is not None
    ]
    if loads:
        lines.append(f"Load average before each benchmark: {min(loads):.1f} to {max(loads):.1f}.")
        if max(loads) > BUSY_LOAD:
            lines.append(
                f"Above {BUSY_LOAD} other programs shared the processor: what is on the clock is then much too long, "
                "processor time a little, and ratios hardly suffer."
            )
    return " ".join(lines)


def _memory_gb() -> str:
    """Return the machine's memory in words, where it tells."""
    if not hasattr(os, "sysconf") or "SC_PHYS_PAGES" not in os.sysconf_names:
        return ""
    return f"{os.sysconf('SC_PHYS_PAGES') * os.sysconf('SC_PAGE_SIZE') / 2**30:.0f} GB, "


def table(header: Sequence[str], rows: Sequence[Sequence[str]], left: int = 1) -> str:
    """Return a table in Markdown, its first columns set left; the others set right, their figures never broken."""
    marks = [":--" if k < left else "--:" for k in range(len(header))]
    whole = [[cell if k < left else cell.replace(" ", NO_BREAK) for k, cell in enumerate(row)] for row in rows]
    return "\n".join(f"| {' | '.join(cell.replace('|', '/') for cell in row)} |" for row in [header, marks, *whole])


def at_a_glance(found: Found) -> str:
    """Return the table of all figures."""
    header = ("what", "size", "the plain way", "time", "plain way", "ratio", "peak memory")
    rows = [
        (
            one.what,
            one.size,
            one.plain,
            clock(one.ours_s),
            "–" if one.plain_s is None else clock(one.plain_s),
            "–" if one.ratio is None else ratio(one.ratio),
            memory(one.peak_mb),
        )
        for name in SECTIONS
        for one in found.get(name, ())
        if isinstance(one, Figure)
    ]
    return table(header, rows, left=3)


def growth_table(every: Sequence[Sequence[Point]]) -> str:
    """Return how each series grows, in a line each."""
    header = ("what", "with more", "from", "to", "time", "grows as", "lastly as")
    rows = [
        (
            points[0].what,
            points[0].axis,
            f"{points[0].size:,.0f}",
            f"{points[-1].size:,.0f}",
            f"{clock(points[0].ours_s)} to {clock(points[-1].ours_s)}",
            f"n^{exponent(points):.2f}",
            f"n^{exponent(points[-2:]):.2f}",
        )
        for points in every
    ]
    return table(header, rows, left=2)


def points_table(points: Sequence[Point]) -> str:
    """Return one series size by size."""
    rows = [
        (f"{one.size:,.0f}", clock(one.ours_s), clock(one.ours_s / one.size), memory(one.peak_mb)) for one in points
    ]
    first = points[0]
    title = f"{first.what[0].upper()}{first.what[1:]}; grows as n^{exponent(points):.2f}:"
    return f"{title}\n\n{table((first.axis, 'time', f'each {first.unit}', 'peak memory'), rows, left=0)}"


def section(name: str, records: Sequence[Record]) -> str:
    """Return one benchmark's part of the page."""
    text = (HERE / f"bench_{name}.py").read_text(encoding="utf-8").split('"""')[1]
    parts = [f"## {SECTIONS[name]}", *[" ".join(part.split()) for part in text.split("\n\n")]]
    for one in records:
        if isinstance(one, Table):
            parts.append(f"{one.title}:\n\n{table(one.header, one.rows)}")
    parts += [one.text for one in records if isinstance(one, Words)]
    parts += [points_table(points) for points in series(records)]
    for one in records:
        if isinstance(one, Ran):
            load = "" if one.load is None else f", load average before it {one.load:.1f}"
            parts.append(one.failed or f"`bench_{name}.py` took {one.took_s:.0f} s{load}.")
    return "\n\n".join(parts)


def page(found: Found) -> str:
    """Return the whole page."""
    every = [points for name in SECTIONS for points in series(found.get(name, ()))]
    parts = [
        HEAD.rstrip(),
        "## The machine",
        machine(found),
        "## At a glance",
        RATIO,
        at_a_glance(found),
        "## How cost grows",
        GROWTH,
        f"![Time against size for each series, both in powers of ten](pictures/{PICTURE.name})",
        growth_table(every),
        *[section(name, found.get(name, ())) for name in SECTIONS],
    ]
    return "\n\n".join(parts) + "\n"


def run(name: str) -> list[Record]:
    """Run one benchmark and return what it found."""
    load, begin = os.getloadavg()[0] if hasattr(os, "getloadavg") else None, time.perf_counter()
    command = [sys.executable, str(HERE / f"bench_{name}.py"), "--json"]
    try:
        done = subprocess.run(
            command, capture_output=True, text=True, encoding="utf-8", check=False, timeout=LONGEST_S
        )
        text, failed = done.stdout, "" if done.returncode == 0 else f"Failed: {done.stderr.strip().splitlines()[-1]}"
    except subprocess.TimeoutExpired as late:
        text = late.stdout.decode("utf-8") if isinstance(late.stdout, bytes) else late.stdout or ""
        failed = f"Not finished within {LONGEST_S} s; run it by itself."
    whole = text[: text.rfind("\n") + 1]
    return [*read(whole), Ran(time.perf_counter() - begin, load, failed)]


def kept(name: str, folder: Path | None) -> list[Record]:
    """Return what one benchmark finds, from the folder if it is there, and keep it there."""
    file = None if folder is None else folder / f"{name}.jsonl"
    if file is not None and file.exists():
        return read(file.read_text(encoding="utf-8"))
    print(name, flush=True)
    found = run(name)
    if file is not None:
        file.parent.mkdir(parents=True, exist_ok=True)
        lines = [json.dumps({"kind": type(one).__name__, **asdict(one)}) for one in found]
        file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return found


def main() -> None:
    """Run the benchmarks one after the other, and write."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("folder", nargs="?", type=Path)
    folder = asked.parse_args().folder
    found = {name: kept(name, folder) for name in SECTIONS}
    PAGE.write_text(page(found), encoding="utf-8", newline="\n")
    every = [points for name in SECTIONS for points in series(found[name])]
    PICTURE.write_text(draw_growth(every), encoding="utf-8", newline="\n")
    for name, records in found.items():
        for one in records:
            if isinstance(one, Ran) and one.failed:
                print(f"{name}: {one.failed}", file=sys.stderr)


if __name__ == "__main__":
    main()
