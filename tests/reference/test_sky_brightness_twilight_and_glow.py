"""Twilight's published parabola, the Moon's disc at the horizon, and the shape of a town's glow, point by point."""

import numpy as np
import pytest

from sidelight.sky import brightness as br

PATAT_V = np.polynomial.Polynomial([11.84, 1.518, -0.057])
"""Patat, Ugolnikov & Postylyakov 2006 (A&A 455, 385; from memory): V at Paranal's zenith, mag/arcsec², by degrees of
the Sun's zenith distance beyond 95°."""


@pytest.mark.parametrize("sun_deg", [-5.0, -6.0, -8.0, -10.0, -12.0, -14.0, -16.0])
def test_twilight_is_the_published_parabola(sun_deg: float) -> None:
    """Twilight on top of the darkest sky that the parabola reaches is the parabola itself, to 0.001 mag."""
    darkest = float(PATAT_V(PATAT_V.deriv().roots()[0]))
    together = float(br.twilight_nl(sun_deg)) + float(br.nl_from_mag(darkest))
    assert float(br.mag_from_nl(together)) == pytest.approx(float(PATAT_V(-sun_deg - 5.0)), abs=1e-3)


def test_twilight_ends_where_the_parabola_is_darkest() -> None:
    """There is a little twilight left just above that altitude of the Sun, and none below it."""
    end_deg = -5.0 - float(PATAT_V.deriv().roots()[0])
    assert end_deg == pytest.approx(br.TWILIGHT_ENDS_DEG, abs=1e-9)
    assert float(br.twilight_nl(end_deg + 0.02)) > 0.0
    assert np.all(br.twilight_nl(end_deg - np.array([0.0, 0.5, 20.0])) == 0.0)


def test_by_day_twilight_stays_what_it_is_at_minus_five() -> None:
    """The parabola is not followed above −5°, where it would brighten without end."""
    assert np.all(br.twilight_nl([-4.0, 0.0, 60.0]) == br.twilight_nl(-5.0))


def test_the_moon_s_disc_sinks() -> None:
    """Mean semidiameter 15.54′ (1737.4 km at 384,400 km): light until the disc is down, and none after that."""
    radius_deg = float(np.degrees(np.arcsin(1737.4 / 384400.0)))
    assert float(br.low_moon_factor(-radius_deg + 0.001, 0.2)) > 0.0
    assert float(br.low_moon_factor(-radius_deg - 0.0025, 0.2)) == 0.0
    # half of the disc is up when its centre is: the fraction of its width, whatever the air takes
    half, whole = br.low_moon_factor([0.0, radius_deg + 0.0025], 0.0)
    assert float(half) == pytest.approx(0.5, abs=1e-12)
    assert float(whole) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("altitude_deg", [0.5, 2.0, 5.0, 15.0])
def test_a_low_moon_shines_through_the_air_of_kasten_and_young(altitude_deg: float) -> None:
    """Together with the published model's 5 airmasses at the most, the loss is that of the true path."""
    k = 0.25
    sine = np.sin(np.radians(altitude_deg))
    true_path = 1.0 / (sine + 0.50572 * (altitude_deg + 6.07995) ** -1.6364)  # Kasten & Young 1989, their fit
    in_model = (1.0 - 0.96 * np.cos(np.radians(altitude_deg)) ** 2) ** -0.5  # Krisciunas & Schaefer 1991, eq. 3
    magnitudes = -2.5 * np.log10(float(br.low_moon_factor(altitude_deg, k)))
    assert magnitudes == pytest.approx(k * (true_path - in_model), abs=1e-6)


def glow_at(altitude_deg: float, azimuth_deg: float) -> float:
    """Return the light of one town in the south, measured low, as it stands in a direction."""
    sky = br.measured_sky(21.5, glows=(br.Glow(180.0, 19.0, 10.0, 50.0),))
    return float(br.glow_nl(altitude_deg, azimuth_deg, sky))


def test_a_glow_falls_upwards() -> None:
    """Over its town a glow loses 2.5 log10(e), 1.086 mag, in 20° of altitude, as the docstring promises a user."""
    lost = 2.5 * np.log10(glow_at(10.0, 180.0) / glow_at(30.0, 180.0))
    assert lost == pytest.approx(1.0857, abs=1e-3)


