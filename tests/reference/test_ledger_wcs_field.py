"""The size of a solved picture on the sky, for what it is later compared with."""

from dataclasses import replace

import pytest
from tests.strategies.ledger import header_of

from sidelight.ledger.wcs import solution_of, solved_image

CARDS = {
    "CTYPE1": "RA---TAN",
    "CTYPE2": "DEC--TAN",
    "CRPIX1": 3124.5,
    "CRPIX2": 2088.5,
    "CDELT1": -1.4633105 / 3600,
    "CDELT2": 1.4633105 / 3600,
    "CRVAL1": 83.8,
    "CRVAL2": -5.4,
}


def test_width_and_height_on_the_sky() -> None:
    """6248 × 4176 pixels of 1.46331″ (3.76 µm at 530 mm) span 2.53924° × 1.69732°; the tangent is exact."""
    image = solved_image(replace(solution_of(header_of(CARDS)), width_px=6248, height_px=4176))
    assert image.width_deg == pytest.approx(2.53924, abs=2e-5)
    assert image.height_deg == pytest.approx(1.69732, abs=2e-5)
    assert image.scale_arcsec_per_px == pytest.approx(1.46331, abs=1e-5)
