"""Rings against the sky: a handbook case with Tycho-2 stars, and a FITS-WCS pixel test of the guide sensor."""

from dataclasses import replace

import numpy as np
import pytest
from astropy.wcs import WCS
from tests.strategies.setup import scattered, small_rig, want

from sidelight.ground import spans
from sidelight.rig.guider import GuideRectangle
from sidelight.rig.optics import plane_mm, rho_q
from sidelight.setup.records import Constraints
from sidelight.setup.rings import lit_angles, side_arcs, star_arcs
from sidelight.setup.solve import solve
from sidelight.stars.catalogue import embedded

TOLERANCE_DEG = 0.01
HANDBOOK = GuideRectangle(20.0, 1.6, 2.8)
FOCAL_MM = 1600.0
# worked by hand from Tycho-2 positions: pointing, star, distance from the axis mm, position angle, arc of g
WORKED = [
    ((35.639, 42.349), (35.79793, 43.01495), 18.882, 9.897, (1.369, 18.425)),
    ((35.639, 42.349), (36.42864, 41.99123), 19.156, 121.172, (112.767, 129.577)),
    ((35.639, 42.349), (35.08805, 43.00306), 21.485, 328.417, (320.929, 335.905)),
    ((339.267, 34.416), (338.55066, 34.11801), 18.509, 243.483, (237.270, 249.697)),
    ((339.267, 34.416), (339.21594, 35.13599), 20.141, 356.681, (348.690, 4.672)),
]


@pytest.mark.parametrize(("pointing", "star", "rho", "q", "arc"), WORKED)
def test_worked_arcs(
    pointing: tuple[float, float], star: tuple[float, float], rho: float, q: float, arc: tuple[float, float]
) -> None:
    """Distance, position angle and arc of five stars are those worked out by hand, to their last digit."""
    rho_mm, q_deg = rho_q(*plane_mm(*star, *pointing, FOCAL_MM))
    rows, which = star_arcs(rho_mm, q_deg, HANDBOOK)
    assert float(rho_mm) == pytest.approx(rho, abs=6e-4)
    assert float(q_deg) == pytest.approx(q, abs=2e-3)
    assert which.tolist() == [0]
    assert np.mod(rows[0], 360.0) == pytest.approx(arc, abs=2e-3)


@pytest.mark.parametrize(("pointing", "share"), [((35.639, 42.349), 0.640), ((339.267, 34.416), 0.457)])
def test_worked_shares(pointing: tuple[float, float], share: float) -> None:
    """With all Tycho-2 stars to VT 11.0 the rings cover the share of the circle that was worked out for them."""
    stars = embedded().cone(*pointing, 0.9, 11.0)
    lit = lit_angles(plane_mm(stars.ra_deg, stars.dec_deg, *pointing, FOCAL_MM), "west", HANDBOOK)
    assert spans.total(lit) / 360.0 == pytest.approx(share, abs=6e-4)


def sensor_wcs(pointing: tuple[float, float], focal_mm: float, stands_deg: float, stem_radius_mm: float) -> WCS:
    """Build the FITS WCS (TAN) of a guide sensor of 0.01 mm pixels whose middle is pixel (0, 0).

    Its +y axis points outwards along the stem, at position angle `stands_deg`; Calabretta & Greisen 2002.
    """
    pixel_mm = 0.01
    step = np.degrees(pixel_mm / focal_mm)
    g = np.radians(stands_deg)
    wcs = WCS(naxis=2)
    wcs.wcs.ctype = ["RA---TAN", "DEC--TAN"]
    wcs.wcs.crval = pointing
    # at the pole itself the standard's default would be 0, turning north by half a turn against its neighbourhood
    wcs.wcs.lonpole = 180.0
    wcs.wcs.crpix = [1.0, 1.0 - stem_radius_mm / pixel_mm]
    wcs.wcs.cd = step * np.array([[-np.cos(g), np.sin(g)], [np.sin(g), np.cos(g)]])
    return wcs


def pixel_test(
    stars: np.ndarray, pointing: tuple[float, float], focal_mm: float, stands_deg: float, box: GuideRectangle
) -> np.ndarray:
    """Tell which stars have their pixel inside the box, by astropy."""
    x, y = sensor_wcs(pointing, focal_mm, stands_deg, box.stem_radius_mm).wcs_world2pix(stars[0], stars[1], 0)
    return (np.abs(x) * 0.01 <= box.half_across_mm) & (np.abs(y) * 0.01 <= box.half_along_mm)


