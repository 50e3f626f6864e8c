"""The description of light.toml: the sky's brightness, the air, filters, exposures."""

from collections.abc import Mapping
from typing import Any

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
        number("zenith_error_mag", 0, 3, "How well you know it.", default=0.15),
        whole(
            "darkness_class",
            1,
            9,
            "Without a meter: the sky's class from 1 (darkest) to 9 (city) on John Bortle's scale.",
            default=4,
        ),
        number("extinction_mag_per_airmass", 0, 2, "What the air takes in V on a usual clear night.", default=0.2),
        number("seeing_arcsec", 0.1, 20, "Width of a star at half height on a usual night.", default=2.5),
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


def _filter(name: str, centre_nm: float, bandwidth_nm: float, extinction: float) -> Mapping[str, Any]:
    """Return one of the usual filters."""
    return {
        "name": name,
        "centre_nm": centre_nm,
        "bandwidth_nm": bandwidth_nm,
        "extinction_mag_per_airmass": extinction,
    }


FILTER = Table(
    "filter",
    "Filters",
    "Your filters. When none is named, the usual ones below hold.",
    (
        text("name", "Its name, as in your goals and in the frames' headers.", required=True, example="L"),
        number("centre_nm", 300, 1100, "Middle of what it lets through.", required=True, example=550),
        number("bandwidth_nm", 0, 800, "Width of what it lets through.", above_low=True, required=True, example=300),
        number("transmission_fraction", 0, 1, "What it lets through at its middle.", above_low=True, default=0.9),
        number(
            "extinction_mag_per_airmass",
            0,
            2,
            "What the air takes in this band. Leave it out to have it estimated from V.",
            example=0.15,
        ),
    ),
    many=True,
    # passbands and extinction as filters and clear lowland air usually have them: common practice, no source
    usual=(
        _filter("L", 550.0, 300.0, 0.2),
        _filter("R", 640.0, 100.0, 0.14),
        _filter("G", 535.0, 90.0, 0.2),
        _filter("B", 450.0, 100.0, 0.28),
        _filter("Ha", 656.3, 7.0, 0.13),
        _filter("OIII", 500.7, 7.0, 0.23),
        _filter("SII", 672.0, 7.0, 0.12),
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
            "wanted_snr", 0, 10000, "What you want to reach on one square arcsecond.", above_low=True, default=10.0
        ),
    ),
)

HEAD = Table("", "Light", "", (), (SKY, GLOW, FILTER, EXPOSURE))

LIGHT = Page("light.toml", "Light", "How bright your sky is, your filters, and how you expose.", HEAD)
