"""The prism's shadow beside plain geometry and numerical integration; photons through real apertures."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate

from sidelight.ground import spans
from sidelight.rig import photometry, shadow
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope

GUIDE = Sensor(1280, 960, 3.75)
CAMERA = Sensor(6000, 4000, 4.0)  # 24 mm wide, 16 mm high
RIG = Rig(Telescope(100, 500), CAMERA, OffAxisGuider(17.0, GUIDE, prism_distance_mm=50.0))


def deep(depth_mm: float) -> Rig:
    """Return a rig whose prism stands this deep in the beam of the sensor's side: radius 5 mm, reach 12 mm at 90°."""
    assert RIG.guider is not None
    return replace(RIG, guider=replace(RIG.guider, stem_radius_mm=12.0 + 5.0 + 4.0 - depth_mm))


@pytest.mark.parametrize("depth_mm", [0.5, 2.0, 5.0, 7.5])
def test_depth_and_loss_of_light(depth_mm: float) -> None:
    """The beam is 50 mm over f/5 wide; the loss is the part of its disc beyond the edge, by integration."""
    rig = deep(depth_mm)
    assert shadow.beam_radius_mm(rig) == pytest.approx(5.0)
    assert float(shadow.shadow_depth_mm(90.0, rig)) == pytest.approx(depth_mm, abs=1e-9)
    area = integrate.quad(lambda x: 2.0 * math.sqrt(25.0 - x**2), 5.0 - depth_mm, 5.0)[0]
    assert float(shadow.shadow_light_loss_fraction(90.0, rig)) == pytest.approx(area / (25.0 * math.pi), abs=1e-7)


def test_all_and_nothing() -> None:
    """Deeper than the whole beam takes all of it, no depth nothing; a prism at the focal plane all or nothing."""
    assert float(shadow.shadow_light_loss_fraction(90.0, deep(11.0))) == pytest.approx(1.0)
    assert float(shadow.shadow_light_loss_fraction(90.0, deep(-0.5))) == 0.0
    for stem_mm, loss in ((15.9, 1.0), (16.1, 0.0)):
        rig = replace(RIG, guider=replace(RIG.guider, prism_distance_mm=0.0, stem_radius_mm=stem_mm))
        assert float(shadow.shadow_light_loss_fraction(90.0, rig)) == loss


@pytest.mark.parametrize("theta_deg", [0.0, 1e-11, 90.0, 180.0, 270.0])
def test_straight_along_an_edge(theta_deg: float) -> None:
    """With the prism square to the sensor its reach is half the sensor's side, whatever the prism's width."""
    assert float(shadow.sensor_reach_mm(theta_deg, RIG)) == pytest.approx(8.0 if theta_deg % 180 < 1 else 12.0)


@pytest.mark.parametrize(("aperture_mm", "obstruction_mm", "cm2"), [(200.0, 100.0, 235.619), (100.0, 0.0, 78.5398)])
def test_the_obstruction_is_lost(aperture_mm: float, obstruction_mm: float, cm2: float) -> None:
    """A ring of 200 mm outside and 100 mm inside has π (10² − 5²) cm²; light and transmissions multiply onto it."""
    telescope = Telescope(aperture_mm, 800, obstruction_mm=obstruction_mm, transmission_fraction=0.9)
    assert photometry.collecting_area_cm2(telescope) == pytest.approx(cm2, rel=1e-5)
    sensor = Sensor(100, 100, 4.0, quantum_efficiency=0.6)
    # V = 0 at the effective wavelength of V: 9955 photons per s, cm² and nm (Bessell, Castelli & Plez 1998)
    expected = 9955.0 * cm2 * 30.0 * 0.9 * 0.6 * 0.5
    assert float(photometry.star_rate_e_per_s(0.0, telescope, sensor, 545.0, 30.0, 0.5)) == pytest.approx(
        expected, rel=1e-5
    )
    pixel_arcsec2 = (206.264806 * 4.0 / 800) ** 2
    surface = float(photometry.surface_rate_e_per_s(0.0, telescope, sensor, 545.0, 30.0, 0.5))
    assert surface == pytest.approx(expected * pixel_arcsec2, rel=1e-5)


