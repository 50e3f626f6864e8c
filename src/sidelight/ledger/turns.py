"""Angles measured on either side of the meridian, brought to one."""

from typing import Literal

from sidelight.ground.angles import wrap_360

Side = Literal["east", "west", "any"]


def as_in_west_deg(angle_deg: float, side: Side) -> float:
    """Return an angle measured on one side as it is for targets in the west, [0, 360) degrees.

    Everything behind a German mount's telescope turns by 180° against the sky at the flip.
    """
    return float(wrap_360(angle_deg - (180.0 if side == "east" else 0.0)))
