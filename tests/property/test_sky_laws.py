"""Laws of the sky room that hold at every site, date and direction."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.strategies import ground as on_ground
from tests.strategies import sky

from sidelight.ground import spans
from sidelight.ground.angles import separation_deg, unit_vector, wrap_180
from sidelight.sky import airmass, altitude, flip, frames, refraction, time
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.events import night_events
from sidelight.sky.horizon import horizon_from_points
from sidelight.sky.moon import moon_altitude_deg, moon_phase, moon_up_spans
from sidelight.sky.night import dusk_dawn, evening_date, night_of, nights
from sidelight.sky.site import Site
from sidelight.sky.sun import sun_altitude_deg

MILLISECOND_DAYS = 0.001 / 86400
ARCSEC_DEG = 1 / 3600
few = settings(max_examples=40, deadline=None)


@few
@given(sky.sites, sky.dates)
def test_nights_follow_each_other_without_gap(site: Site, date: dt.date) -> None:
    """Each night ends at the very instant at which the next begins, clock changes included, and lasts 24 hours."""
    run = nights(site, date, 400)
    starts, ends = np.array([one.start_mjd for one in run]), np.array([one.end_mjd for one in run])
    assert np.array_equal(starts[1:], ends[:-1])
    assert np.allclose(ends - starts, 1.0, rtol=0, atol=MILLISECOND_DAYS)


@few
@given(sky.sites, sky.dates, st.floats(0.0, 0.999999))
def test_an_instant_belongs_to_the_night_it_lies_in(site: Site, date: dt.date, share: float) -> None:
    """Every instant of a night gives the night's own date back."""
    night = night_of(site, date)
    instant = night.start_mjd + share * (night.end_mjd - night.start_mjd)
    assert evening_date(site, instant) == date


@few
@given(sky.longitudes, sky.dates)
def test_a_night_begins_at_mean_noon_of_its_date(longitude_deg: float, date: dt.date) -> None:
    """Where the clock keeps the longitude's own time, the night begins within 35 minutes of civil noon."""
    hours = round(longitude_deg / 15)
    zone = f"Etc/GMT{-hours:+d}" if hours else "Etc/GMT"
    night = night_of(Site("x", 0.0, longitude_deg, 0.0, zone), date)
    civil_noon = dt.datetime.combine(date, dt.time(12), tzinfo=dt.timezone(dt.timedelta(hours=hours)))
    assert abs(night.start_mjd - time.mjd_from_datetime(civil_noon)) * 24 * 60 < 35


@few
@given(sky.sites, sky.dates)
def test_dark_spans_are_dark_and_nothing_else_is(site: Site, date: dt.date) -> None:
    """Inside the spans the Sun is below the limit, outside it is not; edges are crossings, to 10 ms of its motion."""
    night = night_of(site, date)
    found = dusk_dawn(site, night)
    at = np.linspace(night.start_mjd, night.end_mjd, 289)
    below = sun_altitude_deg(at, site) < site.twilight_deg
    # the Sun moves 0.15″ in 10 ms at the fastest
    near = np.abs(sun_altitude_deg(at, site) - site.twilight_deg) < 0.15 * ARCSEC_DEG
    assert np.all((spans.contains(found.dark, at) == below) | near)
    inner = found.dark[(found.dark > night.start_mjd) & (found.dark < night.end_mjd)]
    assert np.all(np.abs(sun_altitude_deg(inner, site) - site.twilight_deg) < 0.15 * ARCSEC_DEG)


@few
@given(sky.sites, sky.dates)
def test_the_outcome_of_a_night_is_stated(site: Site, date: dt.date) -> None:
    """A night is dark all through, never, or has an edge, and says which; never a time that does not exist."""
    night = night_of(site, date)
    found = dusk_dawn(site, night)
    length_days = spans.total(found.dark)
    if found.kind == "never_dark":
        assert length_days == 0
        assert found.dusk_mjd is None
        assert found.dawn_mjd is None
    elif found.kind == "always_dark":
        assert found.dark.tolist() == [[night.start_mjd, night.end_mjd]]
        assert found.dusk_mjd is None
        assert found.dawn_mjd is None
    else:
        assert 0 < length_days < 1
        assert found.dusk_mjd is not None or found.dawn_mjd is not None


@few
@given(sky.sites, sky.dates)
def test_a_lower_limit_gives_a_shorter_night(site: Site, date: dt.date) -> None:
    """What is dark at -18° is dark at -12°."""
    night = night_of(site, date)
    deep, shallow = dusk_dawn(site, night, -18.0).dark, dusk_dawn(site, night, -12.0).dark
    assert spans.total(spans.intersect(deep, shallow)) == pytest.approx(spans.total(deep), abs=2 * MILLISECOND_DAYS)


