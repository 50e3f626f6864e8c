"""The guider's reach: how faint and how bright a guide star may be under this sky, for the set-up to count with."""

import math
from dataclasses import dataclass, replace
from typing import Literal

from sidelight.light.filters import Filter, sky_mag_in_band
from sidelight.rig.guide_light import GuideLight, guide_bright_mag, guide_fwhm_px, guide_limit_mag
from sidelight.rig.records import Rig
from sidelight.sky.airmass import airmass_kasten_young
from sidelight.sky.brightness import NightSky, mag_from_nl, sky_parts

Outcome = Literal["reaches", "sky_saturates", "nothing_between"]


@dataclass(frozen=True)
class GuiderReach:
    """What the guide camera can use.

    outcome : "sky_saturates" when the sky alone fills a pixel, "nothing_between" when the brightest star that does
    not saturate is too faint; no star can be used then. limit_mag : the faintest V magnitude with the wanted
    signal-to-noise. bright_mag : the brightest that does not saturate, None for no bound; never fainter than
    limit_mag. fwhm_px : a star's width. light : everything it was worked out with.
    """

    outcome: Outcome
    limit_mag: float
    bright_mag: float | None
    fwhm_px: float
    light: GuideLight
    sentence: str


def guide_conditions(sky: NightSky, wish: GuideLight, altitude_deg: float = 35.0, moon_nl: float = 0.0) -> GuideLight:
    """Return the wish with this sky's brightness and extinction at an altitude: 35° is low, so on the safe side.

    The guide camera's band takes V's extinction, and its sky as that band sees it. moon_nl : moonlight to add.
    """
    behind_nl = float(sky_parts(sky, altitude_deg).total_nl) + moon_nl
    band = Filter("guide camera", wish.centre_nm, wish.width_nm)
    return replace(
        wish,
        sky_mag_arcsec2=float(sky_mag_in_band(band, mag_from_nl(behind_nl))),
        extinction_mag=sky.extinction_mag_per_airmass * float(airmass_kasten_young(altitude_deg)),
    )


def guider_reach(
    rig: Rig, sky: NightSky, wish: GuideLight | None = None, altitude_deg: float = 35.0, moon_nl: float = 0.0
) -> GuiderReach:
    """Return the limits of the guide camera under a sky, by the CCD equation; raises BadInput without a guider.

    Good to 0.3 mag (rates to 20 %, star colours). A bright Moon costs little: its light is added when given.
    """
    light = guide_conditions(sky, wish or GuideLight(), altitude_deg, moon_nl)
    faint, bright = guide_limit_mag(rig, light), guide_bright_mag(rig, light)
    outcome: Outcome = "reaches"
    if bright >= faint:
        outcome = "sky_saturates" if bright == math.inf else "nothing_between"
    return GuiderReach(
        outcome=outcome,
        limit_mag=faint,
        bright_mag=None if bright == -math.inf else min(bright, faint),
        fwhm_px=guide_fwhm_px(rig, light),
        light=light,
        sentence=_sentence(outcome, light, faint, bright, altitude_deg),
    )


def _sentence(outcome: Outcome, light: GuideLight, faint_mag: float, bright_mag: float, altitude_deg: float) -> str:
    """Say what the guide camera reaches, or why nothing."""
    if outcome == "sky_saturates":
        return f"The sky alone fills the guide camera's pixels in {light.exposure_s:g} s: expose shorter."
    reaches = (
        f"In {light.exposure_s:g} s the guide camera reaches a signal-to-noise of {light.least_snr:g} on stars of "
        f"magnitude {faint_mag:.1f} at {altitude_deg:.0f}° altitude"
    )
    if outcome == "nothing_between":
        return f"{reaches}, but stars brighter than {bright_mag:.1f} saturate: none is left; use another gain."
    upper = f"; stars brighter than {bright_mag:.1f} saturate" if bright_mag > -math.inf else ""
    return f"{reaches}{upper}."
