"""Guide stars on the guide camera's own picture against rays: through the telescope, off the prism, onto the camera.

The metal is set once; each star's ray is followed on either side of the meridian, and what the camera then shows is
given to `check` as a person reads it off. Nothing of the picture comes from the program's own formulas.
"""

import datetime as dt
from dataclasses import dataclass, replace

import numpy as np
import pytest
from tests.reference.test_rig_bench_trace import (
    SENSOR,
    TELESCOPES,
    Landing,
    Tube,
    Vector,
    land,
    mirrored,
    on_fork,
    on_german,
    sky_direction,
    star_at,
)

from sidelight.desk.sightings import Believed, GuideSpot, recognise, stem_fit
from sidelight.desk.solved import SolvedFrame
from sidelight.ground.angles import turn_deg
from sidelight.ledger.wcs import SolvedImage
from sidelight.notebook.read import Notebook
from sidelight.rig.guider import PICTURE_SIGNS, place_on_sensor, raw_pictures
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import Mount, OffAxisGuider, Rig, Sensor
from sidelight.stars.catalogue import embedded

RADIUS_MM = 20.0
TURNED_DEG = 70.0  # the focuser's or the diagonal's place
STEM_DEG, OFF_DEG, CAMERA_DEG = 131.0, 2.0, 40.0
FIELDS = ((83.8, -5.4), (56.9, 24.1), (132.8, 11.8))
FAINTEST_MAG = 11.0
GUIDERS = {
    "across": OffAxisGuider(RADIUS_MM, Sensor(2000, 1200, 3.0)),
    "along": OffAxisGuider(RADIUS_MM, Sensor(2000, 1200, 3.0), long_side="along"),
}


@dataclass(frozen=True)
class Metal:
    """A telescope on its mount, with the stem clamped at a bench angle and the guide camera seated one way.

    to_sky : whether the camera's upper edge (its right edge when its width lies along the stem) is towards the sky.
    """

    kind: str
    mount: Mount
    guider: OffAxisGuider
    to_sky: bool
    stem_bench_deg: float = 0.0

    @property
    def focal_mm(self) -> float:
        """The focal length that rays of the guide field have."""
        tube = self.tube((60.0, 20.0), "west")
        landed = land(self.kind, tube, star_at(tube.ahead, 0.0, 1.0), TURNED_DEG)
        return float(np.linalg.norm(landed.place) / np.tan(np.radians(1.0)))

    @property
    def rig(self) -> Rig:
        """The rig of record."""
        telescope = replace(TELESCOPES[self.kind], focal_length_mm=self.focal_mm, focuser_position_deg=TURNED_DEG)
        return Rig(telescope, SENSOR, self.guider, self.mount, guide_limit_mag=FAINTEST_MAG)

    def tube(self, centre_deg: tuple[float, float], side: str) -> Tube:
        """Point the tube two hours and forty minutes off the meridian."""
        centre = sky_direction(-40.0 if side == "east" else 40.0, centre_deg[1])
        return on_german(centre, side) if self.mount.flips else on_fork(centre, southern=False)

    def ray(self, centre_deg: tuple[float, float], side: str, star_deg: tuple[float, float]) -> Landing:
        """Follow a star's ray to the focal plane."""
        hour_angle = (-40.0 if side == "east" else 40.0) - (star_deg[0] - centre_deg[0])
        return land(self.kind, self.tube(centre_deg, side), sky_direction(hour_angle, star_deg[1]), TURNED_DEG)

    def clamped(self, stem_deg: float) -> "Metal":
        """Clamp the stem where a star at a position angle lands, for a target in the west."""
        tube = self.tube((0.0, 20.0), "west")
        return replace(
            self, stem_bench_deg=land(self.kind, tube, star_at(tube.ahead, stem_deg, 1.0), TURNED_DEG).bench_deg
        )

    def shown_mm(
        self, centre_deg: tuple[float, float], side: str, star_deg: tuple[float, float]
    ) -> tuple[float, float]:
        """Return how far right and up of its middle the guide camera's raw picture shows a star."""
        landed = self.ray(centre_deg, side, star_deg)
        left = -np.cross(landed.looking, landed.up)
        angle = np.radians(self.stem_bench_deg)
        stem: Vector = np.cos(angle) * landed.up + np.sin(angle) * left
        # the prism sends the light that comes down to the focal plane outwards along the stem
        fallen = mirrored(landed.place - RADIUS_MM * stem, -landed.looking - stem)
        edge = landed.looking if self.to_sky else -landed.looking
        if self.guider.long_side == "across":
            top, right = edge, np.cross(-stem, edge)
        else:
            top, right = np.cross(edge, -stem), edge
        # a camera shows at its picture's top what falls on its sensor's lower edge
        return float(-fallen @ right), float(-fallen @ top)


METALS = [
    Metal(kind, Mount(mount), GUIDERS[seat], to_sky)
    for kind in TELESCOPES
    for mount in ("german", "fork")
    for seat in GUIDERS
    for to_sky in (True, False)
]


