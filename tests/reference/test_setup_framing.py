"""Framing against astropy: outlines walked on the sphere, put through a FITS WCS of the camera."""

import astropy.units as u
import numpy as np
import pytest
from astropy.coordinates import SkyCoord
from astropy.wcs import WCS
from tests.strategies.setup import small_rig

from sidelight.ground import spans
from sidelight.rig.records import Rig
from sidelight.setup.framing import frame_arcs, plane_outlines, shift_rectangle
from sidelight.targets.records import Outline, Target

EDGE_DEG = 0.05
# outlines are ellipses in the tangent plane at their own centre here and in that of the pointing there:
# over half a degree the two differ by less than 1 part in 10 000


def walked(outline: Outline) -> SkyCoord:
    """Return points along an outline, each a great-circle offset from its centre."""
    turn = np.linspace(0.0, 360.0, 720, endpoint=False)
    minor = outline.semi_major_arcmin if outline.position_angle_deg is None else outline.semi_minor_arcmin
    along = outline.semi_major_arcmin * np.cos(np.radians(turn))
    across = minor * np.sin(np.radians(turn))
    angle = (outline.position_angle_deg or 0.0) + np.degrees(np.arctan2(across, along))
    centre = SkyCoord(outline.ra_deg * u.deg, outline.dec_deg * u.deg)
    return centre.directional_offset_by(angle * u.deg, np.hypot(along, across) * u.arcmin)


def camera_wcs(target: Target, rig: Rig, camera_angle_deg: float) -> WCS:
    """Build the FITS WCS (TAN) of the camera with its picture's up direction at a position angle."""
    pixel_mm = rig.camera.pixel_um / 1000.0
    step = np.degrees(pixel_mm / rig.telescope.effective_focal_length_mm)
    p = np.radians(camera_angle_deg)
    wcs = WCS(naxis=2)
    wcs.wcs.ctype = ["RA---TAN", "DEC--TAN"]
    wcs.wcs.crval = [target.ra_deg, target.dec_deg]
    wcs.wcs.lonpole = 180.0
    wcs.wcs.crpix = [(rig.camera.width_px + 1) / 2, (rig.camera.height_px + 1) / 2]
    wcs.wcs.cd = step * np.array([[-np.cos(p), np.sin(p)], [np.sin(p), np.cos(p)]])
    return wcs


def fits_by_pixels(target: Target, rig: Rig, camera_angle_deg: float) -> bool:
    """Tell whether every outline point's pixel is inside the picture with its border taken off."""
    wcs = camera_wcs(target, rig, camera_angle_deg)
    pixel_mm = rig.camera.pixel_um / 1000.0
    focal = rig.telescope.effective_focal_length_mm
    border = focal * np.tan(np.radians(rig.tolerances.frame_border_arcmin / 60)) / pixel_mm
    for outline in target.outlines:
        points = walked(outline)
        x, y = wcs.wcs_world2pix(points.ra.deg, points.dec.deg, 1)
        x, y = x - (rig.camera.width_px + 1) / 2, y - (rig.camera.height_px + 1) / 2
        if np.any(np.abs(x) > rig.camera.width_px / 2 - border) or np.any(
            np.abs(y) > rig.camera.height_px / 2 - border
        ):
            return False
    return True


CASES = {
    "one large ellipse": ((35.6, 42.3), [(35.6, 42.3, 19.0, 4.0, 22.0)]),
    "round, position angle unknown": ((120.0, -65.0), [(120.3, -65.05, 9.0, 4.0, None)]),
    "a neighbour in the corner": ((148.9, 69.1), [(148.9, 69.07, 12.0, 6.0, 157.0), (149.6, 69.25, 3.0, 2.0, 10.0)]),
    "beside the pole": ((40.0, 89.0), [(40.0, 89.0, 10.0, 3.0, 60.0), (58.0, 89.1, 5.0, 1.0, 120.0)]),
    "across 0h": ((359.98, -5.0), [(0.1, -5.03, 11.0, 2.0, 80.0)]),
}


@pytest.mark.parametrize("name", CASES)
def test_frame_edges_are_where_pixels_leave_the_picture(name: str) -> None:
    """A twentieth of a degree inside each arc of p all outline pixels are in the picture; outside, one is not."""
    pointing, rows = CASES[name]
    outlines = tuple(Outline(f"outline {i}", *row) for i, row in enumerate(rows))
    target = Target("target", *pointing, outlines)
    rig = small_rig()
    arcs = frame_arcs(plane_outlines(target, rig))
    assert 0.0 < spans.total(arcs) < 360.0
    for start, end in arcs:
        assert fits_by_pixels(target, rig, start + EDGE_DEG)
        assert fits_by_pixels(target, rig, end - EDGE_DEG)
        assert not fits_by_pixels(target, rig, start - EDGE_DEG)
        assert not fits_by_pixels(target, rig, end + EDGE_DEG)
    for p in np.arange(0.37, 360.0, 9.1):
        assert fits_by_pixels(target, rig, p) == bool(spans.arcs_contain(arcs, p))


def test_the_worked_half_extents() -> None:
    """An ellipse's half-extent along ψ is √(a²cos²(ψ−φ) + b²sin²(ψ−φ)): at φ = ψ it is a, across it b."""
    target = Target("target", 10.0, 20.0, (Outline("target", 10.0, 20.0, 12.0, 5.0, 30.0),))
    rig = small_rig()
    outlines = plane_outlines(target, rig)
    focal = rig.telescope.effective_focal_length_mm
    rectangle = shift_rectangle(outlines, [30.0, 120.0, 75.0])
    reach = outlines.half_height_mm - rectangle.up_high_mm
    a, b = focal * np.tan(np.radians(np.array([12.0, 5.0]) / 60))
    assert reach == pytest.approx([a, b, np.sqrt((a**2 + b**2) / 2)], rel=2e-5)
