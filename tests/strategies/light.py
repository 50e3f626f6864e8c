"""Skies, filters and geometry for property tests of the night's light."""

from hypothesis import strategies as st

from sidelight.light.filters import USUAL_FILTERS, Filter
from sidelight.sky.brightness import Glow, NightSky

brightnesses = st.floats(14.0, 22.5)
extinctions = st.floats(0.05, 0.6)
phase_angles = st.floats(0.0, 180.0)
glows = st.builds(
    Glow,
    azimuth_deg=st.floats(0.0, 360.0),
    sky_mag_arcsec2=st.floats(15.0, 21.0),
    altitude_deg=st.floats(10.0, 60.0),
    width_deg=st.floats(20.0, 180.0),
)
skies = st.builds(
    NightSky,
    zenith_mag_arcsec2=brightnesses,
    uncertainty_mag=st.just(0.1),
    source=st.just("drawn"),
    extinction_mag_per_airmass=extinctions,
    glows=st.one_of(st.just(()), st.tuples(glows)),
)
filters = st.one_of(
    st.sampled_from(USUAL_FILTERS),
    st.builds(
        Filter,
        name=st.just("own"),
        centre_nm=st.floats(380.0, 900.0),
        bandwidth_nm=st.floats(2.0, 300.0),
        transmission_fraction=st.floats(0.3, 1.0),
        moonlight_factor=st.one_of(st.none(), st.floats(0.0, 5.0)),
    ),
)