FIELDS = [
    (12.3, 41.2),
    (359.95, -30.0),
    (0.02, 5.0),
    (200.0, 90.0),
    (77.0, -90.0),
    (150.0, 89.6),
    (310.0, -88.9),
    (266.4, -29.0),
]


@pytest.mark.parametrize("field", range(len(FIELDS)))
@pytest.mark.parametrize("side", ["west", "east", "any"])
def test_rings_agree_with_a_pixel_test(field: int, side: str) -> None:
    """A hundredth of a degree inside each arc a star's pixel is on the sensor, a hundredth outside it is not."""
    random = np.random.default_rng(1000 + field)
    focal_mm = float(random.uniform(400.0, 3000.0))
    box = GuideRectangle(*random.uniform([14.0, 0.8, 0.8], [28.0, 4.0, 4.0]))
    pointing = FIELDS[field]
    reach = np.degrees(np.arctan((box.stem_radius_mm + 8.0) / focal_mm))
    stars = np.array(scattered(random, pointing, 60, float(reach))[:2])
    turn = 180.0 if side == "east" else 0.0
    rows, which = side_arcs(plane_mm(*stars, *pointing, focal_mm), side, box)
    assert len(rows) > 3
    for (start, end), star in zip(rows, which, strict=True):
        one = stars[:, [star]]
        assert end - start > 2 * TOLERANCE_DEG
        for g, expected in (
            (start + TOLERANCE_DEG, True),
            (end - TOLERANCE_DEG, True),
            (start - TOLERANCE_DEG, False),
            (end + TOLERANCE_DEG, False),
        ):
            assert pixel_test(one, pointing, focal_mm, g + turn, box)[0] == expected
    for g in np.arange(0.0, 360.0, 7.3):
        turned = np.mod(g - rows[:, 0], 360.0)
        length = rows[:, 1] - rows[:, 0]
        clear = np.ones(stars.shape[1], dtype=bool)
        near_end = np.minimum(np.abs(turned), np.abs(turned - length)) < TOLERANCE_DEG
        clear[which[near_end]] = False
        lit = np.zeros(stars.shape[1], dtype=bool)
        lit[which[turned <= length]] = True
        assert np.array_equal(pixel_test(stars, pointing, focal_mm, g + turn, box)[clear], lit[clear])


@pytest.mark.parametrize("long_side", ["across", "along"])
@pytest.mark.parametrize("grant", [0.0, 6.0])
def test_places_on_the_sensor_are_the_stars_pixels(long_side: str, grant: float) -> None:
    """Each chosen star's place is its pixel in a FITS WCS of the sensor, east and west, shifted pointings too.

    Width across the stem: +y outwards, +x clockwise of it on the sky. Width along the stem: +x outwards.
    """
    rig = small_rig()
    assert rig.guider is not None
    rig = replace(rig, guider=replace(rig.guider, long_side=long_side))
    wants = [want("a field", (35.639, 42.349)), want("another", (339.267, 34.416)), want("a third", (148.97, 69.68))]
    solution = solve(rig, wants, embedded(), Constraints(grant_shift_arcmin=grant), 10.4, explain=False)
    assert solution.best is not None
    assert (solution.best.largest_shift_arcmin > 0) == (grant > 0)
    checked = 0
    for place in solution.best.places:
        if place.star is None or place.place_on_sensor_px is None:
            continue
        g = (solution.best.guider_angle_deg or 0.0) + (180.0 if place.side == "east" else 0.0)
        pointing = place.pointing_ra_deg, place.pointing_dec_deg
        wcs = sensor_wcs(pointing, FOCAL_MM, g, rig.guider.stem_radius_mm)
        clockwise, outwards = wcs.wcs_world2pix(place.star.ra_deg, place.star.dec_deg, 0)
        expected = (clockwise, outwards) if long_side == "across" else (outwards, -clockwise)
        pixel = 0.01 / (rig.guider.sensor.pixel_um / 1000.0)
        assert place.place_on_sensor_px == pytest.approx(np.array(expected) * pixel, abs=0.01)
        checked += 1
    assert checked >= 3
