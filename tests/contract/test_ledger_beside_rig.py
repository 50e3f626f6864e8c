"""What the ledger measures is in the rig's conventions: turns from behind, and places on the guide sensor."""

import numpy as np
import pytest

from sidelight.ledger.stem_fit import GuideSighting, fit_stem
from sidelight.rig.guider import stem_coordinates_mm
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import Sensor

CAMERA = Sensor(6248, 4176, 3.76)


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
