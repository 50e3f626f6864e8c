"""What an instant is worth, its parts multiplied by hand."""

import numpy as np
import pytest

from sidelight.light.filters import Filter
from sidelight.light.hours import EffectiveHours, effective_hours, moon_cost_share
from sidelight.light.weight import Sensitivity, directions, sensitivity, signal_squared, variance_gain, weight_of
from sidelight.sky.airmass import airmass_kasten_young
from sidelight.sky.brightness import Glow, SkyParts, measured_sky
from sidelight.sky.site import Site

SITE = Site("A", 48.0, 11.0, 500.0, "UTC")
SKY = measured_sky(21.2, extinction_mag_per_airmass=0.25, glows=(Glow(90.0, 19.5),))
SENSE = Sensitivity(0.3, 2.0, 0.5)
NL = SKY.zenith_nl


@pytest.mark.parametrize("altitude_deg", [1.0, 15.0, 30.0, 60.0, 90.0])
def test_signal_by_hand(altitude_deg: float) -> None:
    """Light falls by k magnitudes per airmass beyond the zenith's, signal-to-noise with it, hours with its square."""
    lost_mag = 0.3 * (float(airmass_kasten_young(altitude_deg)) - 1.0)
    by_hand = (10 ** (-0.4 * lost_mag)) ** 2
    assert float(signal_squared(np.array(altitude_deg), SENSE)) == pytest.approx(by_hand)


def test_nothing_below_the_horizon() -> None:
    """A target that has set is worth nothing."""
    assert float(signal_squared(np.array(-0.01), SENSE)) == 0.0
    assert float(signal_squared(np.array(0.01), SENSE)) > 0.0


def test_variance_by_hand() -> None:
    """Sky 3 and camera ½ against 1 and ½: the noise's variance is 7/3 as much."""
    assert float(variance_gain(np.array(3.0 * NL), SKY, SENSE)) == pytest.approx(1.5 / 3.5)


def test_all_lights_count_the_moon_by_its_factor() -> None:
    """Airglow 1, twilight ½, a town ¼ and a Moon of 1 that counts twice come to 3.75 zeniths."""
    parts = SkyParts(*(np.array(share * NL) for share in (1.0, 1.0, 0.5, 0.25)))
    expected = float(signal_squared(np.array(50.0), SENSE)) * 1.5 / (3.75 + 0.5)
    assert float(weight_of(parts, np.array(50.0), SKY, SENSE)) == pytest.approx(expected)


def test_effective_hours_are_the_sum_of_their_instants() -> None:
    """Two windows, one in moonlight and one through twilight, beside 4,000 instants summed up: to 10 seconds."""
    filters = [Filter("G", 535.0, 90.0), Filter("Ha", 656.3, 7.0)]
    starts, ends = np.array([61451.78, 61460.70]), np.array([61451.99, 61460.93])
    ra, dec = np.array([130.0, 60.0]), np.array([20.0, 35.0])
    found = effective_hours(SITE, SKY, filters, starts, ends, ra, dec, [0.0, 0.7])
    np.testing.assert_allclose(found.dark_h, (ends - starts) * 24.0, rtol=1e-12)
    for row in range(2):
        at = starts[row] + (np.arange(4000) + 0.5) / 4000.0 * (ends[row] - starts[row])
        where = directions(SITE, ra[row], dec[row], at)
        parts = where.sky_parts(SKY)
        dark = SkyParts(parts.airglow_nl, np.zeros(()), parts.twilight_nl, parts.glow_nl)
        for number, (one, floor) in enumerate(zip(filters, (0.0, 0.7), strict=True)):
            sense = sensitivity(one, SKY, SITE.elevation_m, floor)
            hours = [
                float(np.mean(weight_of(light, where.altitude_deg, SKY, sense))) * (ends[row] - starts[row]) * 24.0
                for light in (parts, dark)
            ]
            assert found.effective_h[number, row] == pytest.approx(hours[0], abs=10.0 / 3600.0)
            assert found.moonless_h[number, row] == pytest.approx(hours[1], abs=10.0 / 3600.0)
            assert abs(found.effective_h[number, row] - hours[0]) <= found.error_h[number, row] + 1e-4
            assert found.error_h[number, row] < 0.05 * found.dark_h[row]


def test_what_the_moon_takes() -> None:
    """A quarter left of an hour is 75 % taken; more than was there counts as none taken, and so does none of none."""
    left, had = np.array([0.25, 1.1, 0.0, 0.0]), np.array([1.0, 1.0, 1.0, 0.0])
    assert moon_cost_share(left, had).tolist() == [0.75, 0.0, 1.0, 0.0]
    hours = EffectiveHours(np.ones(1), np.full((1, 1), 0.4), np.full((1, 1), 0.8), np.zeros((1, 1)))
    assert hours.moon_cost_share.tolist() == [[0.5]]
