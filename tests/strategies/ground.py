"""Angles and interval sets for property tests."""

import numpy as np
from hypothesis import strategies as st

angles = st.floats(-1000.0, 1000.0, allow_nan=False)
right_ascensions = st.floats(0.0, 359.999999)
declinations = st.one_of(st.floats(-90.0, 90.0), st.sampled_from([-90.0, 0.0, 90.0]))
span_rows = st.lists(st.tuples(st.floats(-50, 50), st.floats(0, 30)), max_size=8).map(
    lambda rows: np.array([(start, start + length) for start, length in rows]).reshape(-1, 2)
)
arc_rows = st.lists(st.tuples(st.floats(0, 359.9), st.floats(0.01, 200)), max_size=6).map(
    lambda rows: np.array([(start, start + length) for start, length in rows]).reshape(-1, 2)
)
