"""From where the camera is to where it should be: the turn on the sky, and its sense seen from behind."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sidelight.ground.angles import wrap_180, wrap_360

Side = Literal["east", "west", "any"]
Sense = Literal["clockwise", "counter-clockwise", "none"]

_NOTHING_DEG = 0.005


@dataclass(frozen=True)
class Turn:
    """A turn of the camera about the optical axis.

    on_sky_deg : to be added to the camera angle, [-180, 180); positive is north through east.
    seen_from_behind : which way to turn the camera for someone who stands behind the telescope and looks through it
    at the sky (at a Newtonian: who looks into the focuser). by_deg : how far, 0 to 180.
    """

    on_sky_deg: float
    seen_from_behind: Sense
    by_deg: float


def as_in_west_deg(angle_deg: float, side: Side) -> float:
    """Return an angle measured on one side as it is for targets in the west, [0, 360) degrees.

    Everything behind a German mount's telescope turns by 180° against the sky at the flip.
    """
    return float(wrap_360(angle_deg - (180.0 if side == "east" else 0.0)))


def turn_to_plan(
    planned_deg: float,
    true_up_deg: float,
    side: Side = "west",
    *,
    odd_mirrors: bool = False,
    either_way_up: bool = False,
) -> Turn:
    """Return the turn that brings the camera from its true to its planned angle.

    Parameters
    ----------
    planned_deg : camera angle p of the plan, as for targets in the west.
    true_up_deg : position angle of the picture's up, as measured on `side`.
    odd_mirrors : an odd number of reflections reverses the sense of every angle seen from behind.
    either_way_up : the frame alone matters, which repeats after 180°; leave it False when a guider turns along.

    Notes
    -----
    Looking along the telescope at the sky, position angles grow counter-clockwise; a camera turned counter-clockwise
    from behind turns its picture's up the same way. An odd mirror between reverses that.
    """
    turn = float(wrap_180(planned_deg - as_in_west_deg(true_up_deg, side)))
    if either_way_up:
        turn = float(np.mod(turn + 90.0, 180.0) - 90.0)
    if abs(turn) < _NOTHING_DEG:
        return Turn(turn, "none", abs(turn))
    counter = (turn > 0) != odd_mirrors
    return Turn(turn, "counter-clockwise" if counter else "clockwise", abs(turn))