@few
@given(sky.sites, sky.dates)
def test_moon_spans_hold_the_moon(site: Site, date: dt.date) -> None:
    """With its centre above -34′ the Moon is up; below -52′ (limb and all) it is down."""
    night = night_of(site, date)
    up = moon_up_spans(site, night)
    at = np.linspace(night.start_mjd, night.end_mjd, 97)
    height = moon_altitude_deg(at, site)
    covered = spans.contains(up, at)
    assert np.all(covered[height > -34 / 60])
    assert not np.any(covered[height < -52 / 60])


@settings(max_examples=12, deadline=None)
@given(sky.sites, sky.dates)
def test_a_year_at_once_is_its_nights_one_by_one(site: Site, date: dt.date) -> None:
    """All nights together give the spans that each night gives alone, to 10 ms, and the shared hours of the Moon."""
    count = 40
    year = year_of_darkness(site, date, count)
    for number in (0, 17, count - 1):
        night = year.nights[number]
        alone, moon = dusk_dawn(site, night), moon_up_spans(site, night)
        together = year.dusk_dawn(number)
        assert together.kind == alone.kind
        assert together.dark.shape == alone.dark.shape
        assert np.all(np.abs(together.dark - alone.dark) < 10 * MILLISECOND_DAYS)
        assert np.all(np.abs(year.moon_up.of(number) - moon) < 10 * MILLISECOND_DAYS)
        assert year.dark_h[number] == pytest.approx(spans.total(alone.dark) * 24, abs=1e-5)
        shared_h = spans.total(spans.intersect(alone.dark, moon)) * 24
        assert year.moon_up_dark_h[number] == pytest.approx(shared_h, abs=1e-5)


@few
@given(sky.sites, sky.dates)
def test_events_come_in_order(site: Site, date: dt.date) -> None:
    """Events are sorted, lie inside the night, and no twilight is deeper before the one above it has come."""
    night = night_of(site, date)
    events = night_events(site, night)
    times = [event.mjd for event in events]
    assert times == sorted(times)
    assert all(night.start_mjd <= one <= night.end_mjd for one in times)
    falling = [event.kind for event in events if event.kind.endswith(("sunset", "dusk"))]
    if abs(site.latitude_deg) < 60:
        wanted = ["sunset", "civil_dusk", "nautical_dusk", "astronomical_dusk"]
        assert falling == wanted[: len(falling)]


@few
@given(sky.altitudes, sky.elevations)
def test_refraction_from_either_side_is_one_model(height_deg: float, elevation_m: float) -> None:
    """True to apparent and back is the same altitude to a microarcsecond, and the air never lowers anything."""
    there = float(refraction.apparent_altitude_deg(height_deg, elevation_m))
    assert there >= height_deg
    assert float(refraction.true_altitude_deg(there, elevation_m)) == pytest.approx(height_deg, abs=3e-10)


@few
@given(sky.altitudes, st.floats(1e-6, 5.0), sky.elevations)
def test_what_is_higher_looks_higher(height_deg: float, step_deg: float, elevation_m: float) -> None:
    """The apparent altitude is a rising function of the true one, from nadir to zenith."""
    assume(height_deg + step_deg <= 90)
    low, high = refraction.apparent_altitude_deg([height_deg, height_deg + step_deg], elevation_m)
    assert high > low


@few
@given(st.floats(0.0, 89.0), st.floats(0.001, 1.0))
def test_airmass_falls_with_altitude(height_deg: float, step_deg: float) -> None:
    """Every model is 1 at the least and never rises with altitude."""
    for model in (airmass.airmass_kasten_young, airmass.airmass_pickering, airmass.airmass_young):
        low, high = model([height_deg, height_deg + step_deg])
        assert low >= high >= 1


@few
@given(sky.hour_angles, st.floats(-60.0, 60.0))
def test_one_flip_rule(hour_angle_deg: float, flip_deg: float) -> None:
    """The side is west from the flip's hour angle to lower transit, whatever turns are added; both forms agree."""
    west = bool(flip.is_west(hour_angle_deg, flip_deg))
    assert west == (flip_deg <= float(wrap_180(hour_angle_deg)) < 180)
    assert str(flip.side_at(hour_angle_deg, flip_deg)) == ("west" if west else "east")


