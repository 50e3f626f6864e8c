"""What the page draws the dial and the fields with: the pictures' own frames and measures, without content."""

from dataclasses import dataclass

from sidelight.desk.live import LiveDial
from sidelight.pictures.dial import draw_dial
from sidelight.pictures.dial_plan import lay_out
from sidelight.pictures.field import draw_field
from sidelight.pictures.field_key import star_radius
from sidelight.pictures.palette import palette
from sidelight.pictures.records import Dial, DialRing, FieldView, Side, Width
from sidelight.pictures.sheet import Sheet

STAR_MAGS = tuple(mag / 2 for mag in range(33))
FIELD_LAYOUT: Width = "narrow"
ROLES = ("paper", "ink", "soft_ink", "hairline", "lit_west", "lit_east", "lit_edge", "beam", "overlay", "land",
         "land_ink")  # fmt: skip


@dataclass(frozen=True)
class LaneLayout:
    """Where one ring's lane lies on the dial."""

    target: str
    side: Side
    number: int
    inner: float
    outer: float


@dataclass(frozen=True)
class DialLayout:
    """The dial of one width: its empty picture, and the radii of what stands on it."""

    svg: str
    centre_x: float
    centre_y: float
    bezel: float
    hub: float
    scale: float
    lanes: tuple[LaneLayout, ...]


@dataclass(frozen=True)
class FieldLayout:
    """The map of every field: its empty picture, how far it reaches, and the size of its stars by magnitude."""

    svg: str
    reach_mm: float
    star_mags: tuple[float, ...]
    star_radii: tuple[float, ...]


@dataclass(frozen=True)
class Turning:
    """A set-up's question with all that is needed to turn the needle."""

    dial: LiveDial
    wide: DialLayout
    narrow: DialLayout
    field: FieldLayout


def turning(dial: LiveDial) -> Turning:
    """Return the dial's numbers with the frames to draw them in."""
    return Turning(dial, _dial_layout(dial, "wide"), _dial_layout(dial, "narrow"), _field_layout(dial))


def in_variables(svg: str) -> str:
    """Return a day picture with each colour as the page's own variable, so that it follows the page's look."""
    day = palette("day")
    named = {getattr(day, role): f"var(--{role.replace('_', '-')})" for role in ROLES}
    named |= {colour: f"var(--tints-{n})" for n, colour in enumerate(day.tints, start=1)}
    named |= {colour: f"var(--sky-{n})" for n, colour in enumerate(day.sky[1:], start=2)}
    for colour, variable in named.items():
        svg = svg.replace(f'"{colour}"', f'"{variable}"')
    return svg


def _dial_layout(dial: LiveDial, width: Width) -> DialLayout:
    """Return the dial without arcs; a rig without a guider has one lane for each target's frame."""
    rings = tuple(DialRing(target.target, side, ()) for target in dial.targets for side in _sides(dial))
    name = "guider angle" if dial.rig.usable else "camera angle"
    blank = Dial("Dial", rings, 0.0, name)
    plan = lay_out(Sheet("day", width, "dial"), blank)
    return DialLayout(
        svg=in_variables(draw_dial(blank, theme="day", width=width)),
        centre_x=plan.centre[0],
        centre_y=plan.centre[1],
        bezel=plan.bezel,
        hub=plan.hub,
        scale=plan.scale,
        lanes=tuple(
            LaneLayout(lane.ring.target, lane.ring.side, lane.number, lane.inner, lane.outer) for lane in plan.lanes
        ),
    )


def _sides(dial: LiveDial) -> tuple[Side, ...]:
    """Return each target's lanes."""
    return ("east", "west") if dial.rig.usable and dial.rig.flips else ("any",)


def _field_layout(dial: LiveDial) -> FieldLayout:
    """Return the empty map; it reaches a little past the guide sensor's far corner and the frame's."""
    rig = dial.rig
    reach_mm = (rig.frame_width_mm**2 + rig.frame_height_mm**2) ** 0.5 / 2
    if rig.whole:
        far = rig.whole.stem_radius_mm + rig.whole.half_along_mm
        reach_mm = max(reach_mm, (far**2 + rig.whole.half_across_mm**2) ** 0.5)
    reach_mm *= 1.1
    arcmin_per_mm = 10800.0 / 3.141592653589793 / rig.focal_mm
    blank = FieldView("Field", (), (), 0.0, 0.0, 0.0, radius_arcmin=reach_mm * arcmin_per_mm)
    sheet = Sheet("day", FIELD_LAYOUT, "field")
    return FieldLayout(
        svg=in_variables(draw_field(blank, theme="day", width=FIELD_LAYOUT)),
        reach_mm=reach_mm,
        star_mags=STAR_MAGS,
        star_radii=tuple(star_radius(sheet, mag) for mag in STAR_MAGS),
    )
