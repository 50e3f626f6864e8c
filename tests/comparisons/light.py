"""Light: moonlight, photons, noise, weights and effective hours, each beside a reference from outside."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from tests.comparisons.records import Cases, Comparison, joined, per_cent
from tests.comparisons.rotation import rotation_as_packed
from tests.reference.test_light_hours_published import CASES, FILTER, K_V, ZENITH, astropy_weights

from sidelight.ground.types import FloatArray
from sidelight.light import exposure
from sidelight.light.hours import effective_hours
from sidelight.light.weight import directions, weights
from sidelight.rig import photometry
from sidelight.rig.guide_light import GuideLight, guide_limit_mag
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope
from sidelight.sky import brightness
from sidelight.sky.moon import moon_altitude_deg, moon_phase
from sidelight.sky.site import Site
from sidelight.sky.sun import sun_altitude_deg

SKY = brightness.measured_sky(ZENITH, extinction_mag_per_airmass=K_V)
WINDOW_DAYS = 4.5 / 24.0
MORE_SITES = [
    Site("Finland", 61.5, 23.8, 100.0, "Europe/Helsinki"),
    Site("Tenerife", 28.3, -16.5, 2390.0, "Atlantic/Canary"),
    Site("Kenya", 0.0, 37.0, 1800.0, "Africa/Nairobi"),
    Site("Namibia", -23.2, 16.4, 1800.0, "Africa/Windhoek"),
    Site("Patagonia", -45.9, -67.5, 50.0, "America/Argentina/Buenos_Aires"),
]
DRAWS = 100_000
DRAWN_PERCENT = 1.0
DRAWN = f"a spread from {DRAWS:,} draws is good to 0.22 %; four and a half times that"


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of light."""
    yield from _hours()
    yield from _drawn()
    yield from _sky()
    yield from _photons()


def _sky() -> Iterator[Comparison]:
    """Yield sky brightness and moonlight."""
    rho, z, printed = np.array([[5, 55, 7216], [30, 30, 1160], [60, 0, 530]], dtype=np.float64).T
    yield Comparison(
        "sky",
        "light",
        "moonlight on the sky",
        "Krisciunas & Schaefer 1991, table 2 as printed",
        "%",
        per_cent(brightness.moonlight_nl(rho, z, 60.0, 30.0, 0.172), printed),
        0.1,
        "printed to whole nanolamberts, 0.1 % of 530",
        remark="their equations; against real skies the authors state 8 to 23 %",
    )
    simulated = float(brightness.mag_from_nl(brightness.moonlight_nl(50.0, 20.0, 70.0, 45.0, 0.15)))
    reference, reason = "doctest of specsim, 19.855 mag/arcsec²", "given to 0.001 mag"
    yield Comparison(
        "sky", "light", "moonlight on the sky", reference, "mag", _one(simulated - 19.855), 0.001, reason
    )
    z = float(np.degrees(np.arccos(1 / 1.5)))
    brighter = 2.5 * np.log10(float(brightness.airglow_nl(z, 1.0, 0.12)))
    yield Comparison(
        "sky",
        "light",
        "moonless sky at airmass 1.5",
        "Benn & Ellison 1998, La Palma: 0.25 mag brighter",
        "mag",
        _one(brighter - 0.25),
        0.15,
        "the model lets all of the sky's light brighten as airglow does, while a part is starlight",
        Cases(np.array([28.8])),
    )
    candela = brightness.nl_from_mag(np.array([22.0, 21.9])) * 1e-9 * 1e4 / np.pi * 1e3
    yield Comparison(
        "sky",
        "light",
        "nanolamberts of a magnitude",
        "sky meters' convention, 10.8e4 · 10^(−0.4 µ) cd/m²",
        "%",
        per_cent(candela, [0.1712, 0.1877]),
        1.0,
        "two conventions for the brightness of a star of magnitude 0, known to 1 %",
    )


def _photons() -> Iterator[Comparison]:
    """Yield photon rates and the CCD equation."""
    faint = float(photometry.photon_flux_per_nm(23.90, 545.0)) * 1e4 * 0.16 * 545.0
    erg = 3.631e-9 / (6.62607015e-27 * 2.99792458e10 / 545e-7) * 10.0
    yield Comparison(
        "rig",
        "light",
        "photons of a star",
        "2.42 photons of V 23.90 (Bessell 1979); the energy of V = 0 (Bessell et al. 1998)",
        "%",
        per_cent([faint, float(photometry.photon_flux_per_nm(0.0, 545.0))], [2.42, erg]),
        1.5,
        "the two zero points differ by 1 %; 2.42 has three figures",
        remark="a real camera's rates are known to some 20 %",
    )
    given = (1500.0, 20.0, 22.5, 126.0, 12.0)
    plain = float(photometry.ccd_noise_e(*given, background_pixels_count=200))
    rounded = float(photometry.ccd_noise_e(*given, background_pixels_count=200, gain_e_per_adu=1.5))
    yield Comparison(
        "rig",
        "light",
        "noise by the CCD equation",
        "tests of stellarphot (89.078616 e, 89.10182 e)",
        "%",
        per_cent([plain, rounded], [89.078616, 89.10182]),
        1e-5,
        "given to seven figures",
    )
    source = 24013 * 5.0
    howell = source / float(photometry.ccd_noise_e(source, 1.0, 620 * 5.0, 22 * 300 / 3600, 5.0))
    star = 25.0 / float(photometry.ccd_noise_e(25.0, 1.0, 0.0, 0.0, 0.0))
    yield Comparison(
        "rig",
        "light",
        "signal-to-noise by the CCD equation",
        "Howell, Handbook of CCD Astronomy 4.4 (342, from memory); astropy's test (5)",
        "%",
        per_cent([howell, star], [342.0, 5.0]),
        0.3,
        "342 has three figures",
    )


