"""Cones and small skies for property tests of star catalogues."""

import numpy as np
from hypothesis import strategies as st
from hypothesis.extra import numpy as st_arrays
from tests.strategies.ground import declinations, right_ascensions

cones = st.tuples(
    st.one_of(right_ascensions, st.sampled_from([0.0, 360.0, 1e-9, 359.9999999])),
    declinations,
    st.one_of(st.floats(0.0, 5.0), st.floats(0.0, 180.0), st.sampled_from([0.0, 90.0, 180.0])),
)


@st.composite
def skies(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Draw up to 60 stars, many of them near the poles and near right ascension 0."""
    count = draw(st.integers(0, 60))
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    where = draw(st_arrays.arrays(np.int64, count, elements=st.integers(0, 3)))
    ra = random.uniform(0.0, 360.0, count)
    dec = np.degrees(np.arcsin(random.uniform(-1.0, 1.0, count)))
    small = random.exponential(0.5, count)
    dec = np.where(where == 1, 90.0 - small, np.where(where == 2, small - 90.0, dec))
    ra = np.where(where == 3, np.mod(random.normal(0.0, 0.2, count), 360.0), ra)
    return ra, np.clip(dec, -90.0, 90.0), random.uniform(0.0, 14.0, count)


@st.composite
def fields(draw: st.DrawFn) -> tuple[float, float, float, float]:
    """Draw an annulus (ra, dec, inner, outer), often near a pole or right ascension 0."""
    outer = draw(st.floats(0.2, 2.0))
    inner = draw(st.one_of(st.just(0.0), st.floats(0.0, 0.9).map(lambda share: share * outer)))
    ra = draw(st.one_of(right_ascensions, st.sampled_from([0.0, 359.99])))
    dec = draw(st.one_of(st.floats(-85.0, 85.0), st.sampled_from([-90.0, -89.5, 89.9, 90.0])))
    return ra, dec, inner, outer
