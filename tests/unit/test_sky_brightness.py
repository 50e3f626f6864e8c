"""Where a night sky comes from: a measurement or a darkness class, and what is refused."""

import pytest

from sidelight.ground.errors import BadInput
from sidelight.sky import brightness as br


def test_a_measured_sky_keeps_its_figures() -> None:
    """The zenith and its uncertainty are kept; extinction is that of a clear night at the elevation."""
    sky = br.measured_sky(21.3, 0.05, elevation_m=500.0)
    assert (sky.zenith_mag_arcsec2, sky.uncertainty_mag) == (21.3, 0.05)
    assert 0.15 < sky.extinction_mag_per_airmass < 0.25
    assert br.measured_sky(21.3, extinction_mag_per_airmass=0.3).extinction_mag_per_airmass == 0.3


def test_a_class_says_that_it_is_no_measurement() -> None:
    """Classes get brighter with their number and carry a larger uncertainty, a source, and what they are not."""
    skies = [br.sky_of_class(number) for number in range(1, 10)]
    zeniths = [sky.zenith_mag_arcsec2 for sky in skies]
    assert zeniths == sorted(zeniths, reverse=True)
    assert all(sky.uncertainty_mag >= 0.2 and "not a measurement" in sky.source for sky in skies)


@pytest.mark.parametrize("number", [0, 10, -3])
def test_other_classes_are_refused(number: int) -> None:
    """A class that does not exist is refused with the range and with what is better."""
    with pytest.raises(BadInput, match="no darkness class") as caught:
        br.sky_of_class(number)
    assert caught.value.problems[0].key == "darkness_class"


def test_everything_wrong_is_said_at_once() -> None:
    """A brightness in other units, a value that is not finite and a wrong glow come together, each with its key."""
    glow = br.Glow(azimuth_deg=900.0, sky_mag_arcsec2=float("nan"))
    with pytest.raises(BadInput) as caught:
        br.measured_sky(0.17, float("inf"), glows=(glow,))
    assert [problem.key for problem in caught.value.problems] == [
        "zenith_mag_arcsec2",
        "uncertainty_mag",
        "glows[0].azimuth_deg",
        "glows[0].sky_mag_arcsec2",
    ]


def test_a_glow_lies_over_its_town() -> None:
    """A town in the east brightens the low east most, less the low north, and the west not."""
    sky = br.measured_sky(21.5, glows=(br.Glow(90.0, 19.5, 20.0, 60.0),))
    east, north, high, west = (
        float(br.glow_nl(altitude, azimuth, sky)) for altitude, azimuth in ((20, 90), (20, 30), (60, 90), (20, 270))
    )
    assert east > north > west
    assert east > high > 0
    assert west < 0.01 * east


def test_glows_need_a_direction() -> None:
    """Without an azimuth the glows are left out rather than guessed."""
    sky = br.measured_sky(21.5, glows=(br.Glow(90.0, 19.5),))
    assert float(br.sky_parts(sky, 30.0).glow_nl) == 0.0
    assert float(br.sky_parts(sky, 30.0, azimuth_deg=90.0).glow_nl) > 0.0
