"""What is asked of a set-up and what comes back: frozen records, ready for JSON by their field names."""

from dataclasses import dataclass, field
from typing import Literal

from sidelight.ground.types import FloatArray
from sidelight.targets.records import Target

Side = Literal["east", "west", "any"]
Outcome = Literal["serves_all", "serves_all_tightly", "serves_some", "serves_none", "nothing_asked"]
StarFault = Literal["too_faint", "saturates", "companion", "in_outline"]
HelpKind = Literal["fainter_limit", "pointing_shift", "stem_radius", "turn_guide_sensor", "leave_out"]
BlockKind = Literal["never_framed", "no_star", "sides_disagree", "conflict"]


@dataclass(frozen=True)
class SideNeed:
    """Whether one side of the meridian has to have a guide star, and why (or why not), in plain words."""

    side: Side
    needed: bool = True
    reason: str = ""


@dataclass(frozen=True)
class Want:
    """One target to be served, with the sides that the chosen dates need.

    sides : "east" and "west" for a mount that flips, "any" for one that does not; a side left out is not needed.
    A want without a needed side is not required at all: neither its rings nor its frame.
    """

    target: Target
    sides: tuple[SideNeed, ...]

    def need(self, side: Side) -> SideNeed:
        """Return what is known about one side; for "any" every side counts."""
        if side == "any":
            asked = [one for one in self.sides if one.needed]
            told = asked or [one for one in self.sides if one.reason]
            return SideNeed("any", bool(asked), told[0].reason if told else "")
        given = [one for one in self.sides if one.side in (side, "any")]
        return SideNeed(side, given[0].needed, given[0].reason) if given else SideNeed(side, False)

    @property
    def required(self) -> bool:
        """Whether anything of this target is needed."""
        return any(one.needed for one in self.sides)


@dataclass(frozen=True)
class Constraints:
    """What the person holds fixed, grants or leaves out.

    camera_angle_deg : the camera stays at this p. stem_offset_deg : the stem stays clamped at this θ = g − p.
    grant_shift_arcmin : radius by which each target's pointing may be moved, the same on both sides; None leaves it
    to each target's own allowance. leave_out : keys of targets that this set-up need not serve.
    """

    camera_angle_deg: float | None = None
    stem_offset_deg: float | None = None
    grant_shift_arcmin: float | None = None
    leave_out: tuple[str, ...] = ()


@dataclass(frozen=True)
class GuideStar:
    """A star that the guider can use, ICRS; mag is the catalogue's (V or close to it).

    snr : signal-to-noise in one guide exposure, None when it was not worked out. faults : what speaks against it:
    below the wanted signal-to-noise, saturating, another star of similar brightness within half the guiding box, or a
    place within an object's outline, where a catalogue's star may be a knot of the object or drown in it.
    """

    ra_deg: float
    dec_deg: float
    mag: float
    snr: float | None = None
    faults: tuple[StarFault, ...] = ()


@dataclass(frozen=True)
class LitArc:
    """Guider angles g at which one star is on the usable guide sensor.

    Runs upwards from from_deg to to_deg, both in [0, 360); to_deg is the smaller when the arc crosses north. A star's
    arc is always shorter than 180 degrees, so ``(to_deg - from_deg) % 360`` is its length.
    """

    from_deg: float
    to_deg: float
    star: GuideStar

    @property
    def length_deg(self) -> float:
        """Length of the arc, degrees."""
        return (self.to_deg - self.from_deg) % 360.0


@dataclass(frozen=True)
class Ring:
    """For one target on one side: every star's arcs of g (as for the west; an east star stands at g + 180).

    arcs : one or two for each star, sorted by from_deg; arcs of different stars may overlap.
    lit : their union as an arc set of `ground.spans`, shape (n, 2), unwrapped.
    share_of_angles : the union's part of the circle. stars_in_reach_count : usable stars that any g can catch.
    catalogue, depth_mag : what the stars come from and how deep it is complete there.
    """

    target: str
    side: Side
    needed: bool
    reason: str
    pointing_ra_deg: float
    pointing_dec_deg: float
    arcs: tuple[LitArc, ...]
    share_of_angles: float
    stars_in_reach_count: int
    catalogue: str
    depth_mag: float
    lit: FloatArray = field(metadata={"json": False}, repr=False, compare=False)


@dataclass(frozen=True)
class Frame:
    """Camera angles p at which one target fits, with the shift granted to it.

    arcs : (from, to) pairs in degrees, unwrapped as in `ground.spans`; they repeat every 180 degrees.
    fits : False when no camera angle holds it. short_by_arcmin : how much too large it is at the best angle, else 0.
    sentence : the outcome in words.
    """

    target: str
    needed: bool
    fits: bool
    sizes_known: bool
    short_by_arcmin: float
    sentence: str
    arcs: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class GuidePlace:
    """Which star serves one ring in a set-up, and where it sits.

    star : None when the ring is dark at this angle. place_on_sensor_px : (x, y) from the sensor's centre, x along its
    width, y along its height, as `sidelight.rig.guider` says. slack_deg : turn of the guider that leaves the ring
    without any star. star_slack_deg : turn that loses this very star. edge_distance_px : from the star to the
    sensor's nearest edge; near_edge : less than a guiding box.
    """

    target: str
    side: Side
    needed: bool
    star: GuideStar | None
    place_on_sensor_px: tuple[float, float] | None
    slack_deg: float
    star_slack_deg: float
    pointing_ra_deg: float
    pointing_dec_deg: float
    edge_distance_px: float | None = None
    near_edge: bool = False