def test_the_smallest_aperture_is_one_pixel() -> None:
    """A star narrower than a pixel is measured on one whole pixel, not on less."""
    radius, pixels = photometry.best_aperture_px(0.3)
    assert float(pixels) == pytest.approx(1.0)
    assert float(radius) == pytest.approx(1.0 / math.sqrt(math.pi))


@pytest.mark.parametrize(("well_e", "gain", "expected"), [(50000, 0.5, 32768), (20000, 1.0, 20000), (0, 0.25, 16384)])
def test_whichever_stops_first(well_e: float, gain: float, expected: float) -> None:
    """Sixteen bits count to 65,536: with half an electron a count they end before a well of 50,000 electrons."""
    sensor = Sensor(10, 10, 4.0, full_well_e=well_e, gain_e_per_adu=gain, bits=16)
    assert photometry.well_depth_e(sensor) == pytest.approx(expected)


def test_an_unknown_gain_leaves_the_well() -> None:
    """Without a gain only the well stops a pixel, and with neither nothing does."""
    assert photometry.well_depth_e(Sensor(10, 10, 4.0, full_well_e=9000, gain_e_per_adu=0.0)) == 9000
    assert photometry.well_depth_e(Sensor(10, 10, 4.0, full_well_e=0, gain_e_per_adu=0.0)) == np.inf


def test_the_sky_fills_the_pixel_too() -> None:
    """Star and background share the well: 1000 e/s in the central pixel and 500 e/s of sky fill 15,000 e in 10 s."""
    sensor = Sensor(10, 10, 4.0, full_well_e=15000, gain_e_per_adu=0.0)
    star = 1000.0 / float(photometry.central_pixel_fraction(2.5))
    assert float(photometry.saturation_s(star, 2.5, 500.0, sensor)) == pytest.approx(10.0)


RIGS = [
    replace(RIG, guider=OffAxisGuider(stem_mm, GUIDE, along_mm, across_mm, prism_distance_mm=distance_mm))
    for stem_mm, along_mm, across_mm, distance_mm in (
        (21.0, 8.0, 8.0, 50.0),
        (18.0, 8.0, 8.0, 30.0),
        (19.5, 6.0, 2.0, 40.0),
        (17.0, 8.0, 8.0, 20.0),
        (15.0, 4.0, 14.0, 10.0),
        (16.5, 8.0, 0.5, 10.0),
        (25.0, 8.0, 8.0, 60.0),
    )
]


@pytest.mark.parametrize("rig", RIGS, ids=lambda rig: f"stem {rig.guider.stem_radius_mm:g}")
@pytest.mark.parametrize("upright", [False, True])
def test_free_arcs_by_points_of_the_sensor(rig: Rig, upright: bool) -> None:
    """Angles without shadow are those at which no point of the sensor's edge comes within a beam of the prism."""
    if upright:
        rig = replace(rig, camera=Sensor(4000, 6000, 4.0))
    guider = rig.guider
    assert guider is not None
    a, h = rig.camera.width_mm / 2, rig.camera.height_mm / 2
    side = np.linspace(-1.0, 1.0, 2401)
    edge = np.concatenate([np.column_stack([a * side, 0 * side + s * h]) for s in (-1, 1)])
    edge = np.concatenate([edge, *(np.column_stack([0 * side + s * a, h * side]) for s in (-1, 1))])
    clear_mm = guider.stem_radius_mm - guider.prism_along_mm / 2 - guider.prism_distance_mm / (2 * 5.0)
    theta_deg = np.arange(0.25, 360.0, 0.5)
    t = np.radians(theta_deg)[:, None]
    along = edge[:, 0] * np.sin(t) + edge[:, 1] * np.cos(t)
    across = edge[:, 0] * np.cos(t) - edge[:, 1] * np.sin(t)
    reach = np.max(np.where(np.abs(across) <= guider.prism_across_mm / 2, along, -np.inf), axis=1)
    sure = np.abs(reach - clear_mm) > 0.02
    arcs = shadow.shadow_free_arcs(rig)
    np.testing.assert_array_equal(spans.arcs_contain(arcs, theta_deg)[sure], (reach < clear_mm)[sure])
    np.testing.assert_array_equal(shadow.shadow_free(theta_deg, rig)[sure], (reach < clear_mm)[sure])
    np.testing.assert_allclose(shadow.sensor_reach_mm(theta_deg, rig), reach, atol=0.02)
