"""The usual cautions, once; every card and page that sends a person to the telescope shows those that apply.

Common practice, no source; the maker's manual and local rules come first, and the last line says so. What a rig does
not have is not spoken of: a fork has no counterweight shaft and no flip, and not every rig has a guide camera.
"""

from sidelight.rig.records import Rig

SUN = (
    "Never point the telescope, its finder or the guide camera at the Sun; by day keep the caps on until the tube "
    "is turned away from it."
)
SUN_UNGUIDED = (
    "Never point the telescope or its finder at the Sun; by day keep the caps on until the tube is turned away from "
    "it."
)
WEIGHT = (
    "Before you loosen a clamp, hold what it holds: tube and counterweights are heavy. Counterweights go on before "
    "the tube and come off after it, with the safety stop on the end of the shaft."
)
WEIGHT_FORK = (
    "Before you loosen a clamp, hold what it holds: a tube out of balance swings as soon as its axis is free. "
    "Balance it anew after every change behind it."
)
CABLES = (
    "Turn camera and guider with the cables loose, then move the mount by hand through the flip and watch that no "
    "cable pulls and nothing behind the telescope meets the pier or a tripod leg."
)
CABLES_UNGUIDED = (
    "Turn the camera with the cables loose, then move the mount by hand through the flip and watch that no cable "
    "pulls and nothing behind the telescope meets the pier or a tripod leg."
)
FORK = (
    "Fork: move the tube by hand through its whole range, the cables loose; watch that camera and guider clear base "
    "and arms, above all near the pole."
)
FORK_UNGUIDED = (
    "Fork: move the tube by hand through its whole range, the cables loose; watch that the camera clears base and "
    "arms, above all near the pole."
)
FLIP = (
    "Be at the telescope when the mount flips, or have its limits set and tried by day: tube, camera and cables "
    "must clear the pier on both sides."
)
DARK = "Before dark, clear the way to the telescope and mark tripod legs and cables; take a red light with you."
MANUAL = "The makers' manuals and local rules come before anything printed here."


def sun(rig: Rig) -> str:
    """Return the caution about the Sun."""
    return SUN if rig.guider else SUN_UNGUIDED


def weight(rig: Rig) -> str:
    """Return the caution about what a loose clamp lets go."""
    return WEIGHT if rig.mount.flips else WEIGHT_FORK


def clearance(rig: Rig) -> str:
    """Return the caution about cables and what stands behind the telescope."""
    if rig.mount.flips:
        return CABLES if rig.guider else CABLES_UNGUIDED
    return FORK if rig.guider else FORK_UNGUIDED


def bench_cautions(rig: Rig) -> tuple[str, ...]:
    """Return what to take care of on the bench."""
    return sun(rig), weight(rig), clearance(rig), MANUAL


def night_cautions(rig: Rig) -> tuple[str, ...]:
    """Return what to take care of in the night."""
    return (*([FLIP] if rig.mount.flips else []), clearance(rig), DARK, sun(rig), MANUAL)


def first_image_cautions(rig: Rig) -> tuple[str, ...]:
    """Return what to take care of while a turn from a first image is set at the telescope."""
    return weight(rig), clearance(rig), DARK, sun(rig), MANUAL
