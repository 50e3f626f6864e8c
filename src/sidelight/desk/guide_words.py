"""How the drawn guide sensor and the guide camera's own picture go together."""

from collections.abc import Sequence

from sidelight.desk.guide_seats import RADIUS_OFF_MM, STEM_OFF_DEG
from sidelight.desk.setup import SetupReport
from sidelight.rig.records import Picture, Rig

PICTURE_WORDS: dict[Picture, str] = {
    "as_drawn": "as drawn",
    "half_turn": "half a turn round",
    "left_right": "turned about left to right",
    "top_bottom": "turned about top to bottom",
}
"""How the guide camera's picture stands against the guide sensor as drawn."""
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
    if rig.guider.picture is not None:
        stands = PICTURE_WORDS[rig.guider.picture]
        return f"{drawn} Expect the star {stands} on the guide camera's picture, as rig.toml has it."
    if rig.telescope.mirrors % 2:
        return f"{drawn} Expect the star so on the guide camera's picture, or half a turn round, as the camera sits."
    seat = (
        "left to right or top to bottom, as the camera sits"
        if along
        else "left to right with the camera's top towards the sky, top to bottom with its top towards the main camera"
    )
    mirror = "The prism mirrors the guide camera's picture: expect the star turned about"
    return f"{drawn} {mirror} {seat}, unless its software turns it."


def picture_open_note(possible: Sequence[Picture]) -> str:
    """Say that guide stars leave open how the guide camera's picture stands, and what settles it."""
    reach = f"within {STEM_OFF_DEG:g}° and {RADIUS_OFF_MM:g} mm of where it is believed"
    if not possible:
        return (
            f"The guide stars fit no stem {reach}, whichever way the guide camera's picture stands, so it is not "
            "fitted: a star was misread or is another, or the stem is farther off. With picture and long_side right "
            "in rig.toml, named stars (X,Y,RA,DEC) measure it all the same."
        )
    ways = [PICTURE_WORDS[one] for one in possible]
    return (
        f"The guide camera's picture may stand {', '.join(ways[:-1])} or {ways[-1]}: with each the guide stars fit a "
        f"stem {reach}, so it is not fitted. A second guide star (another image), or picture in rig.toml, settles it."
    )


def picture_taken_note(picture: Picture) -> str:
    """Say how the guide camera's picture was found to stand, and how to keep it."""
    return (
        f"The guide camera's picture is taken to stand {PICTURE_WORDS[picture]}: no other way fits a stem within "
        f"{STEM_OFF_DEG:g}° and {RADIUS_OFF_MM:g} mm of where it is believed. Write picture = "
        f'"{picture}" under [guider] in rig.toml to keep it.'
    )


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
