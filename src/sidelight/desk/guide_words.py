"""How the drawn guide sensor and the guide camera's own picture go together."""

from sidelight.desk.setup import SetupReport
from sidelight.rig.records import Rig

NEAR_SATURATION_MAG = 0.5
"""A guide star so little below the limit fills its pixels in steadier air; our choice."""


def guide_picture_words(rig: Rig) -> str:
    """Say which way is up where guide stars are placed, and how the guide camera's picture may differ; "" unguided.

    Places are as on the sky. The prism reflects once, so that with an even number of mirrors the guide camera sees a
    mirror image, and one axis is turned about however it is seated; with an odd number both are, or neither.
    """
    if rig.guider is None:
        return ""
    along = rig.guider.long_side == "along"
    drawn = (
        "Drawn as the guide sensor lies on the sky, away from the telescope's axis "
        + ("right" if along else "up")
        + "."
    )
    if rig.telescope.mirrors % 2:
        return f"{drawn} Expect the star so on the guide camera's picture, or half a turn round, as the camera sits."
    seat = (
        "left to right or top to bottom, as the camera sits"
        if along
        else "left to right with the camera's top towards the sky, top to bottom with its top towards the main camera"
    )
    mirror = "The prism mirrors the guide camera's picture: expect the star turned about"
    return f"{drawn} {mirror} {seat}, unless its software turns it."


def bright_star_notes(setup: SetupReport) -> tuple[str, ...]:
    """Say which guide stars of needed rings stay only just below saturation in one guide exposure."""
    limit = setup.guider.saturates_mag if setup.guider else None
    if limit is None or setup.best is None:
        return ()
    advice = "is close to saturation: shorten the guide exposure."
    return tuple(
        f"The guide star of {one.target}{_on(one.side)} ({one.star.mag:.1f} mag) {advice}"
        for one in setup.best.places
        if one.needed and one.star and limit <= one.star.mag < limit + NEAR_SATURATION_MAG
    )


def _on(side: str) -> str:
    """Return a side as it follows a target's name; nothing for a mount that never flips."""
    return "" if side == "any" else f" {side}"
