"""What the ledger measures is in the rig's conventions: turns from behind, and places on the guide sensor."""

import numpy as np
import pytest

from sidelight.ground.angles import wrap_180
from sidelight.ledger.stem_fit import GuideSighting, fit_stem
from sidelight.ledger.turns import turn_to_plan
from sidelight.rig.bench import camera_bench_deg
from sidelight.rig.guider import stem_coordinates_mm
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import Mount, Rig, Sensor, Telescope

CAMERA = Sensor(6248, 4176, 3.76)


@pytest.mark.parametrize("mirrors", [0, 1, 2, 3])
@pytest.mark.parametrize("kind", ["german", "fork"])
@pytest.mark.parametrize("true_deg", [40.0, 88.0, 93.0, 359.0])
def test_a_turn_from_behind_is_the_benchs(mirrors: int, kind: str, true_deg: float) -> None:
    """Bench angles run counter-clockwise from behind: the turn has the sense of their difference."""
    rig = Rig(Telescope(100.0, 700.0, mirrors=mirrors), CAMERA, mount=Mount(kind))
    turn = turn_to_plan(90.0, true_deg, odd_mirrors=bool(mirrors % 2))
    on_bench = float(wrap_180(camera_bench_deg(90.0, rig) - camera_bench_deg(true_deg, rig)))
    assert turn.by_deg == pytest.approx(abs(on_bench))
    assert turn.seen_from_behind == ("counter-clockwise" if on_bench > 0 else "clockwise")


def test_places_on_the_guide_sensor_are_the_rigs() -> None:
    """Stars put on the guide sensor by the rig's formulas give back the stem that put them there, on both sides."""
    random = np.random.default_rng(8)
    focal_mm, radius_mm, camera_deg, stem_offset_deg = 1600.0, 20.0, 75.0, 12.0
    sightings = []
    for side_deg in (0.0, 180.0, 0.0, 180.0):
        ra, dec = random.uniform(20, 340), random.uniform(-60, 60)
        guider_deg = camera_deg + stem_offset_deg + side_deg
        away = np.radians(guider_deg + random.uniform(-4, 4))
        reach_deg = np.degrees(random.uniform(19, 21) / focal_mm)
        star = ra + reach_deg * np.sin(away) / np.cos(np.radians(dec)), dec + reach_deg * np.cos(away)
        u, v = stem_coordinates_mm(*plane_mm(*star, ra, dec, focal_mm), guider_deg)
        place = (float(u) - radius_mm, float(v))
        sightings.append(GuideSighting(camera_deg + side_deg, ra, dec, *map(float, star), *place, 0.01))
    fitted = fit_stem(sightings, focal_mm)
    assert fitted.stem_radius_mm.value == pytest.approx(radius_mm, abs=1e-6)
    assert fitted.stem_offset_deg.value == pytest.approx(stem_offset_deg, abs=1e-6)
    assert (fitted.quarter_turns, fitted.mirrored) == (0, False)
    assert fitted.misfit_mm < 1e-6
