"""The guide camera's raw picture against the matrices of all mirrors before it, the prism's included."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelight.rig.guider import PICTURE_SIGNS, place_on_sensor, raw_pictures
from sidelight.rig.records import OffAxisGuider, Picture, Rig, Sensor, Telescope

GUIDER = OffAxisGuider(20.0, Sensor(2000, 1200, 3.0))
Matrix = np.ndarray
units = st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda one: np.linalg.norm(one) > 0.1).map(np.array)
REFLECTIONS: dict[Picture, Matrix] = {
    "as_drawn": np.eye(2),
    "left_right": np.diag([-1.0, 1.0]),  # in a mirror that stands upright
    "top_bottom": np.diag([1.0, -1.0]),  # in one that lies
    "half_turn": np.diag([-1.0, 1.0]) @ np.diag([1.0, -1.0]),  # in both
}


def reflection(normal: np.ndarray) -> Matrix:
    """Return the matrix of a mirror with a normal of any length (Householder's)."""
    return np.asarray(np.eye(3) - 2.0 * np.outer(normal, normal) / (normal @ normal))


def shown_mm(
    mirrors: list[np.ndarray], place_mm: np.ndarray, stem: np.ndarray, guider: OffAxisGuider, *, to_sky: bool
) -> tuple[float, float]:
    """Return (right, up) on the raw picture of a place (east, north, 0) as the sky is seen; light runs along −z.

    mirrors : normals, in the light's order. The lens turns the image half round, each mirror turns all that comes
    after it over, and the prism sends the light out along the stem.
    """
    turned = np.linalg.multi_dot([np.eye(3), *map(reflection, mirrors[::-1]), np.eye(3)])
    light, image, out = turned @ [0.0, 0.0, -1.0], turned @ -place_mm, turned @ -stem
    fallen = reflection(light - out) @ (image - guider.stem_radius_mm * out)
    edge = -light if to_sky else light
    ahead = -out  # the camera looks into the light that comes along the stem
    top, right = (edge, np.cross(ahead, edge)) if guider.long_side == "across" else (np.cross(edge, ahead), edge)
    # a camera shows at its picture's top what falls on its sensor's lower edge
    return float(-fallen @ right), float(-fallen @ top)


@given(
    mirrors=st.lists(units, max_size=4),
    guider_deg=st.floats(0.0, 360.0),
    x_mm=st.floats(-30.0, 30.0),
    y_mm=st.floats(-30.0, 30.0),
)
@settings(max_examples=40, deadline=None)
def test_any_mirrors_turn_the_picture_as_the_table_says(
    mirrors: list[np.ndarray], guider_deg: float, x_mm: float, y_mm: float
) -> None:
    """However many mirrors stand however before it, the raw picture is the drawn one turned as the table says."""
    # east is to the left of north for somebody who looks along +z, at the sky
    east, north, g = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]), np.radians(guider_deg)
    stem, place_mm = np.sin(g) * east + np.cos(g) * north, x_mm * east + y_mm * north
    for guider in (GUIDER, replace(GUIDER, long_side="along")):
        telescope = Telescope(200.0, 1000.0, mirrors=len(mirrors))
        pictures = raw_pictures(Rig(telescope, Sensor(6000, 4000, 3.8), guider))
        drawn = np.array([float(one) for one in place_on_sensor(x_mm, y_mm, guider_deg, guider)])
        for picture, to_sky in zip(pictures, (True, False), strict=True):
            shown = shown_mm(mirrors, place_mm, stem, guider, to_sky=to_sky)
            np.testing.assert_allclose(shown, PICTURE_SIGNS[picture] * drawn, atol=1e-9)
            np.testing.assert_allclose(shown, REFLECTIONS[picture] @ drawn, atol=1e-9)


@pytest.mark.parametrize("picture", sorted(REFLECTIONS))
def test_a_place_turned_twice_is_where_it_was(picture: Picture) -> None:
    """The signs are the reflection that the name says, and take a place on the picture back to the drawn one."""
    place = np.array([3.0, 2.0])
    signs = np.array(PICTURE_SIGNS[picture])
    turned = signs * place
    assert turned.tolist() == (REFLECTIONS[picture] @ place).tolist()
    assert (signs * turned).tolist() == place.tolist()
