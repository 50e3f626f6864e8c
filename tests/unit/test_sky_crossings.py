"""Arcs of hour angle in cases that can be worked out by hand."""

import numpy as np
import pytest

from sidelight.sky.crossings import hour_angle_arcs, usable_sky
from sidelight.sky.horizon import FLAT, Horizon, horizon_from_points
from sidelight.sky.refraction import refraction_of_apparent_deg
from sidelight.sky.site import Site


def site_at(latitude_deg: float, floor_deg: float = 30.0, horizon: Horizon = FLAT) -> Site:
    """Return a site at sea level."""
    return Site("hand", latitude_deg, 0.0, 0.0, "UTC", horizon, floor_deg)


@pytest.mark.parametrize("latitude_deg", [-52.0, -10.0, 0.0, 35.0, 60.0])
@pytest.mark.parametrize("dec_deg", [-25.0, 0.0, 12.0, 33.0])
def test_a_flat_floor_by_the_formula_of_the_hour_angle(latitude_deg: float, dec_deg: float) -> None:
    """Over a level floor the arc is ±H with cos H = (sin h − sin φ sin δ) / (cos φ cos δ) (Meeus 15.1)."""
    h = np.radians(30.0 - refraction_of_apparent_deg(30.0))
    phi, dec = np.radians(latitude_deg), np.radians(dec_deg)
    cosine = (np.sin(h) - np.sin(phi) * np.sin(dec)) / (np.cos(phi) * np.cos(dec))
    arcs = hour_angle_arcs(dec_deg, site_at(latitude_deg)).of(0)
    if cosine > 1:
        assert len(arcs) == 0
    else:
        half = np.degrees(np.arccos(cosine))
        assert arcs == pytest.approx(np.array([[-half, half]]), abs=2e-6)


def test_circumpolar_and_never_rising() -> None:
    """An object above the floor at lower transit has the whole circle, one below it at upper transit nothing."""
    arcs = hour_angle_arcs([85.0, 25.0, -25.0], site_at(50.0))
    assert arcs.of(0).tolist() == [[-180.0, 180.0]]
    assert len(arcs.of(1)) == 1
    assert len(arcs.of(2)) == 0


@pytest.mark.parametrize("pole", [90.0, -90.0])
def test_at_a_pole_height_is_declination(pole: float) -> None:
    """At a pole an object above the floor stays there for ever, one below never comes up."""
    arcs = hour_angle_arcs([np.copysign(40.0, pole), np.copysign(20.0, pole), 0.0], site_at(pole))
    assert np.diff(arcs.offsets).tolist() == [1, 0, 0]
    assert arcs.end_deg[0] - arcs.start_deg[0] == 360.0


def test_a_chimney_cuts_the_arc_in_two() -> None:
    """A narrow obstacle in the south hides an object around upper transit, a skyline of one point hides nothing."""
    chimney = horizon_from_points([170.0, 175.0, 185.0, 190.0], [0.0, 80.0, 80.0, 0.0])
    whole = hour_angle_arcs(10.0, site_at(50.0)).of(0)
    parted = hour_angle_arcs(10.0, site_at(50.0, horizon=chimney)).of(0)
    assert len(whole) == 1
    assert len(parted) == 2
    assert parted[0, 1] == pytest.approx(-parted[1, 0], abs=1e-5)
    assert [parted[0, 0], parted[1, 1]] == pytest.approx(whole[0].tolist(), abs=1e-5)


def test_an_obstacle_in_the_north_cuts_lower_transit() -> None:
    """What is hidden around lower transit only has one arc that starts in the west half and ends beyond 180°."""
    tower = horizon_from_points([-5.0, -4.0, 4.0, 5.0], [0.0, 60.0, 60.0, 0.0])
    arcs = hour_angle_arcs(75.0, site_at(50.0, horizon=tower)).of(0)
    assert len(arcs) == 1
    assert arcs[0, 1] - arcs[0, 0] > 300.0
    assert arcs[0, 0] == pytest.approx(-arcs[0, 1], abs=1e-5)


def test_a_mast_in_the_north_is_passed_in_minutes() -> None:
    """A mast half a degree wide hides lower transit for about as long as the object takes to go behind it.

    At lower transit azimuth goes by cos(declination) / cos(altitude) of the hour angle (spherical trigonometry).
    """
    mast = horizon_from_points([-0.26, -0.25, 0.25, 0.26], [0.0, 60.0, 60.0, 0.0])
    for dec_deg in (60.0, 70.0, 75.0):
        arcs = hour_angle_arcs(dec_deg, site_at(50.0, floor_deg=5.0, horizon=mast)).of(0)
        hidden_deg = 360.0 - (arcs[0, 1] - arcs[0, 0])
        per_degree = np.cos(np.radians(dec_deg)) / np.cos(np.radians(dec_deg - 40.0))
        assert len(arcs) == 1
        assert 0.5 < hidden_deg * per_degree < 0.525
        assert arcs[0, 0] == pytest.approx(-arcs[0, 1], abs=1e-5)


def test_a_sky_that_is_walled_in() -> None:
    """Behind walls of 89° on all sides only what culminates near the zenith can be used."""
    walls = horizon_from_points([0.0, 120.0, 240.0], [89.0, 89.0, 89.0])
    arcs = hour_angle_arcs([50.0, 50.9, 51.1, 10.0, 90.0], site_at(50.0, horizon=walls))
    assert np.diff(arcs.offsets).tolist() == [1, 1, 0, 0, 0]


def test_the_site_is_worked_out_once() -> None:
    """The same site gives the same object, another floor another one."""
    site = site_at(50.0)
    assert usable_sky(site) is usable_sky(site)
    assert usable_sky(site_at(50.0, floor_deg=20.0)) is not usable_sky(site)
