"""Spots on a guide camera's picture, made from catalogue stars by a stem and a seat that are known."""

import datetime as dt
from dataclasses import dataclass, replace

import numpy as np
from hypothesis import strategies as st

from sidelight.desk.sightings import Believed, GuideSpot
from sidelight.desk.solved import SolvedFrame
from sidelight.ledger.wcs import SolvedImage
from sidelight.notebook.read import Notebook
from sidelight.rig.guider import PICTURE_SIGNS, guider_of, place_on_sensor_px
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import Picture, Rig, Sensor, Telescope
from sidelight.stars.catalogue import embedded

FAINTEST_MAG = 11.0
DAY = dt.date(2000, 1, 1)
CAMERA_DEG = 40.0


@dataclass(frozen=True)
class TrueStem:
    """How the metal really stands: the stem against belief, its radius against rig.toml, the camera in its seat."""

    picture: Picture
    guider_angle_deg: float
    off_deg: float = 0.0
    longer_mm: float = 0.0
    tilt_deg: float = 0.0


stems = st.builds(
    TrueStem,
    st.sampled_from(sorted(PICTURE_SIGNS)),
    st.floats(0.0, 360.0),
    st.floats(-4.8, 4.8),
    st.floats(-1.9, 1.9),
    st.floats(-2.0, 2.0),
)


def rig_with(book: Notebook, focal_mm: float, picture: Picture | None = None, mirrors: int = 2) -> Notebook:
    """Return the notebook with another telescope, and what is known of the guide camera's picture."""
    guider = replace(guider_of(book.rig), sensor=Sensor(1936, 1096, 2.9), picture=picture)
    telescope = Telescope(200.0, focal_mm, mirrors=mirrors)
    rig = Rig(telescope, book.rig.camera, guider, book.rig.mount, guide_limit_mag=FAINTEST_MAG)
    return replace(book, rig=rig)


def frame_at(centre_deg: tuple[float, float], side: str, name: str) -> SolvedFrame:
    """Return a solved image of a camera that stands at CAMERA_DEG for targets in the west."""
    up_deg = CAMERA_DEG + (180.0 if side == "east" else 0.0)
    image = SolvedImage(*centre_deg, up_deg, up_deg - 90.0, 1.0, False, 0.0, 1.0, True, 1.0, 1.0, "CD")
    return SolvedFrame(name, image, side, None, None, None, 1000.0, 1, True, None, None)  # type: ignore[arg-type]


def spots_of(
    notebook: Notebook,
    stem: TrueStem,
    frames: tuple[SolvedFrame, ...],
    *,
    named: bool,
    random: np.random.Generator,
    of_each: int = 1,
) -> list[Believed]:
    """Return some catalogue stars of each image as the guide camera shows them, read off to a pixel or so."""
    rig, guider = notebook.rig, guider_of(notebook.rig)
    true = replace(guider, stem_radius_mm=guider.stem_radius_mm + stem.longer_mm)
    half = guider.sensor.width_px / 2, guider.sensor.height_px / 2
    right_sign, up_sign = PICTURE_SIGNS[stem.picture]
    spots = []
    for frame in frames:
        centre = frame.image.centre_ra_deg, frame.image.centre_dec_deg
        focal_mm = rig.telescope.effective_focal_length_mm
        stars = embedded().cone(*centre, np.degrees(np.arctan(27.0 / focal_mm)), FAINTEST_MAG)
        stands = stem.guider_angle_deg + (180.0 if frame.side == "east" else 0.0)
        right, up = place_on_sensor_px(*plane_mm(stars.ra_deg, stars.dec_deg, *centre, focal_mm), stands, true)
        turned = (right + 1j * up) * np.exp(-1j * np.radians(stem.tilt_deg))
        right, up = right_sign * turned.real, up_sign * turned.imag
        inside = np.flatnonzero((np.abs(right) < half[0]) & (np.abs(up) < half[1]))
        for k in random.permutation(inside)[:of_each]:
            noise = random.normal(0.0, 1.0, 2)
            name = (float(stars.ra_deg[k]), float(stars.dec_deg[k])) if named else ()
            spot = GuideSpot(frame.file, half[0] + right[k] + noise[0], half[1] - up[k] + noise[1], *name)
            spots.append(Believed(frame, spot, stem.guider_angle_deg - stem.off_deg))
    return spots
