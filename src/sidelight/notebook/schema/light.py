"""The description of light.toml: the sky's brightness, the air, filters, exposures."""

from sidelight.light.filters import USUAL_FILTERS
from sidelight.notebook.schema.fields import Page, Table, number, text, whole

SKY = Table(
    "sky",
    "Sky",
    "How dark and how clear the air is above this site.",
    (
        number(
            "zenith_mag_arcsec2",
            14,
            23,
            "The moonless sky overhead in V, as a sky meter shows it.",
            example=21.2,
        ),
        number("zenith_error_mag", 0, 5, "How well you know it; a meter in the hand is good to 0.1.", default=0.1),
        whole(
            "darkness_class",
            1,
            9,
            "Without a meter: the sky's class from 1 (darkest) to 9 (city) on John Bortle's scale.",
            default=4,
        ),
        number(
            "extinction_mag_per_airmass",
            0,
            2,
            "What the air takes in V. Leave it out for an ordinary clear night at this height.",
            example=0.2,
        ),
        number("seeing_arcsec", 0.1, 20, "Width of a star at half height on a usual night.", default=3.0),
    ),
)

GLOW = Table(
    "glow",
    "Town glow",
    "A brighter part of the sky, as a sky meter shows it in that direction. Repeat the block for each town.",
    (
        number("azimuth_deg", 0, 360, "Direction, from true north through east.", required=True, example=120),
        number("altitude_deg", 5, 85, "Altitude at which it was measured.", default=30.0),
        number("sky_mag_arcsec2", 10, 23, "The moonless sky there, in V.", required=True, example=19.8),
        number("width_deg", 5, 360, "How wide the glow is, at half its strength.", default=60.0),
    ),
    many=True,
    example={"azimuth_deg": 120, "sky_mag_arcsec2": 19.8},
)


FILTER = Table(
    "filter",
    "Filters",
    "Your filters. When none is named, the usual ones below hold.",
    (
        text("name", "Its name, as in your goals and in the frames' headers.", required=True, example="L"),
        number("centre_nm", 300, 1100, "Middle of what it lets through.", required=True, example=550),
        number("bandwidth_nm", 0.1, 800, "Width of what it lets through.", required=True, example=300),
        number("transmission_fraction", 0.001, 1, "What it lets through at its middle.", default=0.9),
        number(
            "extinction_mag_per_airmass",
            0,
            2,
            "What the air takes in this band. Leave it out to have it reckoned from V.",
            example=0.15,
        ),
        number(
            "moonlight_factor",
            0,
            100,
            "How much more the Moon brightens the sky in it than in V. Leave it out to have it reckoned.",
            example=1.0,
        ),
    ),
    many=True,
    usual=tuple(
        {"name": one.name, "centre_nm": one.centre_nm, "bandwidth_nm": one.bandwidth_nm} for one in USUAL_FILTERS
    ),
)

EXPOSURE = Table(
    "exposure",
    "Exposures",
    "How single exposures are reckoned.",
    (
        number(
            "read_noise_share_percent",
            0,
            100,
            "How much the camera's read noise may add to the sky's own noise in one exposure.",
            above_low=True,
            default=5.0,
        ),
        number("shortest_s", 0, 36000, "No exposure is shorter.", above_low=True, default=10.0),
        number("longest_s", 0, 36000, "No exposure is longer.", above_low=True, default=600.0),
        number(
            "star_mag",
            -2,
            25,
            "Brightest star that must not burn out, in V. Leave it out when you do not mind.",
            example=9.0,
        ),
        number("between_s", 0, 3600, "Lost between two exposures: reading out, saving.", default=3.0),
        whole(
            "dither_every_count",
            0,
            1000,
            "The telescope is moved a little after so many exposures; 0 for never.",
            default=3,
        ),
        number("dither_s", 0, 3600, "Lost at each such move.", default=15.0),
        number(
            "wanted_snr",
            0,
            10000,
            "What you want to reach on one square arcsecond at the object's mean surface brightness. 30 leaves about "
            "3 where it is 2.5 mag fainter.",
            above_low=True,
            default=30.0,
        ),
    ),
)

HEAD = Table("", "Light", "", (), (SKY, GLOW, FILTER, EXPOSURE))

LIGHT = Page("light.toml", "Light", "How bright your sky is, your filters, and how you expose.", HEAD)
