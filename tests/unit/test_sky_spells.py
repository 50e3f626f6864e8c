"""The searcher for spells, on curves that are no sky."""

import numpy as np
import pytest

from sidelight.ground.types import FloatArray
from sidelight.sky.spells import spells_below

SECOND_DAYS = 1 / 86400


def one(values: list[float]) -> FloatArray:
    """Return a small array."""
    return np.array(values)


def test_a_sine_below_zero() -> None:
    """A sine of a day's period is below zero in the second half of each day, whichever stretch is asked."""
    found = spells_below(lambda at: np.sin(2 * np.pi * at), one([0.0, 0.25, 0.75]), one([1.0, 1.25, 1.75]))
    np.testing.assert_allclose(found.of(0), [[0.5, 1.0]], rtol=0.0, atol=1e-7)
    np.testing.assert_allclose(found.of(1), [[0.5, 1.0]], rtol=0.0, atol=1e-7)
    np.testing.assert_allclose(found.of(2), [[0.75, 1.0], [1.5, 1.75]], rtol=0.0, atol=1e-7)
    assert np.allclose(found.lengths_h(), [12.0, 12.0, 12.0], atol=1e-5)


def test_always_and_never() -> None:
    """A curve that is below throughout gives the whole stretch; one that is above gives nothing."""
    always = spells_below(lambda at: -1.0 - 0.0 * at, one([3.0]), one([4.0]))
    assert always.of(0).tolist() == [[3.0, 4.0]]
    never = spells_below(lambda at: 1.0 + 0.0 * at, one([3.0]), one([4.0]))
    assert never.of(0).shape == (0, 2)
    assert never.lengths_h().tolist() == [0.0]


PLACES = [0.4, 0.5103, 0.004, 0.996, *(np.arange(12.0, 13.0, 0.08) / 24.0).tolist()]
"""Anywhere between two looks, which are an hour apart, and beside a stretch's ends."""


@pytest.mark.parametrize("middle", PLACES)
def test_a_dip_of_a_minute_between_two_looks(middle: float) -> None:
    """A dip under zero that lasts a minute is found anywhere, beside the stretch's edge too."""
    half = 30 * SECOND_DAYS
    found = spells_below(
        lambda at: np.cos(2 * np.pi * half) - np.cos(2 * np.pi * (at - middle)), one([0.0]), one([1.0])
    )
    np.testing.assert_allclose(found.of(0), [[middle - half, middle + half]], rtol=0.0, atol=SECOND_DAYS / 20)


@pytest.mark.parametrize("middle", PLACES)
def test_a_rise_of_a_minute_cuts_a_spell_in_two(middle: float) -> None:
    """A peak above zero that lasts a minute splits the spell."""
    half = 30 * SECOND_DAYS
    found = spells_below(
        lambda at: np.cos(2 * np.pi * (at - middle)) - np.cos(2 * np.pi * half), one([0.0]), one([1.0])
    )
    expected = [[0.0, middle - half], [middle + half, 1.0]]
    np.testing.assert_allclose(found.of(0), expected, rtol=0.0, atol=SECOND_DAYS / 20)


def test_many_stretches_with_different_counts() -> None:
    """Offsets tell whose spans are whose: none, one and two of them side by side."""
    found = spells_below(
        lambda at: np.where(at < 10, 1.0, np.cos(4 * np.pi * at)), one([0, 20, 30.2]), one([1, 21, 30.5])
    )
    assert np.diff(found.offsets).tolist() == [0, 2, 1]
    assert found.spans_mjd.shape == (3, 2)


def test_no_stretch_at_all() -> None:
    """Nothing asked, nothing found."""
    found = spells_below(lambda at: at, np.empty(0), np.empty(0))
    assert found.spans_mjd.shape == (0, 2)
    assert found.offsets.tolist() == [0]
