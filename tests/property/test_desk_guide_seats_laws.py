"""However the guide camera is seated: the right stem, or none."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.guide_spots import CAMERA_DEG, DAY, TrueStem, frame_at, rig_with, spots_of, stems

from sidelight.desk.sightings import recognise, stem_fit
from sidelight.ground.angles import turn_deg
from sidelight.notebook.read import Notebook
from sidelight.rig.guider import guider_of

PLACES = st.tuples(st.floats(0.0, 360.0), st.floats(-70.0, 70.0))


@pytest.mark.parametrize("told", [False, True])
@given(
    stem=stems,
    places=st.lists(st.tuples(PLACES, st.sampled_from(["east", "west"])), min_size=1, max_size=3),
    named=st.booleans(),
    of_each=st.integers(1, 2),
    focal_mm=st.sampled_from([600.0, 1000.0, 1600.0]),
    seed=st.integers(0, 2**32 - 1),
)
@settings(max_examples=50, deadline=None)
def test_the_right_stem_or_none(
    book: Notebook,
    told: bool,
    stem: TrueStem,
    places: list[tuple[tuple[float, float], str]],
    named: bool,
    of_each: int,
    focal_mm: float,
    seed: int,
) -> None:
    """Whatever seat, offset, radius and tilt: a stem that is fitted is the true one within its error."""
    notebook = rig_with(book, focal_mm, stem.picture if told else None)
    frames = tuple(frame_at(place, side, f"{n}.fits") for n, (place, side) in enumerate(places))
    random = np.random.default_rng(seed)
    spots = spots_of(notebook, stem, frames, named=named, random=random, of_each=of_each)
    stars = recognise(notebook, DAY, spots)
    fit = stem_fit(notebook, stars, 0.0)
    if fit is None:
        assert stars.notes or not spots
        return
    assert stars.picture == stem.picture
    off_deg = abs(turn_deg(stem.guider_angle_deg - CAMERA_DEG, fit.stem_offset_deg.value))
    longer_mm = fit.stem_radius_mm.value - guider_of(notebook.rig).stem_radius_mm - stem.longer_mm
    # a tilt of two degrees is twice what the fit's prior takes it for
    assert off_deg < 4.5 * (fit.stem_offset_deg.error or 0.0)
    assert abs(longer_mm) < 4.5 * (fit.stem_radius_mm.error or 0.0)
