"""The mount: where it flips, and how far everything behind the telescope is then turned against the sky."""

from typing import Literal

from sidelight.rig.records import Mount

Side = Literal["east", "west", "any"]
"""The side of the meridian that the target is on; "any" for a mount that never flips."""

_DEG_PER_MINUTE = 0.25


def flip_hour_angle_deg(mount: Mount) -> float | None:
    """Return the hour angle in degrees at which the mount flips, west positive; None if it never does."""
    return mount.flip_past_meridian_min * _DEG_PER_MINUTE if mount.flips else None


def sides(mount: Mount) -> tuple[Side, ...]:
    """Return the sides on which camera and guider stand differently against the sky."""
    return ("east", "west") if mount.flips else ("any",)


def turn_on_side_deg(mount: Mount, side: Side) -> float:
    """Return how far camera and guider are turned against their angles for the west, degrees: 0 or 180.

    A German mount carries the tube over the pier, upside down against the sky. A fork never turns it.
    """
    return 180.0 if mount.flips and side == "east" else 0.0
