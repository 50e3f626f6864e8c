"""Leap seconds, full Moon and the light that molecules scatter, as published."""

import datetime as dt

import numpy as np
import pytest

from sidelight.sky import extinction
from sidelight.sky.moon import moon_phase
from sidelight.sky.time import mjd_from_datetime, tt_mjd


@pytest.mark.parametrize(
    ("date", "tai_minus_utc_s"),
    [
        (dt.datetime(1972, 3, 1, tzinfo=dt.UTC), 10),
        (dt.datetime(1999, 1, 1, tzinfo=dt.UTC), 32),
        (dt.datetime(2016, 12, 31, 12, tzinfo=dt.UTC), 36),
        (dt.datetime(2017, 1, 1, tzinfo=dt.UTC), 37),
        (dt.datetime(2024, 6, 1, tzinfo=dt.UTC), 37),
    ],
)
def test_leap_seconds_of_the_iers(date: dt.datetime, tai_minus_utc_s: int) -> None:
    """IERS Bulletin C: TAI−UTC was 10 s in 1972, 32 s in 1999, 36 s in 2016, 37 s since; TT is 32.184 s on."""
    utc = mjd_from_datetime(date)
    assert (float(tt_mjd(utc)) - utc) * 86400.0 == pytest.approx(tai_minus_utc_s + 32.184, abs=1e-4)


@pytest.mark.parametrize(
    "full", [dt.datetime(2024, 4, 23, 23, 49, tzinfo=dt.UTC), dt.datetime(2000, 1, 21, 4, 40, tzinfo=dt.UTC)]
)
def test_the_moon_waxes_until_it_is_full(full: dt.datetime) -> None:
    """USNO, Phases of the Moon (times from memory): an hour before full it waxes, an hour after it wanes."""
    before, after = (mjd_from_datetime(full + dt.timedelta(hours=hours)) for hours in (-1, 1))
    assert bool(moon_phase(before).waxing)
    assert not bool(moon_phase(after).waxing)


@pytest.mark.parametrize("nm", [350.0, 440.0, 550.0, 800.0])
def test_rayleigh_as_hansen_and_travis_wrote_it(nm: float) -> None:
    """Depth 0.008569 λ⁻⁴ (1 + 0.0113 λ⁻² + 0.00013 λ⁻⁴), λ in µm (1974, eq. 2.30), by Horner; 1.0857 mag a depth."""
    per = (1000.0 / nm) ** 2
    depth = 0.008569 * per * per * float(np.polyval([0.00013, 0.0113, 1.0], per))
    assert float(extinction.rayleigh_mag_per_airmass(nm)) == pytest.approx(2.5 * np.log10(np.e) * depth, rel=1e-9)
    # at 5000 m the standard pressure is 540.20 hPa (ICAO): as much less air scatters
    high = float(extinction.rayleigh_mag_per_airmass(nm, 5000.0))
    assert high == pytest.approx(2.5 * np.log10(np.e) * depth * 540.20 / 1013.25, rel=2e-4)