@dataclass(frozen=True)
class _Watch:
    """A target over a site from an instant on."""

    site: Site
    ra_deg: float
    dec_deg: float
    start_mjd: float


def _watches() -> list[_Watch]:
    """Return windows in the dark from 62° north to 46° south, with Moons of several ages, high or low."""
    found = [_Watch(*case) for case in CASES]
    random = np.random.default_rng(12)
    for site in MORE_SITES:
        while True:
            start = float(random.uniform(52_700.0, 68_300.0))
            times = start + np.linspace(0.0, WINDOW_DAYS, 28)
            ra, dec = float(random.uniform(0, 360)), float(site.latitude_deg + random.uniform(-50, 50))
            seen = directions(site, ra, dec, times)
            dark = np.max(sun_altitude_deg(times, site)) < -18.5
            clear_of_step = np.min(np.abs(seen.moon_separation_deg - 10.0)) > 1.0
            if not dark or np.min(seen.altitude_deg) < 15.0 or not clear_of_step:
                continue
            # a Moon that matters: up for a part at least, and not the thinnest
            if np.max(moon_altitude_deg(times, site)) > 5.0 and moon_phase(start).illuminated_fraction > 0.2:
                found.append(_Watch(site, ra, dec, start))
                break
    return found


def _hours() -> Iterator[Comparison]:
    """Yield weights and effective hours."""
    ours, theirs, sampled, integrals, outside = [], [], [], [], []
    watches = _watches()
    for one in watches:
        where = (one.site, one.ra_deg, one.dec_deg)
        every_two_minutes = one.start_mjd + (np.arange(135) + 0.5) * WINDOW_DAYS / 135
        ours.append(_weights(one, every_two_minutes[::13]))
        with rotation_as_packed():
            outside_weights = astropy_weights(*where, every_two_minutes)
        theirs.append(outside_weights[::13])
        outside.append(float(np.mean(outside_weights)) * 4.5)
        middles = one.start_mjd + (np.arange(1620) + 0.5) * WINDOW_DAYS / 1620
        sampled.append(float(np.mean(_weights(one, middles))) * 4.5)
        window = (np.array([edge]) for edge in (one.start_mjd, one.start_mjd + WINDOW_DAYS, *where[1:]))
        integrals.append(float(effective_hours(one.site, SKY, [FILTER], *window).effective_h[0, 0]))
    cases = Cases(
        np.array([one.site.latitude_deg for one in watches]),
        np.array([one.dec_deg for one in watches]),
        np.array([one.start_mjd for one in watches]),
    )
    off = per_cent(joined(ours), joined(theirs))
    remark = "the papers' equations written out again; largest at moonrise, by the Moon's place"
    reason = "18.3″ of the Moon's theory, and ERFA's refraction below 5°, are 1 % of a rising Moon's light"
    reference = "astropy's places of target and Moon"
    yield Comparison("light", "light", "weight of an instant", reference, "%", off, 1.0, reason, cases, remark)
    off = per_cent(np.array(integrals), np.array(outside))
    reference = "astropy's weights every two minutes"
    reason = "as the weight's, and the two minutes about the Moon's rising"
    yield Comparison("light", "light", "effective hours of a window", reference, "%", off, 1.0, reason, cases)
    off = 3600.0 * (np.array(integrals) - np.array(sampled))
    reference, reason = "our own weights sampled every 10 s", "what the model's words promise"
    yield Comparison("light", "light", "effective hours of a window", reference, "s", off, 2.0, reason, cases)


def _weights(one: _Watch, mjd: FloatArray) -> FloatArray:
    """Return our weights of instants."""
    return weights(one.site, SKY, FILTER, one.ra_deg, one.dec_deg, mjd)


def _drawn() -> Iterator[Comparison]:
    """Yield noise and the guider's reach against exposures drawn electron by electron."""
    random = np.random.default_rng(13)
    reference = "electrons drawn at random (NumPy's Poisson)"
    off = per_cent(*np.array([_star(random) for _ in range(40)]).T)
    yield Comparison("rig", "light", "noise of a star", reference, "%", off, DRAWN_PERCENT, DRAWN)
    off = per_cent(*np.array([_nebula(random) for _ in range(40)]).T)
    model = "signal-to-noise of a nebula's pixel after hours"
    yield Comparison("light", "light", model, reference, "%", off, DRAWN_PERCENT, DRAWN)
    off = np.array([_reach_mag(random) for _ in range(16)])
    model, reference = "the guider's faintest star", "guide pictures drawn at random, star by star"
    reason = f"{DRAWN}, in magnitudes"
    remark = "rates as given; a real camera's are known to 20 %, 0.3 mag with the star's colour"
    yield Comparison("rig", "light", model, reference, "mag", off, 0.012, reason, remark=remark)