def name_of(metal: Metal) -> str:
    """Return a telescope in words."""
    return f"{metal.kind} {metal.mount.kind} {metal.guider.long_side} {'sky' if metal.to_sky else 'camera'}"


def stars_on(metal: Metal, centre_deg: tuple[float, float], side: str) -> list[tuple[float, float, float, float]]:
    """Return the brightest catalogue stars on the guide sensor, (x px, y px, RA, Dec): from left and upper edge."""
    stem = np.radians(STEM_DEG + (180.0 if side == "east" else 0.0))
    out_deg = np.degrees(RADIUS_MM / metal.focal_mm)
    aside_deg = out_deg * np.sin(stem) / np.cos(np.radians(centre_deg[1]))
    stars = embedded().cone(centre_deg[0] + aside_deg, centre_deg[1] + out_deg * np.cos(stem), 0.3, FAINTEST_MAG)
    sensor = metal.guider.sensor
    found = []
    for ra_deg, dec_deg in zip(stars.ra_deg, stars.dec_deg, strict=True):
        shown = metal.shown_mm(centre_deg, side, (float(ra_deg), float(dec_deg)))
        right, up = (one / (sensor.pixel_um / 1000.0) for one in shown)
        x_px, y_px = sensor.width_px / 2 + right, sensor.height_px / 2 - up
        if 0 < x_px < sensor.width_px and 0 < y_px < sensor.height_px:
            found.append((x_px, y_px, float(ra_deg), float(dec_deg)))
    return found[:3]


def frame_of(centre_deg: tuple[float, float], side: str, up_deg: float, name: str) -> SolvedFrame:
    """Return a solved image whose up stands at a position angle."""
    image = SolvedImage(*centre_deg, up_deg, up_deg - 90.0, 1.0, False, 0.0, 1.0, True, 1.0, 1.0, "CD")
    return SolvedFrame(name, image, side, None, None, None, 1000.0, 1, True, None, None)  # type: ignore[arg-type]


def believed_of(metal: Metal, *, named: bool) -> list[Believed]:
    """Return the spots of two fields, on both sides for a mount that flips, with the stem believed OFF_DEG short."""
    spots = []
    for number, centre in enumerate(FIELDS):
        for side in ("east", "west") if metal.mount.flips else ("any",):
            over = 180.0 if side == "east" else 0.0
            frame = frame_of(centre, side, CAMERA_DEG + over, f"{number}{side}.fits")
            for x_px, y_px, *star in stars_on(metal, centre, side):
                spot = GuideSpot(frame.file, x_px, y_px, *(star if named else ()))
                spots.append(Believed(frame, spot, STEM_DEG - OFF_DEG))
    return spots


@pytest.mark.parametrize("named", [True, False])
@pytest.mark.parametrize("metal", METALS, ids=name_of)
def test_the_stem_comes_out_of_a_raw_picture(metal: Metal, named: bool, book: Notebook) -> None:
    """Two degrees off, the stem is found to a tenth of a degree with any mirrors, mount and seat, key or none."""
    metal = metal.clamped(STEM_DEG)
    spots = believed_of(metal, named=named)
    expected = raw_pictures(metal.rig)[0 if metal.to_sky else 1]
    for picture in (None, expected):
        guider = replace(metal.guider, picture=picture)
        notebook = replace(book, rig=replace(metal.rig, guider=guider))
        stars = recognise(notebook, dt.date(2000, 1, 1), spots)
        assert stars.picture == expected, stars.notes
        assert len(stars.seen) >= 2
        fit = stem_fit(notebook, stars, 0.0)
        assert fit is not None
        assert abs(turn_deg(STEM_DEG - CAMERA_DEG, fit.stem_offset_deg.value)) < 0.1
        assert fit.stem_radius_mm.value == pytest.approx(RADIUS_MM, abs=0.03)
        assert fit.determined == (named or len(stars.seen) > 2), "two that are not named are not learnt from"


@pytest.mark.parametrize("metal", METALS, ids=name_of)
def test_which_axes_a_raw_picture_has_turned_about(metal: Metal) -> None:
    """Place by place the raw picture shows the drawn place, turned as `raw_pictures` says for the camera's seat."""
    metal = metal.clamped(STEM_DEG)
    right_sign, up_sign = PICTURE_SIGNS[raw_pictures(metal.rig)[0 if metal.to_sky else 1]]
    centre, side = FIELDS[0], "west" if metal.mount.flips else "any"
    stars = stars_on(metal, centre, side)
    assert stars
    for _, _, *star in stars:
        x_mm, y_mm = plane_mm(*star, *centre, metal.rig.telescope.effective_focal_length_mm)
        drawn = place_on_sensor(x_mm, y_mm, STEM_DEG, metal.guider)
        shown = metal.shown_mm(centre, side, (star[0], star[1]))
        assert shown == pytest.approx((right_sign * float(drawn[0]), up_sign * float(drawn[1])), abs=0.05)
