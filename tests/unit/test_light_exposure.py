"""Filters by name, what is refused, frames and storage of a night, sentences."""

import pytest

from sidelight.ground.errors import BadInput
from sidelight.light import exposure as ex
from sidelight.light import filters as fl
from sidelight.light.reach import guider_reach
from sidelight.rig import guide_light as gl
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope
from sidelight.sky.brightness import measured_sky

CAMERA = Sensor(6248, 4176, 3.76, 0.8, 1.5, 0.002, 50000.0, 0.8, 16)
GUIDED = Rig(Telescope(200, 1600, mirrors=2), CAMERA, OffAxisGuider(20.0, Sensor(1280, 960, 3.75)))
SKY = measured_sky(21.0)


def test_filters_by_name() -> None:
    """A usual filter is found however it is spelt, with another bandwidth if one is given."""
    assert fl.usual_filter(" ha ").name == "Ha"
    assert fl.usual_filter("OIII", 3.0).bandwidth_nm == 3.0
    with pytest.raises(BadInput, match="Did you mean"):
        fl.usual_filter("OII")


def test_what_is_wrong_with_a_filter() -> None:
    """Each figure that is out of range is named; a good filter has no problem."""
    bad = fl.Filter("x", 5500.0, 0.0, 90.0, -1.0)
    assert [problem.key for problem in fl.check_filter(bad)] == [
        "centre_nm",
        "bandwidth_nm",
        "transmission_fraction",
        "extinction_mag_per_airmass",
    ]
    assert fl.check_filter(fl.usual_filter("L")) == ()


def test_narrow_red_filters_suffer_less_from_the_moon() -> None:
    """The Moon brightens B most, then OIII, then L; the red lines and R least. A person's own figure stands."""
    by_name = {one.name: fl.moonlight_factor(one) for one in fl.USUAL_FILTERS}
    assert by_name["B"] > by_name["OIII"] > by_name["L"] > by_name["Ha"] > by_name["R"]
    assert fl.moonlight_factor(fl.Filter("own", 500.0, 5.0, moonlight_factor=0.25)) == 0.25


def test_own_extinction_stands() -> None:
    """A filter's own extinction is used as it is; else it comes from V by wavelength."""
    own = fl.Filter("own", 450.0, 100.0, extinction_mag_per_airmass=0.5)
    assert fl.filter_extinction_mag_per_airmass(own, SKY, 0.0) == 0.5
    blue, red = (fl.filter_extinction_mag_per_airmass(fl.usual_filter(name), SKY, 0.0) for name in ("B", "Ha"))
    assert blue > SKY.extinction_mag_per_airmass > red


def test_frames_and_storage_of_a_night() -> None:
    """Eight hours of 300 s with 3 s between and 15 s every third: 93 frames, 7.75 h open, by whole FITS blocks."""
    load = ex.night_load(CAMERA, 8.0, 300.0, ex.ExposureWish())
    assert load.frames_count == int(8 * 3600 / (300 + 3 + 5)) == 93
    assert load.open_h == 7.75
    assert load.overhead_share == pytest.approx(8 / 308)
    blocks = -(-6248 * 4176 * 2 // 2880) + 2
    assert load.storage_mb == pytest.approx(93 * blocks * 2880 / 1e6)


def test_no_dither_and_no_time() -> None:
    """Without dither only the gap is lost; no time gives no frame."""
    wish = ex.ExposureWish(dither_every_count=0, between_s=2.0)
    assert ex.cycle_s(60.0, wish) == 62.0
    assert ex.night_load(CAMERA, 0.0, 60.0, wish).frames_count == 0


@pytest.mark.parametrize(
    ("wish", "outcome"),
    [
        (ex.ExposureWish(), "sky_limited"),
        (ex.ExposureWish(longest_s=20.0), "held_by_longest"),
        (ex.ExposureWish(shortest_s=300.0), "held_by_shortest"),
        (ex.ExposureWish(star_mag=8.5, shortest_s=1.0), "held_by_star"),
        (ex.ExposureWish(star_mag=3.0), "star_saturates"),
    ],
)
def test_what_decides_the_exposure_is_said(wish: ex.ExposureWish, outcome: str) -> None:
    """Each wish that decides is named, with the exposure in seconds in its sentence."""
    one = fl.usual_filter("L")
    chosen = ex.sub_exposure(GUIDED, one, ex.rates(GUIDED, SKY, one), wish)
    assert chosen.outcome == outcome
    assert chosen.sentence.startswith(f"{chosen.chosen_s:.0f} s")


def test_an_object_without_light_never_gets_there() -> None:
    """The hours for an object that gives nothing are infinite, without a warning."""
    one = fl.usual_filter("L")
    assert float(ex.hours_for_snr_h(ex.rates(GUIDED, SKY, one), 5.0, 60.0)) == float("inf")


def test_an_unknown_well_saturates_nothing() -> None:
    """A guide sensor whose full well and gain are not known has no bright limit."""
    guide = Sensor(1280, 960, 3.75, full_well_e=0.0, gain_e_per_adu=0.0)
    reach = guider_reach(Rig(GUIDED.telescope, CAMERA, OffAxisGuider(20.0, guide)), SKY)
    assert reach.bright_mag is None
    assert "saturate" not in reach.sentence


def test_a_guide_picture_that_the_sky_fills() -> None:
    """A minute under a city sky fills every pixel: said, with what to do, and no star is usable."""
    reach = guider_reach(GUIDED, measured_sky(14.5), gl.GuideLight(exposure_s=60.0))
    assert reach.outcome == "sky_saturates"
    assert reach.bright_mag == reach.limit_mag
    assert "expose shorter" in reach.sentence


def test_a_tiny_well_leaves_no_star_between() -> None:
    """A well too small for the wanted signal-to-noise is said."""
    guide = Sensor(1280, 960, 3.75, full_well_e=60.0)
    rig = Rig(GUIDED.telescope, CAMERA, OffAxisGuider(20.0, guide))
    reach = guider_reach(rig, SKY, gl.GuideLight(least_snr=60.0))
    assert reach.outcome == "nothing_between"
    assert "none is left" in reach.sentence


def test_stars_are_judged() -> None:
    """Too faint, saturating and accompanied stars are told apart; a lonely middling star is good."""
    import numpy as np

    light = guider_reach(GUIDED, SKY).light
    x, mag = np.array([0.0, 5.0, 10.0, 15.0, 15.02]), np.array([2.0, 11.0, 19.0, 11.0, 11.5])
    judged = gl.judge_guide_stars(GUIDED, light, x, np.zeros(5), mag)
    assert judged.saturates.tolist() == [True, False, False, False, False]
    assert judged.too_faint.tolist() == [False, False, True, False, False]
    assert judged.has_companion.tolist() == [False, False, False, True, True]
    assert judged.good.tolist() == [False, True, False, False, False]


def test_distance_from_the_guide_sensor_s_edge() -> None:
    """The nearer edge counts; outside it is negative."""
    assert GUIDED.guider is not None
    away = gl.edge_distance_px([0.0, 630.0, 0.0], [0.0, 0.0, 500.0], GUIDED.guider)
    assert away.tolist() == [480.0, 10.0, -20.0]


def test_a_rig_without_a_guider_has_no_reach() -> None:
    """Asking for the reach of no guider is refused with what to do."""
    with pytest.raises(BadInput, match="no off-axis guider"):
        guider_reach(Rig(GUIDED.telescope, CAMERA), SKY)
