"""Gaia's own magnitudes as visual ones."""

import numpy as np

from sidelight.ground.types import FloatArray, Floats

TYPICAL_BP_MINUS_RP_MAG = 1.0
"""Where the colour is missing: a star of type G to K, the most common at 12 to 15 mag; common practice, no source."""


def v_from_gaia_mag(g_mag: Floats, bp_mag: Floats, rp_mag: Floats) -> FloatArray:
    """Return Johnson V from Gaia (E)DR3 G, BP and RP; NaN colours are taken as BP - RP = 1.0; broadcasts.

    G - V = -0.02704 + 0.01424 c - 0.2156 c² + 0.01426 c³, c = BP - RP, scatter 0.03 mag, for -0.5 < c < 5.0; colours
    beyond are taken at the ends. Gaia EDR3 documentation, section 5.5.1 (Busso et al. 2021; Riello et al. 2021,
    A&A 649, A3); coefficients from memory, held against known stars in the tests.
    """
    colour = np.asarray(bp_mag, dtype=np.float64) - np.asarray(rp_mag, dtype=np.float64)
    c = np.clip(np.where(np.isfinite(colour), colour, TYPICAL_BP_MINUS_RP_MAG), -0.5, 5.0)
    return np.asarray(g_mag, dtype=np.float64) - (-0.02704 + 0.01424 * c - 0.2156 * c**2 + 0.01426 * c**3)
