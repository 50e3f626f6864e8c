"""All files of a notebook."""

from sidelight.notebook.schema.campaign import CAMPAIGN
from sidelight.notebook.schema.fields import Page
from sidelight.notebook.schema.learned import LEARNED
from sidelight.notebook.schema.light import LIGHT
from sidelight.notebook.schema.rig import RIG
from sidelight.notebook.schema.setups import SETUPS
from sidelight.notebook.schema.site import SITE
from sidelight.notebook.schema.stars import STARS
from sidelight.notebook.schema.targets import TARGETS

PAGES: tuple[Page, ...] = (SITE, RIG, TARGETS, CAMPAIGN, LIGHT, STARS, SETUPS, LEARNED)
HORIZON_FILE = "horizon.txt"
FILES: tuple[str, ...] = ("site.toml", HORIZON_FILE, *(page.file for page in PAGES[1:]))
"""Every file name that belongs to a notebook, in the order of reading."""


def page_of(file: str) -> Page | None:
    """Return the description of a file, None for one that is not described here."""
    return next((page for page in PAGES if page.file == file), None)