@dataclass(frozen=True)
class TargetPlace:
    """How one target stands in a set-up.

    camera_angle_deg, guider_angle_deg : the set-up's own, or with a rotator this target's.
    shift_east_arcmin, shift_north_arcmin : how far the pointing is moved, on the sky; the same on both sides.
    framed : whether everything fits; frame_slack_deg : turn of the camera that cuts something off.
    frame_waived : too large at any angle, so that it is centred and counted without its frame.
    """

    target: str
    needed: bool
    camera_angle_deg: float
    guider_angle_deg: float | None
    pointing_ra_deg: float
    pointing_dec_deg: float
    shift_east_arcmin: float
    shift_north_arcmin: float
    shift_arcmin: float
    framed: bool
    frame_waived: bool
    frame_slack_deg: float


@dataclass(frozen=True)
class SetUp:
    """One camera angle and one guider angle, and what they serve.

    camera_angle_deg, guider_angle_deg : p and g for targets in the west; None with a rotator (see `targets`), the
    guider's also None without an off-axis guider; then stem_offset_deg is None too.
    slack_deg : worst of the needed rings that are served; frame_slack_deg, shadow_slack_deg : turn of the camera that
    cuts something off, turn of the stem that brings the prism's shadow in; 180 where nothing limits.
    rings_served counts needed rings whose star is there and whose target is in the frame.
    shifts_proved : that no smaller worst shift serves as much was proved for the camera angle that goes with each g.
    recommended : everything needed is served and all three slacks reach the tolerance.
    doubtful_stars_count : needed rings whose star has a fault. least_snr : of the needed rings' stars.
    behind : of a next best one, what puts it behind the best; empty otherwise.
    """

    camera_angle_deg: float | None
    guider_angle_deg: float | None
    stem_offset_deg: float | None
    slack_deg: float
    frame_slack_deg: float
    shadow_slack_deg: float
    rings_served: int
    rings_needed: int
    frames_served: int
    frames_needed: int
    recommended: bool
    faintest_star_mag: float | None
    largest_shift_arcmin: float
    places: tuple[GuidePlace, ...]
    targets: tuple[TargetPlace, ...]
    shifts_proved: bool = True
    doubtful_stars_count: int = 0
    least_snr: float | None = None
    behind: str = ""


@dataclass(frozen=True)
class Blocked:
    """What stands in the way of serving everything; side None: the target as a whole.

    frees_all : whether everything else could be served without it.
    """

    target: str
    side: Side | None
    kind: BlockKind
    frees_all: bool
    sentence: str


@dataclass(frozen=True)
class Help:
    """One change that was worked out, and what it would bring.

    faint_limit_mag, shift_arcmin, stem_radius_mm : the new limit, the shift to grant, the new radius; None for the
    other kinds. target : who is left out.
    serves_all : whether everything (still asked for) is then served with the tolerance.
    rings_gained : served needed rings more than now (negative when leaving a target out costs more than it brings).
    """

    kind: HelpKind
    faint_limit_mag: float | None
    shift_arcmin: float | None
    stem_radius_mm: float | None
    target: str | None
    serves_all: bool
    rings_served: int
    rings_needed: int
    rings_gained: int
    slack_deg: float
    share_of_angles: float
    sentence: str


@dataclass(frozen=True)
class Solution:
    """The answer to "which set-up serves these targets?".

    best : None when nothing is asked or no target can be served at all. next_best : other arcs, best first.
    rings : at the pointings of `best` (shifted where it shifts). share_of_angles : part of the circle of g (of θ with
    a rotator, of p without a guider) at which everything needed is served with no shift, whatever its slack.
    smallest_cover : as few set-ups as serve every ring that can be served, when one does not suffice; the number is
    proved to be minimal. cover_leaves_out : rings that no set-up serves, as "target, side".
    """

    outcome: Outcome
    sentence: str
    best: SetUp | None
    next_best: tuple[SetUp, ...]
    rings: tuple[Ring, ...]
    frames: tuple[Frame, ...]
    share_of_angles: float
    blocked: tuple[Blocked, ...]
    smallest_cover: tuple[SetUp, ...]
    cover_leaves_out: tuple[str, ...]
    help: tuple[Help, ...]
    notes: tuple[str, ...]
    limit_mag: float | None
    bright_mag: float | None
    tolerance_deg: float
