"""Laws of names and of pointing shifts."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.ground import declinations, right_ascensions
from tests.strategies.targets import typed_names

from sidelight.ground.angles import position_angle_deg, separation_deg
from sidelight.targets import lookup
from sidelight.targets.lookup import key_of, main_index, row_of
from sidelight.targets.names import shifted_pointing


@settings(deadline=None)
@given(typed_names())
def test_typing_does_not_matter(pair: tuple[str, str]) -> None:
    """Case, spaces, zeros, dashes and long catalogue names do not change which row a name leads to."""
    plain, typed = pair
    assert row_of(plain) is not None
    assert row_of(typed) == row_of(plain)


@settings(max_examples=50, deadline=None)
@given(st.sampled_from(sorted(main_index().printed.values())))
def test_every_printed_name_finds_itself(name: str) -> None:
    """Each name that is printed or suggested leads back to its own row, in capitals too."""
    assert row_of(name) == main_index().main[key_of(name)]
    assert row_of(name.upper()) == row_of(name)


def test_plain_numbers_lead_where_the_index_leads() -> None:
    """An NGC, IC or Messier number has the same row on the short way past the index as in the index."""
    short = {key: row for key in main_index().main if (row := lookup._numbered_row(key)) is not None}
    assert len(short) > 13_000
    assert short.items() <= main_index().main.items()


@settings(max_examples=50, deadline=None)
@given(st.text(max_size=30))
def test_any_text_has_a_key(text: str) -> None:
    """No text breaks the reader of names, and a key is stable."""
    assert key_of(text) == key_of(text)
    assert row_of(text) is None or row_of(text) >= 0  # type: ignore[operator]


@given(right_ascensions, declinations, st.floats(-120, 120), st.floats(-120, 120))
def test_shifts_are_exact_on_the_tangent_plane(ra: float, dec: float, east: float, north: float) -> None:
    """The shifted pointing stands at atan(length) in the direction of the shift."""
    if math.hypot(east, north) < 1e-3:
        return
    moved = shifted_pointing(ra, dec, east, north)
    away = float(separation_deg(ra, dec, *moved))
    assert away == pytest.approx(math.degrees(math.atan(math.radians(math.hypot(east, north) / 60))), abs=1e-9)
    if abs(dec) < 89.99:
        towards = math.degrees(math.atan2(east, north))
        turn = (float(position_angle_deg(ra, dec, *moved)) - towards + 180) % 360 - 180
        assert turn == pytest.approx(0.0, abs=1e-4)