@few
@given(on_ground.right_ascensions, on_ground.declinations, sky.instants, sky.sites)
def test_altitude_is_the_angle_from_the_horizon(ra_deg: float, dec_deg: float, instant: float, site: Site) -> None:
    """True altitude is 90° less the separation from the zenith, which stands at (sidereal time, latitude)."""
    ra, dec = altitude.apparent_place(ra_deg, dec_deg, instant)
    zenith_ra = frames.sidereal_deg(instant, site.longitude_deg)
    expected = 90 - float(separation_deg(ra, dec, zenith_ra, site.latitude_deg))
    true_deg, azimuth_deg = altitude.horizontal_deg(unit_vector(ra, dec), instant, site)
    assert float(true_deg) == pytest.approx(expected, abs=1e-9)
    assert 0 <= float(azimuth_deg) < 360
    seen_deg, seen_azimuth_deg = altitude.altitude_azimuth(ra_deg, dec_deg, instant, site)
    assert float(seen_deg) >= float(true_deg)
    assert float(wrap_180(seen_azimuth_deg - azimuth_deg)) == pytest.approx(0, abs=1e-9)


@few
@given(on_ground.right_ascensions, on_ground.declinations, sky.instants)
def test_apparent_place_stays_near(ra_deg: float, dec_deg: float, instant: float) -> None:
    """Precession moves a place by less than 50.3″ a year, aberration and nutation by less than 40″ more."""
    ra, dec = altitude.apparent_place(ra_deg, dec_deg, instant)
    years = abs(instant - 51544.5) / 365.25
    assert 0 <= float(ra) < 360
    assert float(separation_deg(ra_deg, dec_deg, ra, dec)) < (50.3 * years + 40) * ARCSEC_DEG


@few
@given(st.lists(st.tuples(on_ground.right_ascensions, on_ground.declinations), min_size=1, max_size=5), sky.instants)
def test_many_directions_at_once_are_the_places_one_by_one(places: list[tuple[float, float]], instant: float) -> None:
    """The matrix form agrees with the full form to 0.02″ away from the Sun, whose bending of light it leaves out."""
    ra, dec = np.array(places).T
    at = instant + np.linspace(0.0, 3.0, 5)
    fast = altitude.apparent_directions(unit_vector(ra, dec), at)
    full = unit_vector(*altitude.apparent_place(ra[:, None], dec[:, None], at))
    assert fast.shape == (len(places), 5, 3)
    sun = -frames.sky_frame(at).earth_au
    sun /= np.linalg.norm(sun, axis=-1, keepdims=True)
    away = np.einsum("nj,tj->nt", unit_vector(ra, dec), sun) < np.cos(np.radians(30))
    apart = np.degrees(np.linalg.norm(fast - full, axis=-1))
    assert np.all(apart[away] < 0.02 * ARCSEC_DEG)


@few
@given(sky.instants)
def test_phase_is_one_story(instant: float) -> None:
    """Fraction and phase angle agree; the fraction grows while the Moon is waxing, away from new and full."""
    now, later = moon_phase(instant), moon_phase(instant + 0.1)
    angle = np.radians(now.phase_angle_deg)
    assert float(now.illuminated_fraction) == pytest.approx(float((1 + np.cos(angle)) / 2), abs=1e-12)
    assert 0 <= float(now.illuminated_fraction) <= 1
    if abs(float(wrap_180(now.ahead_deg))) > 8 and abs(float(wrap_180(now.ahead_deg - 180))) > 8:
        assert bool(now.waxing) == bool(later.illuminated_fraction > now.illuminated_fraction)


@few
@given(
    st.lists(st.integers(0, 3599), min_size=1, max_size=12, unique=True),
    st.randoms(use_true_random=False),
    st.floats(-30, 30),
)
def test_skyline_runs_through_its_points(tenths: list[int], random: "np.random.Generator", turn_deg: float) -> None:
    """The skyline has each measured altitude at its true azimuth, and between points none beyond its neighbours'."""
    azimuth = np.array(tenths) / 10
    height = np.array([random.uniform(-5, 60) for _ in tenths])
    skyline = horizon_from_points(azimuth, height, turn_deg)
    assert np.allclose(skyline.altitude_at(azimuth + turn_deg), height, rtol=0, atol=1e-6)
    everywhere = skyline.altitude_at(np.linspace(-360, 720, 500))
    rounding_deg = 1e-9
    assert np.max(everywhere) <= skyline.highest_deg + rounding_deg
    assert np.min(everywhere) >= skyline.lowest_deg - rounding_deg


@few
@given(st.integers(0, 2000), st.floats(0.0, 1.0))
def test_nodes_hold_what_they_stand_for(day: int, share: float) -> None:
    """Interpolating the sky's frame between nodes adds less than 0.1 milliarcsecond to any direction."""
    tt = 60000.0 + day + share + np.linspace(0, 4, 60)
    through = frames.to_date_matrix(tt)
    alone = np.concatenate([frames.to_date_matrix(tt[:1]), frames.to_date_matrix(tt[30:31])])
    worst_rad = np.max(np.abs(through[[0, 30]] - alone))
    assert np.degrees(worst_rad) * 3600 < 0.0001
