"""The guider's reach: how faint and how bright a guide star may be under this sky, for the set-up to count with."""

import math
from dataclasses import dataclass, replace

from sidelight.light.filters import Filter, sky_mag_in_band
from sidelight.rig.guide_light import GuideLight, guide_bright_mag, guide_fwhm_px, guide_limit_mag
from sidelight.rig.records import Rig
from sidelight.sky.airmass import airmass_kasten_young
from sidelight.sky.brightness import NightSky, mag_from_nl, sky_parts


@dataclass(frozen=True)
class GuiderReach:
    """What the guide camera can use.

    limit_mag : the faintest V magnitude with the wanted signal-to-noise. bright_mag : the brightest that does not
    saturate, None for no bound. fwhm_px : a star's width on it. light : everything it was worked out with.
    """

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
    known = math.isfinite(bright)
    upper = f"; stars brighter than {bright:.1f} saturate" if known else ""
    return GuiderReach(
        limit_mag=faint,
        bright_mag=bright if known else None,
        fwhm_px=guide_fwhm_px(rig, light),
        light=light,
        sentence=(
            f"In {light.exposure_s:g} s the guide camera reaches a signal-to-noise of {light.least_snr:g} on stars "
            f"of magnitude {faint:.1f} at {altitude_deg:.0f}° altitude{upper}."
        ),
    )
