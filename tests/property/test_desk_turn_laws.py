"""Laws of the advised turn: made on the metal, it brings the camera to its plan, whatever the rig and site."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelight.desk.first_image_report import turn_of
from sidelight.ground.angles import wrap_180
from sidelight.ledger.turns import Side, as_in_west_deg
from sidelight.notebook.read import Notebook
from sidelight.rig.bench import camera_angle_deg, camera_bench_deg, guider_angle_deg, stem_bench_deg
from sidelight.rig.records import Mount

ANGLES = st.floats(0, 360, exclude_max=True)


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


@pytest.mark.parametrize(
    ("planned", "true", "side", "mirrors", "sense", "by"),
    [
        (90.0, 88.6, "west", 0, "counter-clockwise", 1.4),
        (90.0, 91.4, "west", 2, "clockwise", 1.4),
        (90.0, 88.6, "west", 1, "clockwise", 1.4),
        (90.0, 268.6, "east", 0, "counter-clockwise", 1.4),
        (1.0, 359.0, "west", 0, "counter-clockwise", 2.0),
        (90.0, 270.0, "east", 3, "none", 0.0),
    ],
)
def test_which_way_to_turn(
    book: Notebook, planned: float, true: float, side: Side, mirrors: int, sense: str, by: float
) -> None:
    """An angle too small is put right counter-clockwise from behind, on either side; an odd mirror reverses that."""
    rig = replace(book.rig, telescope=replace(book.rig.telescope, mirrors=mirrors))
    turn = turn_of(replace(book, rig=rig), "the camera", float(wrap_180(planned - as_in_west_deg(true, side))))
    assert turn.sense == sense
    assert turn.by_deg == pytest.approx(by)
