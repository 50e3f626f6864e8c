"""Ground: the corner cases that people meet."""

import datetime as dt
from dataclasses import dataclass, field

import numpy as np
import pytest

from sidelight.ground import angles, spans
from sidelight.ground.errors import BadInput, Problem, SidelightError, did_you_mean
from sidelight.ground.plain import to_plain
from sidelight.ground.roots import bracketed_roots


def test_arcs_across_north_are_one_arc() -> None:
    """Two arcs that meet at north are reported as one that ends beyond 360."""
    joined = spans.arcs_union(spans.arcs([[350, 360]]), spans.arcs([[0, 20]]))
    assert joined.tolist() == [[350.0, 380.0]]
    assert spans.arcs([[350, 20]]).tolist() == [[350.0, 380.0]]


def test_full_circle_has_no_end() -> None:
    """The full circle contains everything, has slack 180, and its complement is empty."""
    assert spans.arcs([[10, 370]]).tolist() == [[0.0, 360.0]]
    assert float(spans.arcs_slack(spans.FULL_CIRCLE, 123.0)) == 180.0
    assert len(spans.arcs_complement(spans.FULL_CIRCLE)) == 0
    assert spans.arcs_complement(spans.EMPTY).tolist() == [[0.0, 360.0]]


def test_slack_is_the_nearer_end() -> None:
    """Slack counts to the nearer end, across north, and is zero outside."""
    one = spans.arcs([[350, 380]])
    assert spans.arcs_slack(one, [355.0, 5.0, 18.0, 100.0]).tolist() == [5.0, 15.0, 2.0, 0.0]


@pytest.mark.parametrize(
    ("text", "hours", "expected"),
    [
        ("12h 30m", True, 187.5),
        ("02 22 32.9", True, (2 + 22 / 60 + 32.9 / 3600) * 15),
        ("187.5", True, 187.5),
        ("-00 30 00", False, -0.5),
        ("−41°16′09″", False, -(41 + 16 / 60 + 9 / 3600)),
        ("+41:16:09", False, 41 + 16 / 60 + 9 / 3600),
        ("187.5°", True, 187.5),
        ("10d30m", True, 10.5),
    ],
)
def test_angles_as_people_write_them(text: str, hours: bool, expected: float) -> None:
    """Sexagesimal text in its usual spellings is understood, the sign of -00 kept."""
    assert abs(angles.parse_angle_deg(text, hours=hours) - expected) < 1e-12


@pytest.mark.parametrize("text", ["", "north", "12h 61m", "1 2 3 4", "nan", "12h 30m 60s"])
def test_what_is_not_an_angle_is_refused(text: str) -> None:
    """Text that is no angle raises BadInput that shows the text and what is accepted."""
    with pytest.raises(BadInput, match=r"Expected: degrees as a number"):
        angles.parse_angle_deg(text, hours=True)


def test_sixty_seconds_never_show() -> None:
    """Rounding up carries over into minutes and hours."""
    assert angles.format_ra(359.99999, 0) == "00h 00m 00s"
    assert angles.format_dec(-0.99999) == "−01° 00′ 00″"
    assert angles.format_dec(-0.00001) == "+00° 00′ 00″"


def test_a_problem_reads_as_a_sentence() -> None:
    """File, line, key, message, what was expected and the suggestion stand in this order."""
    problem = Problem("is 95.", file="site.toml", key="latitude_deg", line=3, expected="-90 to 90")
    assert str(problem) == "site.toml, line 3, latitude_deg: is 95. Expected: -90 to 90."
    error = SidelightError([problem, Problem("again")])
    assert str(error).count("\n") == 1
    assert did_you_mean("latitud_deg", ["latitude_deg", "name"]) == 'Did you mean "latitude_deg"?'
    assert did_you_mean("xyz", ["latitude_deg"]) is None


def test_plain_values() -> None:
    """Reports turn into what JSON can hold, instants in UTC with a Z, no NaN."""

    @dataclass(frozen=True)
    class Report:
        day: dt.date
        start_utc: dt.datetime
        slack_deg: float
        arcs: np.ndarray
        hidden: int = field(default=1, metadata={"json": False})

    zone = dt.timezone(dt.timedelta(hours=2))
    report = Report(dt.date(2027, 3, 6), dt.datetime(2027, 3, 6, 1, 0, tzinfo=zone), float("nan"), np.eye(1))
    assert to_plain(report) == {
        "day": "2027-03-06",
        "start_utc": "2027-03-05T23:00:00Z",
        "slack_deg": None,
        "arcs": [[1.0]],
    }
    with pytest.raises(TypeError, match="has no plain form"):
        to_plain(object())


def test_a_root_at_the_end_of_its_bracket() -> None:
    """A bracket whose end is the root, and one of zero width, give that end."""
    found = bracketed_roots(lambda x: x, np.array([0.0, -1.0, 0.0]), np.array([1.0, 0.0, 0.0]), 1e-9)
    assert np.all(np.abs(found) < 1e-9)
