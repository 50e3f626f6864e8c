"""Where on the dial fainter stars than the catalogues hold may be in the guider's reach."""

import datetime as dt

import numpy as np

from sidelight.desk.starlight import guide_catalogue
from sidelight.ground import spans
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import turn_on_side_deg
from sidelight.rig.optics import sky_deg
from sidelight.setup.records import Ring

STEP_DEG = 1.0
DEEP_ENOUGH_MAG = 0.05
"""A catalogue that ends so little short of the guider's limit counts as deep enough."""

Arcs = tuple[tuple[float, float], ...]


def shallow_arcs(
    notebook: Notebook, date: dt.date, rings: tuple[Ring, ...], limit_mag: float | None
) -> tuple[Arcs, ...]:
    """Return for each ring the guider angles at which the stars are not known down to the limit, to a degree.

    Empty for every ring when it is the same all round every ring (then a note says it), or without a limit: only
    partial coverage is worth drawing.
    """
    guider = notebook.rig.guider
    if guider is None or limit_mag is None or not rings:
        return tuple(() for _ in rings)
    g = np.arange(0.0, 360.0, STEP_DEG)
    catalogue, focal_mm = guide_catalogue(notebook, date), notebook.rig.telescope.effective_focal_length_mm
    shallow = []
    for ring in rings:
        at = np.radians(g + turn_on_side_deg(notebook.rig.mount, ring.side))
        x, y = guider.stem_radius_mm * np.sin(at), guider.stem_radius_mm * np.cos(at)
        ra, dec = sky_deg(x, y, ring.pointing_ra_deg, ring.pointing_dec_deg, focal_mm)
        shallow.append(catalogue.depth_at(ra, dec) < limit_mag - DEEP_ENOUGH_MAG)
    if all(one.all() for one in shallow) or not any(one.any() for one in shallow):
        return tuple(() for _ in rings)
    return tuple(_as_arcs(g, one) for one in shallow)


def _as_arcs(g: np.ndarray, chosen: np.ndarray) -> Arcs:
    """Return arcs around the chosen angles, half a step to each side."""
    rows = [(angle - STEP_DEG / 2, angle + STEP_DEG / 2) for angle in g[chosen]]
    return (
        tuple((float(a), float(b)) for a, b in spans.arcs_union(*[spans.arcs([row]) for row in rows])) if rows else ()
    )
