"""The sky and the air that a guide camera is given, by hand."""

import pytest

from sidelight.light.filters import Filter, sky_mag_in_band
from sidelight.light.reach import guide_conditions, guider_reach
from sidelight.rig.guide_light import GuideLight
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope
from sidelight.sky.brightness import mag_from_nl, measured_sky, sky_parts

SKY = measured_sky(21.0, extinction_mag_per_airmass=0.3)


def test_low_sky_moonlight_and_air() -> None:
    """At 30° (airmass 1.995, Kasten & Young) 0.3 mag per airmass take 0.598 mag; moonlight adds to the sky there."""
    wish = GuideLight()
    dark, moonlit = (guide_conditions(SKY, wish, 30.0, moon_nl) for moon_nl in (0.0, 500.0))
    assert dark.extinction_mag == pytest.approx(0.3 * 1.9943, abs=1e-3)
    behind_nl = float(sky_parts(SKY, 30.0).total_nl)
    band = Filter("guide camera", wish.centre_nm, wish.width_nm)
    for found, light_nl in ((dark, behind_nl), (moonlit, behind_nl + 500.0)):
        assert found.sky_mag_arcsec2 == pytest.approx(float(sky_mag_in_band(band, mag_from_nl(light_nl))))
    assert moonlit.sky_mag_arcsec2 < dark.sky_mag_arcsec2


def test_what_saturates_is_said_only_where_it_is_known() -> None:
    """A guide sensor with a well names the magnitude from which stars saturate, one without names none."""
    for well_e, said in ((13000.0, True), (0.0, False)):
        sensor = Sensor(1280, 960, 3.75, full_well_e=well_e, gain_e_per_adu=0.0)
        reach = guider_reach(Rig(Telescope(100, 500), Sensor(4000, 3000, 3.8), OffAxisGuider(20.0, sensor)), SKY)
        assert ("saturate" in reach.sentence) == said
        assert (reach.bright_mag is not None) == said
