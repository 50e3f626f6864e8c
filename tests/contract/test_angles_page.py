"""docs/angles.md: its drawings and its table are current, and every rule that it states is what the code does."""

import re
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from tests.contract.test_reference_pages import builder

from sidelight.rig.bench import (
    bench_of_clock_deg,
    camera_bench_deg,
    camera_width_bench_deg,
    gauge_reading,
    pole_of_date_turn_deg,
    sky_of_bench_deg,
    stem_bench_deg,
    up_position_angle_deg,
)
from sidelight.rig.records import Mount, Tolerances

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "angles.md").read_text(encoding="utf-8")
EVERY_DEG = np.arange(0.0, 360.0, 7.3)


@pytest.fixture(scope="module")
def made() -> ModuleType:
    """Return the builder of the drawings."""
    return builder("build_angle_drawings")


def test_the_drawings_are_current(made: ModuleType) -> None:
    """Each drawing is what its builder draws now (python builders/build_angle_drawings.py), and the page shows it."""
    drawn = made.drawings()
    assert re.findall(r"\(pictures/(angles-[a-z]+\.svg)\)", PAGE) == list(drawn)
    for name, svg in drawn.items():
        assert (ROOT / "docs" / "pictures" / name).read_text(encoding="utf-8") == svg, name


def test_the_rings_and_measures_are_current() -> None:
    """Rings, stem and the table of errors are the demo's own now (python builders/build_dial_drawings.py)."""
    made = builder("build_dial_drawings")
    demo = made.the_demo()
    for name, svg in made.drawings(demo).items():
        assert f"(pictures/{name})" in PAGE
        assert (ROOT / "docs" / "pictures" / name).read_text(encoding="utf-8") == svg, name
    assert made.page(demo) == PAGE
    assert made.still_lit(demo, 0.0) == 10


def test_the_worked_example_is_current(made: ModuleType) -> None:
    """The table of the page is what the code gives."""
    assert made.page() == PAGE
    assert made.worked_example().count("\n") >= 8


def test_the_rules_of_the_bench_are_the_codes(made: ModuleType) -> None:
    """Stem g + 90°, top p − 90°, long side p from up; an odd number of mirrors turns b into −b."""
    even, odd = made.the_rig(), made.the_rig(mirrors=1)
    for rule in (
        "stem: *b* = *g* + 90°",
        "*b* = *p* − 90°",
        "the sensor's long side lies at *p* from up",
        "becomes −*b*",
    ):
        assert rule in PAGE
    np.testing.assert_allclose(stem_bench_deg(EVERY_DEG, even), (EVERY_DEG + 90) % 360, atol=1e-9)
    np.testing.assert_allclose(camera_bench_deg(EVERY_DEG, even), (EVERY_DEG - 90) % 360, atol=1e-9)
    np.testing.assert_allclose(camera_width_bench_deg(EVERY_DEG, even), EVERY_DEG % 180, atol=1e-9)
    for there in (stem_bench_deg, camera_bench_deg):
        np.testing.assert_allclose(there(EVERY_DEG, odd), -there(EVERY_DEG, even) % 360, atol=1e-9)


def test_what_up_is_on_the_sky(made: ModuleType) -> None:
    """East for targets in the west in both hemispheres; on a fork 0° in the north and 180° in the south."""
    for words in ("position angle 90°, east", "north is to the right", "0° in the north, 180°\n  in the south"):
        assert words in PAGE
    german, fork = Mount("german"), Mount("fork")
    assert up_position_angle_deg(german) == up_position_angle_deg(german, southern=True) == 90.0
    assert float(sky_of_bench_deg(bench_of_clock_deg(3), made.the_rig())) == pytest.approx(0.0)
    assert (up_position_angle_deg(fork), up_position_angle_deg(fork, southern=True)) == (0.0, 180.0)
    assert up_position_angle_deg(german, "east") == 270.0


def test_the_gauges_rule() -> None:
    """|90° − (b mod 180°)| is what the gauge is said to read, everywhere."""
    assert "reads |90° − (*b* mod 180°)|" in PAGE
    for bench in EVERY_DEG:
        assert gauge_reading(float(bench)).tilt_deg == pytest.approx(abs(90 - bench % 180))


def test_the_figures_of_the_page() -> None:
    """The tolerances and the turn between the two norths are the code's."""
    assert "good to about 0.1°" in PAGE
    assert "a notebook reckons with 0.1° and 0.5°" in PAGE
    assert (Tolerances().gauge_deg, Tolerances().seat_deg) == (0.1, 0.5)
    told = re.search(
        r"in 2026 that is\s+([\d.]+)° at most at the equator, and ([\d.]+)° at a declination of 70°", PAGE
    )
    assert told is not None
    turns = np.abs([pole_of_date_turn_deg(np.arange(0.0, 360.0), dec, 26.0) for dec in (0.0, 70.0)]).max(axis=1)
    assert turns[0] == pytest.approx(float(told[1]), abs=0.001)
    assert turns[1] == pytest.approx(float(told[2]), abs=0.01)
