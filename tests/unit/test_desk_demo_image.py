"""The demo's first image is a sound FITS file, and says what it was made to say."""

from io import BytesIO

import pytest
from astropy.io import fits
from astropy.wcs import WCS
from tests.strategies.frames import ARCSEC_PER_RADIAN

from sidelight.desk.demo_image import BLOCK, CENTRE_DEG, OFF_DEG, first_image
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope

RIG = Rig(Telescope(203.0, 1624.0, mirrors=2), Sensor(6248, 4176, 3.76), OffAxisGuider(19.0, Sensor(1936, 1216, 2.9)))


def test_astropy_finds_nothing_to_mend() -> None:
    """The file verifies, is whole blocks, and is small."""
    made = first_image(RIG, 57.2)
    assert len(made) % BLOCK == 0
    assert len(made) < 10_000
    with fits.open(BytesIO(made)) as files:
        files.verify("exception")
        assert files[0].data.shape == (4176 // 88, 6248 // 88)
        assert not files[0].data.any()


@pytest.mark.filterwarnings("ignore::astropy.wcs.FITSFixedWarning")
@pytest.mark.parametrize("planned_deg", [0.0, 57.2, 200.0])
def test_its_up_stands_off_the_plan(planned_deg: float) -> None:
    """By astropy's world coordinates up lies at the plan and what it is off, from the middle, at the rig's scale."""
    with fits.open(BytesIO(first_image(RIG, planned_deg))) as files:
        world = WCS(files[0].header)
    middle, above, right = (world.pixel_to_world(*at) for at in ((35, 23), (35, 24), (36, 23)))
    assert (middle.ra.deg, middle.dec.deg) == pytest.approx(CENTRE_DEG, abs=1e-6)
    turn = (middle.position_angle(above).deg - planned_deg - OFF_DEG + 180) % 360 - 180
    assert turn == pytest.approx(0.0, abs=0.02)
    assert (middle.position_angle(above).deg - middle.position_angle(right).deg) % 360 == pytest.approx(90, abs=0.05)
    assert middle.separation(above).arcsec == pytest.approx(3.76e-3 * 88 / 1624 * ARCSEC_PER_RADIAN, rel=1e-5)
