"""Laws of the advised turn: made on the metal, it brings the camera to its plan, whatever the rig and site."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelight.desk.first_image import turn_of
from sidelight.ground.angles import wrap_180
from sidelight.ledger.turns import turn_to_plan
from sidelight.notebook.read import Notebook, read_notebook
from sidelight.rig.bench import camera_angle_deg, camera_bench_deg, guider_angle_deg, stem_bench_deg
from sidelight.rig.records import Mount

ANGLES = st.floats(0, 360, exclude_max=True)


@pytest.fixture(scope="module")
def book(demo_folder: Path) -> Notebook:
    """Return the demo's notebook."""
    return read_notebook(demo_folder)


@settings(max_examples=60, deadline=None)
@given(
    planned=ANGLES,
    off=st.floats(-90, 90),
    mirrors=st.integers(0, 4),
    newtonian=st.booleans(),
    focuser=ANGLES,
    fork=st.booleans(),
    latitude=st.sampled_from([47.0, -33.0]),
)
def test_the_advised_turn_brings_the_camera_to_its_plan(
    book: Notebook,
    planned: float,
    off: float,
    mirrors: int,
    newtonian: bool,
    focuser: float,
    fork: bool,
    latitude: float,
) -> None:
    """Turning the metal as advised, by bench angles, ends with camera and stem at their plan."""
    telescope = replace(book.rig.telescope, mirrors=mirrors, newtonian=newtonian, focuser_position_deg=focuser)
    rig = replace(book.rig, telescope=telescope, mount=Mount("fork" if fork else "german"))
    there = replace(book, rig=rig, site=replace(book.site, latitude_deg=latitude))
    southern = latitude < 0
    turn = turn_of(there, "camera and guider together", -off)
    counter = {"counter-clockwise": 1.0, "clockwise": -1.0, "none": 0.0}[turn.sense] * turn.by_deg
    top = camera_bench_deg(planned + off, rig, southern=southern) + counter
    stem = stem_bench_deg(planned + 33.0 + off, rig, southern=southern) + counter
    least = 0.051 if turn.sense == "none" else 1e-9
    assert abs(wrap_180(camera_angle_deg(top, rig, southern=southern) - planned)) < least
    assert abs(wrap_180(guider_angle_deg(stem, rig, southern=southern) - planned - 33.0)) < least


@settings(max_examples=40, deadline=None)
@given(off=st.floats(-89, 89), mirrors=st.integers(0, 3))
def test_both_rooms_turn_the_same_way(book: Notebook, off: float, mirrors: int) -> None:
    """The ledger's own turn and the bench's conventions name the same sense."""
    rig = replace(book.rig, telescope=replace(book.rig.telescope, mirrors=mirrors))
    by_bench = turn_of(replace(book, rig=rig), "the camera", -off)
    by_ledger = turn_to_plan(0.0, off, odd_mirrors=bool(mirrors % 2), either_way_up=True)
    assert np.isclose(by_bench.on_sky_deg, by_ledger.on_sky_deg, atol=1e-9)
    if abs(off) >= 0.06:
        assert by_bench.sense == by_ledger.seen_from_behind
