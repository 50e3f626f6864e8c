"""How the drawn guide sensor and the guide camera's own picture go together."""

from sidelight.rig.records import Rig


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
