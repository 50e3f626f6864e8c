"""What the drawings of the set-up are made from: the dial, the field, the bench, the guide sensor.

Angles on the sky are position angles (north through east); places on the sky are offsets from the field's centre
in minutes of arc, `east_arcmin` towards east and `north_arcmin` towards north. Bench angles run counter-clockwise
from up. Nothing here is computed: the rooms that know the sky and the rig fill these in.
"""

from dataclasses import dataclass
from typing import Literal

Side = Literal["east", "west", "any"]
"""The side of the meridian that the target is on; "any" for a mount that never flips."""

Width = Literal["wide", "narrow"]
"""wide: a desk or a printed page (960 units across). narrow: a phone held upright (390 units across)."""


@dataclass(frozen=True)
class DialRing:
    """One target on one side.

    arcs_deg : (from, to) pairs of the guider angle g, running upwards from `from`; they may pass 360.
    needed : whether the chosen dates use this side. slack_deg : at the needle; None lets the drawing measure it on
    the arcs. note : a few words for the key, such as the guide star's magnitude. shallow_deg : where fainter stars
    than the catalogue holds may be in the guider's reach; left empty where that holds all round every ring.
    """

    target: str
    side: Side
    arcs_deg: tuple[tuple[float, float], ...]
    needed: bool = True
    slack_deg: float | None = None
    note: str = ""
    shallow_deg: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Dial:
    """All rings, and the needle at the chosen guider angle (None: nothing chosen)."""

    title: str
    rings: tuple[DialRing, ...]
    needle_deg: float | None = None
    angle_name: str = "guider angle"


@dataclass(frozen=True)
class FieldStar:
    """A star of the catalogue."""

    east_arcmin: float
    north_arcmin: float
    mag: float


@dataclass(frozen=True)
class FieldOutline:
    """The outline of an object; a position angle of None makes a dashed circle, a size of 0 a cross."""

    name: str
    east_arcmin: float
    north_arcmin: float
    semi_major_arcmin: float = 0.0
    semi_minor_arcmin: float = 0.0
    position_angle_deg: float | None = None


@dataclass(frozen=True)
class Footprint:
    """The guide sensor on the sky for one side: its centre at `angle_deg`, `radius_arcmin` from the field's centre.

    angle_deg : on the sky for that side, so g for the west and g + 180° for the east.
    """

    side: Side
    angle_deg: float
    radius_arcmin: float
    half_along_arcmin: float
    half_across_arcmin: float


@dataclass(frozen=True)
class GuideStarMark:
    """A chosen guide star."""

    side: Side
    east_arcmin: float
    north_arcmin: float
    mag: float
    name: str = ""


@dataclass(frozen=True)
class FieldView:
    """The field of one target with the camera frame turned by the camera angle.

    radius_arcmin : how far the map reaches from its centre; None shows the prism's ring and all outlines.
    """

    title: str
    stars: tuple[FieldStar, ...]
    outlines: tuple[FieldOutline, ...]
    frame_width_arcmin: float
    frame_height_arcmin: float
    camera_angle_deg: float
    footprints: tuple[Footprint, ...] = ()
    guide_stars: tuple[GuideStarMark, ...] = ()
    radius_arcmin: float | None = None


@dataclass(frozen=True)
class Reading:
    """What a gauge laid on a face shows, and which end of the face is low, in words."""

    tilt_deg: float
    low_end: str


@dataclass(frozen=True)
class BackView:
    """The back of the telescope, on a dovetail or in a fork, or a Newtonian's focuser seen from its eye side.

    camera_top_deg, stem_deg : bench angles of the camera's own top and of the guider's stem (None: no guider).
    camera_width_mm, camera_height_mm : the main sensor. camera_clock, stem_clock : the same as clock positions.
    stem_radius_mm : from the axis to the prism. mirrored : an odd number of mirrors, said in a note by the caller.
    """

    title: str
    camera_top_deg: float
    stem_deg: float | None
    camera_width_mm: float
    camera_height_mm: float
    stem_radius_mm: float = 20.0
    view: Literal["back", "fork", "focuser"] = "back"
    camera_clock: str = ""
    stem_clock: str = ""
    camera_reading: Reading | None = None
    stem_reading: Reading | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class SensorPlace:
    """Where a star sits on the guide sensor: pixels from its centre, x to the right and y up as displayed."""

    label: str
    x_px: float
    y_px: float
    note: str = ""


@dataclass(frozen=True)
class GuideSensorView:
    """The guide sensor with the star's places; usable_*_px: what remains after box, pointing error and edge."""

    title: str
    width_px: int
    height_px: int
    places: tuple[SensorPlace, ...]
    usable_width_px: float | None = None
    usable_height_px: float | None = None
