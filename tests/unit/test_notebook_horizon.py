"""horizon.txt: rows as people write them, the ones that are refused, and notes that stay."""

import pytest
from tests.strategies.notebook import HORIZON, SITE, in_memory

from sidelight.ground.errors import BadInput
from sidelight.notebook.horizon_text import read_rows, rewritten, skyline
from sidelight.notebook.read import problems_of, read_folder


@pytest.mark.parametrize(
    "row", ["120 35.5", "120\t35.5", " 120 , 35.5 ", "120;35.5", "120° 35.5°", "120 35.5 # wall"]
)
def test_ways_to_write_a_row(row: str) -> None:
    """Spaces, tabs, commas, semicolons, degree signs and notes are all read."""
    found = read_rows(f"\n{row}\n")[0]
    assert (found.bearing_deg, found.altitude_deg, found.line) == (120.0, 35.5, 2)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("120", "not two numbers"),
        ("120 35 5", "not two numbers"),
        ("azimuth altitude", "not two numbers"),
        ("120,5 35,5", "commas"),
        ("120 90", "altitude"),
        ("120 -6", "altitude"),
        ("361 10", "azimuth"),
        ("-1 10", "azimuth"),
        ("nan 10", "azimuth"),
        ("10 inf", "altitude"),
        ("1e400 5", "azimuth"),
    ],
)
def test_rows_that_are_refused(row: str, said: str) -> None:
    """Each wrong row is named with its line and what belongs there."""
    with pytest.raises(BadInput) as refusal:
        read_rows(f"# note\n0 5\n{row}\n")
    problem = refusal.value.problems[0]
    assert (problem.file, problem.line, len(refusal.value.problems)) == ("horizon.txt", 3, 1)
    assert said in problem.message
    assert problem.expected


def test_every_wrong_row_at_once() -> None:
    """All wrong rows are named, not the first alone."""
    with pytest.raises(BadInput) as refusal:
        read_rows("x\n1 2\ny\n1 3\n")
    assert [problem.line for problem in refusal.value.problems] == [1, 3, 4]


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing yet\n"])
def test_an_empty_horizon(text: str) -> None:
    """A file without points is refused and told how a flat skyline is written."""
    with pytest.raises(BadInput, match=r'no points.*"0 0"'):
        read_rows(text)


def test_an_azimuth_twice() -> None:
    """The second row of an azimuth is refused with both lines; 360 may repeat what 0 says, and nothing else."""
    with pytest.raises(BadInput, match=r"line 3: Azimuth 90° stands here and on line 1.*120\.1"):
        read_rows("90 1\n0 2\n90 3\n")
    assert len(read_rows("0 5\n90 3\n360 5\n")) == 2
    with pytest.raises(BadInput, match="360° stands here"):
        read_rows("0 5\n360 6\n")


def test_a_compass_needle() -> None:
    """A bearing taken with a needle that points 10° east of north is 10° more in truth, and wraps at north."""
    rows = read_rows("355 20\n100 3\n")
    true = skyline(rows, 10.0)
    assert true.azimuth_deg.tolist() == [5.0, 110.0]
    assert float(true.altitude_at(5.0)) == 20.0
    site = SITE.replace('"true"', '"magnetic"\nmagnetic_declination_deg = 10')
    assert read_folder(in_memory(site_toml=site, horizon_txt="355 20\n100 3\n")).site.horizon.azimuth_deg[0] == 5.0


def test_a_declination_without_a_needle() -> None:
    """True bearings with a declination contradict each other; neither is dropped in silence."""
    problems = problems_of(in_memory(site_toml=SITE + "magnetic_declination_deg = 3\n"))
    assert [(one.file, one.line) for one in problems] == [("site.toml", 9)]


def test_notes_stay_when_points_change() -> None:
    """The head, notes above rows and remarks behind them stay; a row whose point stays is not touched."""
    text = "# my skyline\n# measured in May\n\n0 10\n# the oak\n  90   25.5   # in leaf\n200 5 # shed\n# end\n"
    new = rewritten(text, [(0, 10), (90, 30), (150, 2)])
    lines = new.splitlines()
    assert lines[:4] == ["# my skyline", "# measured in May", "", "0 10"]
    assert lines[4] == "# the oak"
    assert lines[5].split() == ["90", "30", "#", "in", "leaf"]
    assert lines[6].split() == ["150", "2"]
    assert lines[7:] == ["# shed", "# end"]
    assert rewritten(HORIZON, [(0, 10), (90, 25.5), (200, 5)]) == HORIZON
