"""Which stars the guider is offered: the catalogue of a notebook and the magnitudes between which it can guide."""

from sidelight.notebook.read import Notebook
from sidelight.stars.catalogue import Catalogue, embedded

DEFAULT_FAINT_MAG = 11.5
"""Used while neither the person nor the guider's reach says otherwise: the embedded catalogue's complete depth."""


def guide_catalogue(notebook: Notebook) -> Catalogue:  # noqa: ARG001 - a notebook may hold deeper stars of its own
    """Return the stars that a notebook's set-ups rest on."""
    return embedded()


def guide_limits(notebook: Notebook) -> tuple[float, float | None]:
    """Return the faintest and the brightest usable magnitude; bright None means no bound."""
    faint = notebook.rig.guide_limit_mag
    return (DEFAULT_FAINT_MAG if faint is None else faint), notebook.rig.guide_bright_mag