def test_a_glow_is_as_wide_as_was_said() -> None:
    """On the horizon half the strength is left at half the width on either side (along the chord)."""
    for share, chord_deg in ((0.5, 25.0), (1 / 16, 50.0)):
        aside_deg = 2.0 * np.degrees(np.arcsin(np.radians(chord_deg) / 2.0))
        for azimuth_deg in (180.0 - aside_deg, 180.0 + aside_deg):
            assert glow_at(0.0, azimuth_deg) / glow_at(0.0, 180.0) == pytest.approx(share, rel=1e-9)


def test_a_glow_closes_up_towards_the_zenith() -> None:
    """At 60° of altitude the same azimuth is half as far aside, so that the bell is the fourth root there."""
    low, high = (glow_at(altitude, 200.0) / glow_at(altitude, 180.0) for altitude in (0.0, 60.0))
    assert high == pytest.approx(low**0.25, rel=1e-9)


CUSTOM = ((21.75, 22.0), (21.6, 21.75), (21.3, 21.6), (20.3, 21.3), (19.25, 20.3), (18.5, 19.25), (18.0, 18.5))
"""Zenith brightness that is customarily given for classes 1 to 7 (from memory; the classes' author gave none)."""


@pytest.mark.parametrize("number", range(1, 8))
def test_classes_lie_within_what_is_customary(number: int) -> None:
    """A class stands for a sky within its customary range, and its uncertainty reaches both ends of it."""
    low, high = CUSTOM[number - 1]
    sky = br.sky_of_class(number)
    assert low <= sky.zenith_mag_arcsec2 <= high
    reach = 1.5 * sky.uncertainty_mag
    assert sky.zenith_mag_arcsec2 - reach <= low
    assert high <= sky.zenith_mag_arcsec2 + reach


def test_every_light_brightens_the_sky() -> None:
    """Town, Moon and twilight each make the same direction brighter, and all of them by what each adds alone."""
    glows = (br.Glow(90.0, 19.0),)
    moon = {"moon_altitude_deg": 40.0, "moon_separation_deg": 50.0, "moon_phase_angle_deg": 20.0}
    dark = float(br.sky_parts(br.measured_sky(21.5), 45.0).total_nl)
    town = float(br.sky_parts(br.measured_sky(21.5, glows=glows), 45.0, azimuth_deg=90.0).total_nl)
    moonlit = float(br.sky_parts(br.measured_sky(21.5), 45.0, **moon).total_nl)
    dusk = float(br.sky_parts(br.measured_sky(21.5), 45.0, sun_altitude_deg=-12.0).total_nl)
    assert min(town, moonlit, dusk) > dark * 1.01
    everything = br.sky_parts(
        br.measured_sky(21.5, glows=glows), 45.0, azimuth_deg=90.0, sun_altitude_deg=-12.0, **moon
    )
    assert float(everything.total_nl) == pytest.approx(town + moonlit + dusk - 2.0 * dark, rel=1e-12)


def test_pieces_of_the_scattering_function_meet_where_published() -> None:
    """Krisciunas & Schaefer 1991: eq. 19 nearer than 10° to the Moon, eq. 18 from there on; held within its disc."""
    for rho in (9.92, 10.0, 10.08):
        molecules = 10.0**5.36 * (1.06 + np.cos(np.radians(rho)) ** 2)
        haze = 6.2e7 / rho**2 if rho < 10.0 else 10.0 ** (6.15 - rho / 40.0)
        assert float(br.moon_scattering(rho)) == pytest.approx(molecules + haze, rel=1e-12)
    assert float(br.moon_scattering(0.0)) == pytest.approx(6.2e7 / 0.25**2 + 2.06 * 10.0**5.36, rel=1e-3)


def test_a_class_keeps_what_was_said_of_its_air() -> None:
    """Extinction and towns given with a darkness class are those of the sky; else the air is a clear night's."""
    towns = (br.Glow(90.0, 19.0),)
    sky = br.sky_of_class(4, extinction_mag_per_airmass=0.31, glows=towns)
    assert (sky.extinction_mag_per_airmass, sky.glows) == (0.31, towns)
    assert br.sky_of_class(4).extinction_mag_per_airmass == pytest.approx(0.23, abs=0.005)
    assert br.sky_of_class(4, elevation_m=2600.0).extinction_mag_per_airmass == pytest.approx(0.12, abs=0.005)
