"""Effective hours beside the exact weight of every few seconds, where the integral is hardest."""

from dataclasses import replace

import numpy as np
import pytest

from sidelight.light.filters import Filter
from sidelight.light.hours import EffectiveHours, effective_hours
from sidelight.light.weight import weights
from sidelight.sky.brightness import measured_sky
from sidelight.sky.site import Site

SKY = measured_sky(21.2, extinction_mag_per_airmass=0.25)
FILTERS = (Filter("L", 550.0, 300.0), Filter("Ha", 656.3, 7.0))
NORTH, TROPIC, SOUTH = (Site("x", latitude, 11.0, 500.0, "UTC") for latitude in (48.0, 10.0, -36.0))
SAMPLES = 12000
SECOND_H = 1.0 / 3600.0

Window = tuple[Site, float, float, float, float]

IN_TWILIGHT_AT_BOTH_ENDS: list[Window] = [
    (NORTH, 61412.7221, 61413.2273, 354.83, 73.98),
    (NORTH, 61766.7166, 61767.2261, 158.87, 82.61),
    (SOUTH, 61559.7270, 61560.2090, 337.31, -80.27),
    (replace(NORTH, longitude_deg=161.0), 61412.3054, 61412.8106, 354.83, 73.98),  # midnight of UTC by day
    (replace(SOUTH, longitude_deg=161.0), 61559.3103, 61559.7923, 337.31, -80.27),
]
ACROSS_THE_WHOLE_SKY: list[Window] = [
    (NORTH, 61759.7286, 61760.2203, 130.58, 4.25),
    (SOUTH, 61558.7399, 61559.2020, 298.99, -11.12),
]
PAST_THE_MOON: list[Window] = [
    (SOUTH, 61686.7921, 61686.9125, 310.99, -16.19),
    (SOUTH, 61598.7646, 61598.9759, 225.30, -29.71),
    (TROPIC, 61718.7646, 61718.9727, 0.47, 9.28),
    (TROPIC, 61755.9727, 61756.1716, 136.13, 7.15),
    (NORTH, 61482.8515, 61482.9717, 142.70, 21.71),
]


def hours_of(window: Window) -> EffectiveHours:
    """Return what one window is worth in both filters."""
    site, *rest = window
    start, end, ra, dec = (np.array([one]) for one in rest)
    return effective_hours(site, SKY, FILTERS, start, end, ra, dec)


def off_h(window: Window) -> np.ndarray:
    """Return how far the integrals in both filters are from the exact weight, summed up."""
    site, start, end, ra, dec = window
    at = start + (np.arange(SAMPLES) + 0.5) * (end - start) / SAMPLES
    exact = [float(np.mean(weights(site, SKY, one, ra, dec, at))) * (end - start) * 24.0 for one in FILTERS]
    return np.abs(hours_of(window).effective_h[:, 0] - exact)


@pytest.mark.parametrize("window", IN_TWILIGHT_AT_BOTH_ENDS + ACROSS_THE_WHOLE_SKY)
def test_a_window_is_right_to_two_seconds(window: Window) -> None:
    """From twilight to twilight, or from horizon to horizon with the Moon far away, it is right to 2 s."""
    assert float(off_h(window).max()) < 2.0 * SECOND_H


@pytest.mark.parametrize("window", PAST_THE_MOON)
def test_the_stated_error_holds_past_the_moon(window: Window) -> None:
    """Where the Moon's light makes a step, 10° from it, the integral is off by no more than it says."""
    assert np.all(off_h(window) <= hours_of(window).error_h[:, 0] + 0.1 * SECOND_H)


def test_a_calm_hour_is_left_with_the_tables_error() -> None:
    """An hour high up without Moon or twilight: the rules agree, and 1e-4 of its worth stays for the tables."""
    hours = hours_of((NORTH, 61745.0, 61745.0 + 1.0 / 24.0, 95.0, 45.0))
    assert np.all(hours.effective_h == hours.moonless_h)
    assert np.all(hours.effective_h > 0.9)
    np.testing.assert_allclose(hours.error_h, 1e-4 * hours.effective_h, rtol=1e-3)
