"""The description of stars.toml: where deeper stars come from."""

from sidelight.notebook.schema.fields import Page, Table, number, text
from sidelight.stars.service import GAIA_DR3

SERVICE = Table(
    "service",
    "Star service",
    "Asked only by the command that fetches deeper stars. It must speak the IVOA's Simple Cone Search.",
    (
        text("name", "What the catalogue is called.", default=GAIA_DR3.name),
        text(
            "url",
            "Address of the service.",
            default=GAIA_DR3.url,
        ),
        number("margin_mag", 0, 10, "Stars are fetched so much fainter than the guider reaches.", default=0.5),
        number("pause_s", 0, 600, "Pause between two questions, out of politeness.", default=GAIA_DR3.pause_s),
        number("timeout_s", 1, 3600, "An answer that takes longer is given up.", default=60.0),
        number("match_within_arcsec", 0, 60, "Two entries this near to each other are one star.", default=2.0),
    ),
)

COLUMNS = Table(
    "columns",
    "Columns",
    "Names of the service's columns. Leave them out when it marks its columns by UCD or is Gaia DR3.",
    (
        text("ra", "Right ascension in degrees.", example="RA_ICRS"),
        text("dec", "Declination in degrees.", example="DE_ICRS"),
        text("mag", "The magnitude to guide by.", example="Gmag"),
        text("pm_ra", "Proper motion in right ascension, times the cosine of declination.", example="pmRA"),
        text("pm_dec", "Proper motion in declination.", example="pmDE"),
        number("epoch_year", 1900, 2100, "The date for which the positions hold.", example=2016.0),
    ),
)

HEAD = Table("", "Stars", "", (), (SERVICE, COLUMNS))

STARS = Page("stars.toml", "Stars", "Where deeper guide stars are fetched from, should you want them.", HEAD)
