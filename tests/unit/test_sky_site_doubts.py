"""A longitude that does not fit its time zone is doubted from four hours on, date line included."""

from dataclasses import replace

import numpy as np
import pytest

from sidelight.sky.horizon import Horizon
from sidelight.sky.site import Site, site_doubts

BERLIN = Site("garden", 48.1, 11.6, 520.0, "Europe/Berlin")


@pytest.mark.parametrize(
    ("longitude_deg", "apart"),
    [(90.3, "4.0 h"), (105.0, "5.0 h"), (-45.3, "4.0 h"), (-75.0, "6.0 h"), (-157.5, "11.5 h")],
)
def test_far_from_the_zone(longitude_deg: float, apart: str) -> None:
    """Berlin keeps the noon of 15° in winter, of 30° in summer: the nearer one counts, in hours as the Sun goes."""
    (doubt,) = site_doubts(replace(BERLIN, longitude_deg=longitude_deg))
    assert f"is {apart} away" in doubt


@pytest.mark.parametrize("longitude_deg", [89.7, 75.0, 30.0, 0.0, -44.7])
def test_near_enough(longitude_deg: float) -> None:
    """Up to four hours are no slip: zones are drawn by people."""
    assert site_doubts(replace(BERLIN, longitude_deg=longitude_deg)) == ()


def test_across_the_date_line() -> None:
    """UTC+14 at 157° west and UTC−11 at 171° west have their noon within the hour; 80° west is 4.7 h off."""
    assert site_doubts(Site("Kiritimati", 1.9, -157.4, 3.0, "Pacific/Kiritimati")) == ()
    (doubt,) = site_doubts(Site("Kiritimati", 1.9, -80.0, 3.0, "Pacific/Kiritimati"))
    assert "is 4.7 h away" in doubt
    assert site_doubts(Site("Pago Pago", -14.3, -170.7, 3.0, "Pacific/Pago_Pago")) == ()


def test_polar_stations_keep_whatever_time() -> None:
    """Beyond the polar circles a far zone is common, up to them it is asked about."""
    far = replace(BERLIN, longitude_deg=120.0)
    assert site_doubts(replace(far, latitude_deg=-75.0)) == ()
    assert site_doubts(replace(far, latitude_deg=-65.0)) != ()


def test_columns_swapped() -> None:
    """A skyline that is nowhere lower than 60° looks like swapped columns; one with a gap does not."""
    walls = Horizon(np.array([0.0, 180.0]), np.array([60.0, 80.0]))
    gap = Horizon(np.array([0.0, 180.0]), np.array([59.0, 80.0]))
    assert "azimuth, then altitude" in site_doubts(replace(BERLIN, horizon=walls))[0]
    assert site_doubts(replace(BERLIN, horizon=gap)) == ()
