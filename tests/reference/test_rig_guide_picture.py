"""The guide camera's own picture against rays: through the telescope, off the prism, onto the camera behind it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.reference.test_rig_bench_trace import FOCAL, land, mirrored, on_german, sky_direction, star_at, unit

from sidelight.rig.guider import place_on_sensor
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import OffAxisGuider, Sensor

GUIDER = OffAxisGuider(20.0, Sensor(2000, 1200, 3.0))
RADIUS_DEG = float(np.degrees(np.arctan(GUIDER.stem_radius_mm / FOCAL)))


@pytest.mark.parametrize("top", ["sky", "main camera"])
@given(guider_deg=st.floats(0.0, 360.0), aside_deg=st.floats(-3.0, 3.0), out=st.floats(0.9, 1.1))
@settings(max_examples=40, deadline=None)
def test_the_guide_cameras_picture_is_mirrored(top: str, guider_deg: float, aside_deg: float, out: float) -> None:
    """With its top to the sky a guide camera shows the mirrored place, else the same half a turn round.

    A camera shows at its picture's top what falls on its sensor's lower edge, and at the right what falls on
    the left as it looks ahead.
    """
    ra_deg, dec_deg = 60.0, 20.0
    centre = sky_direction(-ra_deg, dec_deg)  # at sidereal time 0 the hour angle is minus the right ascension
    tube = on_german(centre, "east")
    star = star_at(centre, guider_deg + aside_deg, RADIUS_DEG * out)
    stem = unit(land("lens", tube, star_at(centre, guider_deg, RADIUS_DEG), 0.0).place)
    shift = land("lens", tube, star, 0.0).place - GUIDER.stem_radius_mm * stem
    fallen = mirrored(shift, -tube.ahead - stem)  # the prism sends what comes from the sky outwards along the stem
    camera_top = tube.ahead if top == "sky" else -tube.ahead
    camera_right = np.cross(-stem, camera_top)
    shown = -(fallen @ camera_right), -(fallen @ camera_top)
    star_ra_deg, star_dec_deg = np.degrees(np.arctan2(star[1], star[0])), np.degrees(np.arcsin(star[2]))
    x_mm, y_mm = plane_mm(star_ra_deg, star_dec_deg, ra_deg, dec_deg, FOCAL)
    expected = place_on_sensor(x_mm, y_mm, guider_deg, GUIDER, mirrored=True)
    sign = 1.0 if top == "sky" else -1.0
    np.testing.assert_allclose(shown, [sign * float(one) for one in expected], atol=1e-6)
