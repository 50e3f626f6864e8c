"""What stands on the pier: frozen records of the telescope, cameras, guider, mount and tolerances."""

from dataclasses import dataclass, field
from typing import Literal

Across = Literal["along", "across"]
MountKind = Literal["german", "fork"]
Picture = Literal["as_drawn", "half_turn", "left_right", "top_bottom"]
"""How the guide camera's picture stands against the guide sensor as drawn: the same, half a turn round, mirrored."""


@dataclass(frozen=True)
class Telescope:
    """The optics up to the focal plane.

    aperture_mm : clear aperture. focal_length_mm : native, before the reducer. reducer : factor, 0.67 shortens.
    mirrors : how many reflections reach the camera, a star diagonal included; odd mirrors the picture.
    newtonian : the camera looks in from the side of the tube; then focuser_position_deg is the focuser's bench
    angle around the tube (counter-clockwise from up, seen from behind).
    obstruction_mm : diameter of the secondary's shadow, 0 for a refractor. transmission_fraction : of all optics.
    """

    aperture_mm: float
    focal_length_mm: float
    reducer: float = 1.0
    mirrors: int = 0
    newtonian: bool = False
    focuser_position_deg: float = 0.0
    obstruction_mm: float = 0.0
    transmission_fraction: float = 0.8

    @property
    def effective_focal_length_mm(self) -> float:
        """The focal length that the camera sees, mm."""
        return self.focal_length_mm * self.reducer

    @property
    def focal_ratio(self) -> float:
        """Effective focal length over aperture."""
        return self.effective_focal_length_mm / self.aperture_mm


@dataclass(frozen=True)
class Sensor:
    """A rectangular array of square pixels; photometric figures are those of one gain setting.

    Zero or None in a photometric field means that the person has not given it.
    """

    width_px: int
    height_px: int
    pixel_um: float
    quantum_efficiency: float = 0.6
    read_noise_e: float = 2.0
    dark_e_per_s: float = 0.01
    full_well_e: float = 20000.0
    gain_e_per_adu: float = 1.0
    bits: int = 16

    @property
    def width_mm(self) -> float:
        """Width of the light-sensitive area, mm."""
        return self.width_px * self.pixel_um / 1000.0

    @property
    def height_mm(self) -> float:
        """Height of the light-sensitive area, mm."""
        return self.height_px * self.pixel_um / 1000.0


@dataclass(frozen=True)
class OffAxisGuider:
    """A guide camera fed by a prism at the edge of the field.

    stem_radius_mm : from the optical axis to the centre of the guide sensor's footprint in the focal plane.
    sensor : the guide camera. long_side : whether the sensor's width lies along the stem or across it.
    prism_along_mm, prism_across_mm : the prism's face along and across the stem.
    prism_distance_mm : from the prism to the main sensor, along the optical axis (s of the shadow formula).
    picture : how the guide camera's picture stands against the sensor as drawn; None as long as nobody knows.
    """

    stem_radius_mm: float
    sensor: Sensor
    long_side: Across = "across"
    prism_along_mm: float = 8.0
    prism_across_mm: float = 8.0
    prism_distance_mm: float = 60.0
    picture: Picture | None = None


@dataclass(frozen=True)
class Mount:
    """What carries the telescope.

    kind : "german" flips, "fork" (on a wedge) never does.
    flip_past_meridian_min : minutes of hour angle past the meridian at which a German mount flips; negative
    when it flips before.
    """

    kind: MountKind = "german"
    flip_past_meridian_min: float = 0.0

    @property
    def flips(self) -> bool:
        """Whether the picture turns by 180 degrees when the target passes from east to west."""
        return self.kind == "german"


@dataclass(frozen=True)
class Tolerances:
    """Room for error that every answer keeps.

    angle_deg : the least slack a recommended set-up has. guide_box_px : the guiding box, in guide pixels, whole
    side; half of it comes off each edge of the guide sensor. pointing_arcmin : pointing error, comes off too.
    guide_edge_mm : lost to the prism's own edge, each side. frame_border_arcmin : kept free around each outline.
    """

    angle_deg: float = 1.0
    guide_box_px: float = 32.0
    pointing_arcmin: float = 0.5
    guide_edge_mm: float = 0.0
    frame_border_arcmin: float = 1.0
    gauge_deg: float = 0.1
    seat_deg: float = 0.5


@dataclass(frozen=True)
class Rig:
    """Everything on the pier. guider None: no off-axis guider, framing only.

    rotator : a motor turns camera and guider together, so that the camera angle is free for each target.
    guide_limit_mag : faintest guide star, V; None lets the light room compute it. guide_bright_mag : the brightest.
    """

    telescope: Telescope
    camera: Sensor
    guider: OffAxisGuider | None = None
    mount: Mount = field(default_factory=Mount)
    rotator: bool = False
    tolerances: Tolerances = field(default_factory=Tolerances)
    guide_limit_mag: float | None = None
    guide_bright_mag: float | None = None