def _star(random: np.random.Generator) -> tuple[float, float]:
    """Return (ours, drawn): the noise of a star in an aperture whose sky is taken from a ring about it."""
    pixels, ring = int(random.integers(5, 120)), int(random.integers(100, 2000))
    source, sky, dark = random.uniform([20, 0, 0], [20_000, 400, 50])
    read_noise = float(random.uniform(0.8, 12.0))
    inside = random.poisson(source + pixels * (sky + dark), DRAWS) + random.normal(
        0, read_noise * math.sqrt(pixels), DRAWS
    )
    about = random.poisson(ring * (sky + dark), DRAWS) + random.normal(0, read_noise * math.sqrt(ring), DRAWS)
    measured = inside - about * pixels / ring
    ours = photometry.ccd_noise_e(source, pixels, sky, dark, read_noise, background_pixels_count=ring)
    return float(ours), float(np.std(measured))


def _nebula(random: np.random.Generator) -> tuple[float, float]:
    """Return (ours, drawn): the signal-to-noise of one pixel of a stack whose background is known."""
    sky, dark, read_noise, shines = random.uniform([0.02, 0.0, 0.8, 0.005], [5.0, 0.05, 9.0, 1.0])
    exposure_s, frames = float(random.choice([30.0, 120.0, 300.0, 600.0])), int(random.integers(20, 400))
    seconds = exposure_s * frames
    background = (sky + dark) * seconds
    stack = random.poisson(shines * seconds + background, DRAWS) + random.normal(
        0, read_noise * math.sqrt(frames), DRAWS
    )
    signal = shines * seconds
    rates = exposure.Rates(float(sky), float(dark), float(read_noise), float(shines))
    ours = exposure.snr_per_pixel(rates, seconds / 3600.0, exposure_s)
    return float(ours), signal / float(np.std(stack - background))


def _reach_mag(random: np.random.Generator) -> float:
    """Return how much fainter than drawn the guider's limit is: a star at our limit in drawn pictures.

    The star's rate is written out again from Bessell et al. 1998; its image is a Gaussian of which half a million
    electrons are drawn to see how many fall into a circle of 0.68 FWHM; the guiding box (or four circles) gives the
    sky that is taken off.
    """
    guide = Sensor(1280, 960, 3.75, quantum_efficiency=0.7, dark_e_per_s=0.4, gain_e_per_adu=0.0)
    guide = replace(guide, read_noise_e=float(random.uniform(1.0, 6.0)))
    aperture_mm, ratio = float(random.uniform(60, 300)), float(random.uniform(4, 9))
    rig = Rig(
        Telescope(aperture_mm, aperture_mm * ratio),
        Sensor(4000, 3000, 3.8),
        OffAxisGuider(20.0, guide, prism_distance_mm=10.0),
    )
    light = GuideLight(
        exposure_s=float(random.uniform(0.5, 6.0)),
        seeing_arcsec=float(random.uniform(1.5, 5.0)),
        sky_mag_arcsec2=float(random.uniform(17.0, 21.5)),
        least_snr=float(random.uniform(5.0, 25.0)),
    )
    scale = 206.264806 * 3.75 / (aperture_mm * ratio)
    fwhm = math.sqrt(light.seeing_arcsec**2 + light.off_axis_arcsec**2 + (1.02 * 0.6 / aperture_mm * 206.264806) ** 2)
    fwhm_px = fwhm / scale
    zero = 9955.0 + (7020.0 - 9955.0) * (600.0 - 545.0) / (641.0 - 545.0)
    grasp = math.pi / 4 * (aperture_mm / 10) ** 2 * 400.0 * 0.8 * 0.7 * light.exposure_s
    star = zero * 10 ** (-0.4 * (guide_limit_mag(rig, light) + light.extinction_mag)) * grasp
    background = zero * 10 ** (-0.4 * light.sky_mag_arcsec2) * grasp * scale**2 + 0.4 * light.exposure_s
    radius = 0.68 * fwhm_px
    pixels = math.pi * radius**2
    box = max(rig.tolerances.guide_box_px**2, 4 * pixels)
    share = np.mean(np.hypot(*random.normal(0, fwhm_px / 2.354820, (2, 500_000))) <= radius)
    noise = guide.read_noise_e * math.sqrt(pixels)
    inside = random.poisson(star * share + pixels * background, DRAWS) + random.normal(0, noise, DRAWS)
    about = random.poisson(box * background, DRAWS) + random.normal(0, guide.read_noise_e * math.sqrt(box), DRAWS)
    measured = inside - about * pixels / box
    return 2.5 * math.log10(float(np.mean(measured) / np.std(measured)) / light.least_snr)


def _one(value: float) -> np.ndarray:
    """Return one difference as an array."""
    return np.array([value])
