"""docs/speed.md: built as benchmarks/run_all.py builds it, with a part for every benchmark; no figure is judged."""

import re
import sys
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from benchmarks import growth_picture, measure, run_all
from benchmarks.measure import Figure, Point, Ran, Record, Table, Words

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "speed.md").read_text(encoding="utf-8")
PICTURE = (ROOT / "docs" / "pictures" / "speed-growth.svg").read_text(encoding="utf-8")
SVG = "{http://www.w3.org/2000/svg}"
RECORDS: list[Record] = [
    Figure("a thing", "7 of them", 0.25, 31.0, "numpy", 2.0),
    Figure("another", "one", 0.1, None, "none"),
    *[Point("a thing grows", "targets", "target", size, 1e-3 * size**1.5, 40.0) for size in (10, 100, 1000)],
    Table("All things", ("what", "time"), (("first", "1 s"), ("second", "2 s"))),
    Words("That is all."),
    Ran(12.0, 0.4),
]


def rows_under(heading: str) -> list[list[str]]:
    """Return the cells of the first table under a heading of the page, its header first."""
    text = PAGE.split(f"\n{heading}\n", 1)[1]
    lines = re.search(r"(?:^\|.*\n)+", text, re.MULTILINE)
    assert lines is not None, heading
    rows = [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines[0].splitlines()]
    return [rows[0], *rows[2:]]


def test_every_benchmark_has_its_part() -> None:
    """Each bench_*.py is a part of the page, which begins with what the benchmark says of itself; none has failed."""
    files = {path.stem.removeprefix("bench_") for path in (ROOT / "benchmarks").glob("bench_*.py")}
    assert files == set(run_all.SECTIONS)
    for name in files:
        first = run_all.section(name, ()).split("\n\n")[:2]
        assert "\n\n".join(first) in PAGE, name
    assert "Failed:" not in PAGE
    assert "Not finished" not in PAGE


def test_the_page_is_built_as_it_would_be_now() -> None:
    """Headings, their order, the words before the tables and the tables' headers are what run_all.py writes."""
    written = run_all.page(dict.fromkeys(run_all.SECTIONS, RECORDS))
    for pattern in (r"^#+ .*$", r"^\*Ratio\*.*$", r"^A power of n.*$", r"^!\[.*$"):
        assert re.findall(pattern, PAGE, re.MULTILINE) == re.findall(pattern, written, re.MULTILINE)
    for row in (r"| what | size | the plain way |", "| what | with more | from | to |"):
        assert row in PAGE
        assert row in written


def test_every_figure_names_the_plain_way() -> None:
    """Each figure says beside what it stands, or that there is nothing, and its peak memory."""
    header, *rows = rows_under("## At a glance")
    assert len(rows) > 15
    for row in rows:
        what, plain, ratio = row[0], row[header.index("the plain way")], row[header.index("ratio")]
        assert (ratio == "–") == plain.startswith("none"), what
        assert row[header.index("peak memory")].endswith("MB"), what
    for library in ("astropy", "NumPy", "scipy.optimize.milp", "scipy.integrate.quad", "Python loop"):
        assert any(library in row[2] for row in rows), library


def test_growth_is_shown_with_everything_that_grows() -> None:
    """Targets, nights, stars, weathers and frames each have a series, with a table, and a chart in the picture."""
    _, *rows = rows_under("## How cost grows")
    with_more = {row[1] for row in rows}
    assert with_more >= {"targets", "nights", "deeper stars", "stars in reach", "usable stars", "weathers", "frames"}
    for what, *_ in rows:
        assert re.search(rf"^{re.escape(what[0].upper() + what[1:])}; grows as n\^", PAGE, re.MULTILINE), what
    tree = ET.fromstring(PICTURE)
    words = [text.text for text in tree.iter(f"{SVG}text")]
    assert [what for what, *_ in rows] == [word for word in words if word in {row[0] for row in rows}]
    assert tree[0].tag == f"{SVG}title"
    assert tree[1].tag == f"{SVG}desc"
    assert (tree[1].text or "").count("as n^") == len(rows)


def test_records_survive_their_lines(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """What a benchmark prints with --json is read back as it was."""
    monkeypatch.setattr(sys, "argv", ["bench", "--json"])
    for one in RECORDS:
        measure.emit(one)
    assert measure.read(capsys.readouterr().out) == RECORDS


@pytest.mark.parametrize("power", [-0.5, 0.0, 0.98, 2.0])
def test_a_power_law_has_its_exponent(power: float) -> None:
    """The fitted exponent of times that follow a power law is that power, and the picture says it."""
    points = [Point("a thing", "nights", "night", size, 0.02 * size**power) for size in (3, 10, 40, 1000)]
    assert measure.exponent(points) == pytest.approx(power, abs=1e-9)
    assert f"n^{power:.2f}" in growth_picture.draw_growth([points])


@pytest.mark.parametrize(
    ("value_s", "shown"),
    [(2.5e-8, "25 ns"), (1.5e-4, "150 µs"), (0.0449, "44.9 ms"), (1.0, "1 s"), (90.0, "90 s"), (600.0, "10 min"),
     (36000.0, "10 h"), (3.6e6, "1,000 h")],
)  # fmt: skip
def test_times_have_a_fitting_unit(value_s: float, shown: str) -> None:
    """A time is written with the unit that needs no more than three figures before the point."""
    assert measure.clock(value_s) == shown
