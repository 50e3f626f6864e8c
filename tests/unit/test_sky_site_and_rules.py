"""Sites and skylines are checked as a whole; airmass, refraction and the flip at their edges."""

from dataclasses import replace

import numpy as np
import pytest

from sidelight.ground.errors import BadInput
from sidelight.sky import airmass, flip, refraction
from sidelight.sky.horizon import FLAT, check_points, horizon_from_points
from sidelight.sky.site import Site, check_site, site_doubts

GOOD = Site("garden", 48.1, 11.6, 520.0, "Europe/Berlin")


def test_a_good_site_has_no_problem_and_no_doubt() -> None:
    """A sound site passes."""
    assert check_site(GOOD) == ()
    assert site_doubts(GOOD) == ()


def test_all_problems_of_a_site_at_once() -> None:
    """Each wrong value is named by its key, all in one go."""
    bad = Site(" ", 91.0, float("nan"), 1e6, "Europe/Berlim", floor_deg=-1.0, twilight_deg=float("inf"))
    found = check_site(bad)
    keys = {problem.key for problem in found}
    assert keys == {"name", "latitude_deg", "longitude_deg", "elevation_m", "time_zone", "floor_deg", "twilight_deg"}
    zone = next(problem for problem in found if problem.key == "time_zone")
    assert zone.suggestion is not None
    assert "Europe/Berlin" in zone.suggestion
    assert all(problem.expected for problem in found)


@pytest.mark.parametrize("latitude_deg", [-90.0, 90.0])
def test_the_poles_are_sites(latitude_deg: float) -> None:
    """Both poles pass, and their longitude raises no doubt."""
    pole = replace(GOOD, latitude_deg=latitude_deg, longitude_deg=-120.0)
    assert check_site(pole) == ()
    assert site_doubts(pole) == ()


def test_a_longitude_of_the_wrong_sign_is_doubted() -> None:
    """Denver typed with a positive longitude lies 14 hours from its clock: allowed, but asked about."""
    slip = Site("Denver", 39.7, 105.0, 1600.0, "America/Denver")
    assert check_site(slip) == ()
    assert len(site_doubts(slip)) == 1
    assert "east is positive" in site_doubts(slip)[0]
    assert site_doubts(replace(slip, longitude_deg=-105.0)) == ()


def test_a_skyline_with_swapped_columns_is_doubted() -> None:
    """A skyline that leaves no sky below 60° is asked about."""
    walled = replace(GOOD, horizon=horizon_from_points([0, 10, 20], [60, 70, 80]))
    assert "columns" in site_doubts(walled)[0]


def test_the_usable_altitude_is_the_higher_of_skyline_and_floor() -> None:
    """A tree above the floor counts, one below it does not."""
    site = replace(GOOD, horizon=horizon_from_points([0, 90, 180, 270], [50, 10, 20, 30.5]), floor_deg=30.0)
    assert site.lowest_usable_deg([0.0, 90.0, 270.0]).tolist() == [50.0, 30.0, 30.5]
    assert (site.horizon.highest_deg, site.horizon.lowest_deg) == (50.0, 10.0)


def test_the_skyline_joins_across_north() -> None:
    """Between the last and the first point it runs straight over north."""
    skyline = horizon_from_points([350, 10], [20, 40])
    assert float(skyline.altitude_at(0.0)) == pytest.approx(30.0)
    assert float(skyline.altitude_at(-5.0)) == pytest.approx(25.0)
    assert float(FLAT.altitude_at(123.0)) == 0.0


def test_magnetic_bearings_are_turned() -> None:
    """A bearing of 100° with a declination of +4° east is a true azimuth of 104°."""
    skyline = horizon_from_points([100, 359], [10, 20], declination_deg=4.0)
    assert skyline.azimuth_deg.tolist() == [3.0, 104.0]


def test_all_problems_of_a_skyline_at_once() -> None:
    """Every bad row is named with its line; an azimuth that stands twice too, 0 and 360 alike."""
    found = check_points([0, 10, 400, 360, 50], [5, float("nan"), 5, 6, 90], lines=[3, 4, 5, 6, 7])
    assert sorted(problem.line or 0 for problem in found) == [4, 5, 6, 7]
    with pytest.raises(BadInput) as refused:
        horizon_from_points([0, 10, 400, 360, 50], [5, float("nan"), 5, 6, 90])
    assert len(refused.value.problems) == 4


@pytest.mark.parametrize(("altitude_deg", "accepted"), [(-5.04, False), (-5.0, True), (89.99, True), (90.0, False)])
def test_a_skyline_stands_between_the_limits_it_names(altitude_deg: float, accepted: bool) -> None:
    """A point is taken from -5 to below 90 degrees, as the refusal says, and no farther."""
    problems = check_points([0.0, 10.0], [altitude_deg, 20.0])
    assert [problem.expected for problem in problems] == ([] if accepted else ["-5 to below 90 degrees"])


@pytest.mark.parametrize(("azimuth", "altitude"), [([], []), ([1, 2], [3])])
def test_a_skyline_without_points_is_refused(azimuth: list[float], altitude: list[float]) -> None:
    """No points, or columns of unequal length, are refused with the way out."""
    with pytest.raises(BadInput, match="no points"):
        horizon_from_points(azimuth, altitude)
    with pytest.raises(BadInput, match="declination"):
        horizon_from_points([0], [0], declination_deg=float("nan"))


def test_airmass_below_the_horizon_is_infinite() -> None:
    """No line of sight has no finite airmass, so that its transmission is 0, not NaN."""
    for model in (
        airmass.airmass_kasten_young,
        airmass.airmass_pickering,
        airmass.airmass_young,
        airmass.airmass_hardie,
    ):
        below, zenith = model([-0.1, 90.0])
        assert np.isinf(below)
        assert zenith == pytest.approx(1.0, abs=1e-6)
        assert 10 ** (-0.4 * 0.2 * below) == 0.0


def test_refraction_keeps_shape_and_fades_below() -> None:
    """Broadcasts altitude against elevation; nothing is lifted at the zenith or 10° under the horizon."""
    lift = refraction.refraction_of_true_deg(np.zeros((3, 1)), np.array([0.0, 2000.0]))
    assert lift.shape == (3, 2)
    assert lift[0, 0] > lift[0, 1] > 0.3
    assert np.all(refraction.refraction_of_apparent_deg([90.0, -10.0, -90.0]) < 1e-5)


@pytest.mark.parametrize(
    ("hour_angle_deg", "flip_deg", "side"),
    [
        (-0.001, 0.0, "east"),
        (0.0, 0.0, "west"),
        (3.7, 3.75, "east"),
        (3.75, 3.75, "west"),
        (-3.0, -3.75, "west"),
        (180.0, 0.0, "east"),
        (179.999, 0.0, "west"),
        (359.0, 0.0, "east"),
    ],
)
def test_the_flip_rule_at_its_edges(hour_angle_deg: float, flip_deg: float, side: str) -> None:
    """West begins at the flip's hour angle, and ends at lower transit."""
    assert str(flip.side_at(hour_angle_deg, flip_deg)) == side


def test_the_flip_rule_broadcasts() -> None:
    """Targets in rows, instants along the last axis."""
    assert flip.is_west(np.zeros((4, 1)), np.zeros(3)).shape == (4, 3)
