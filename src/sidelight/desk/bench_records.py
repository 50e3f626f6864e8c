"""What the bench says: the angles on the metal, and all that a bench day needs."""

import datetime as dt
from dataclasses import dataclass

from sidelight.rig.bench import BenchBudget, GaugeReading
from sidelight.rig.records import MountKind


@dataclass(frozen=True)
class BenchAngle:
    """One thing to set: its bench angle (counter-clockwise from up), as a clock hand, and on the gauge.

    sky_angle_deg : the position angle (ICRS, targets in the west) that it brings. gauge : along the face named by
    `face`, with the tube level on its dovetail (a Newtonian: tube upright). gauge_lying : a Newtonian's with the tube
    lying level, where the focuser is far enough to the side for that, else None.
    """

    part: str
    face: str
    sky_angle_deg: float
    bench_deg: float
    clock: str
    gauge: GaugeReading
    gauge_lying: GaugeReading | None


@dataclass(frozen=True)
class PoleTurn:
    """How far a target's position angles against the mount's pole (of date) exceed those against ICRS north."""

    target: str
    turn_deg: float
    left_over_deg: float


@dataclass(frozen=True)
class BenchReport:
    """Everything that a bench day needs.

    stem : None without an off-axis guider. mean_pole_turn_deg : already contained in the bench angles; what is left
    over for each target stands in `pole_turns`. gauge_to_sky_deg : learnt from a first image, contained too. setup :
    the name that the set-up is kept under, None when it is kept under none.
    """

    date: dt.date
    setup: str | None
    rig: str
    mount: MountKind
    camera_angle_deg: float
    guider_angle_deg: float | None
    stem_offset_deg: float | None
    slack_deg: float | None
    view: str
    camera: BenchAngle
    stem: BenchAngle | None
    mean_pole_turn_deg: float
    pole_turns: tuple[PoleTurn, ...]
    gauge_to_sky_deg: float
    gauge_to_sky_error_deg: float | None
    gauge_to_sky_date: dt.date | None
    budget: BenchBudget | None
    budget_sentence: str
    steps: tuple[str, ...]
    turns_together: str
    newtonian: bool
    camera_width_mm: float
    camera_height_mm: float
    stem_radius_mm: float | None
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
