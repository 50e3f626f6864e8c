"""The field of a target as numbers: stars, outlines, the frame, the guide sensor on both sides; mm on the plane."""

import datetime as dt
from dataclasses import dataclass

import numpy as np

from sidelight.desk.starlight import guide_catalogue
from sidelight.ground.types import FloatArray
from sidelight.notebook.read import Notebook
from sidelight.rig.guider import whole_rectangle
from sidelight.rig.mount import turn_on_side_deg
from sidelight.rig.optics import plane_mm
from sidelight.setup.records import GuidePlace, SetUp, Side, TargetPlace
from sidelight.targets.records import Outline, Target


@dataclass(frozen=True)
class PlaneOutline:
    """An object's ellipse with its middle on the plane."""

    name: str
    east_mm: float
    north_mm: float
    semi_major_arcmin: float
    semi_minor_arcmin: float
    position_angle_deg: float | None


@dataclass(frozen=True)
class PlaneFootprint:
    """The guide sensor on one side, at its real position angle on the sky."""

    side: Side
    angle_deg: float
    radius_mm: float
    half_along_mm: float
    half_across_mm: float


@dataclass(frozen=True)
class PlaneStar:
    """A chosen guide star."""

    side: Side
    east_mm: float
    north_mm: float
    mag: float


@dataclass(frozen=True, eq=False)
class FieldReport:
    """One target's field at its pointing.

    stars_east_north_mm : shape (n, 2); stars_mag : shape (n,). arcmin_per_mm : scale at the centre.
    camera_angle_deg, guider_angle_deg : for this target, None when nothing was chosen.
    """

    target: str
    pointing_ra_deg: float
    pointing_dec_deg: float
    arcmin_per_mm: float
    stars_east_north_mm: FloatArray
    stars_mag: FloatArray
    outlines: tuple[PlaneOutline, ...]
    frame_width_mm: float
    frame_height_mm: float
    camera_angle_deg: float | None
    guider_angle_deg: float | None
    footprints: tuple[PlaneFootprint, ...]
    guide_stars: tuple[PlaneStar, ...]


def field_report(notebook: Notebook, date: dt.date, target: Target, best: SetUp | None) -> FieldReport:
    """Return what stands round one target, and what a set-up makes of it."""
    place = next((one for one in best.targets if one.target == target.key), None) if best else None
    ra, dec = (place.pointing_ra_deg, place.pointing_dec_deg) if place else (target.ra_deg, target.dec_deg)
    focal_mm = notebook.rig.telescope.effective_focal_length_mm
    stars = guide_catalogue(notebook, date).cone(ra, dec, _reach_deg(notebook))
    east, north = plane_mm(stars.ra_deg, stars.dec_deg, ra, dec, focal_mm)
    guides = [one for one in best.places if one.target == target.key] if best else []
    return FieldReport(
        target=target.key,
        pointing_ra_deg=ra,
        pointing_dec_deg=dec,
        arcmin_per_mm=float(np.degrees(1.0 / focal_mm)) * 60.0,
        stars_east_north_mm=np.column_stack([east, north]),
        stars_mag=stars.mag,
        outlines=tuple(_on_plane(outline, ra, dec, focal_mm) for outline in target.outlines),
        frame_width_mm=notebook.rig.camera.width_mm,
        frame_height_mm=notebook.rig.camera.height_mm,
        camera_angle_deg=place.camera_angle_deg if place else None,
        guider_angle_deg=place.guider_angle_deg if place else None,
        footprints=_footprints(notebook, place, guides),
        guide_stars=tuple(_guide_star(one, ra, dec, focal_mm) for one in guides if one.star),
    )


def _reach_deg(notebook: Notebook) -> float:
    """Return how far the frame's corner or the guide sensor's far corner reaches, with a margin."""
    rig = notebook.rig
    reach_mm = 0.5 * float(np.hypot(rig.camera.width_mm, rig.camera.height_mm))
    if rig.guider:
        whole = whole_rectangle(rig.guider)
        reach_mm = max(reach_mm, float(np.hypot(whole.stem_radius_mm + whole.half_along_mm, whole.half_across_mm)))
    return float(np.degrees(np.arctan(1.12 * reach_mm / rig.telescope.effective_focal_length_mm)))


def _on_plane(outline: Outline, ra_deg: float, dec_deg: float, focal_mm: float) -> PlaneOutline:
    """Return an outline with its middle on the plane."""
    east, north = plane_mm(outline.ra_deg, outline.dec_deg, ra_deg, dec_deg, focal_mm)
    return PlaneOutline(
        outline.name,
        float(east),
        float(north),
        outline.semi_major_arcmin,
        outline.semi_minor_arcmin,
        outline.position_angle_deg,
    )


def _footprints(
    notebook: Notebook, place: TargetPlace | None, guides: list[GuidePlace]
) -> tuple[PlaneFootprint, ...]:
    """Return the guide sensor for each side that the mount has."""
    if notebook.rig.guider is None or place is None or place.guider_angle_deg is None:
        return ()
    whole = whole_rectangle(notebook.rig.guider)
    return tuple(
        PlaneFootprint(
            guide.side,
            (place.guider_angle_deg + turn_on_side_deg(notebook.rig.mount, guide.side)) % 360.0,
            whole.stem_radius_mm,
            whole.half_along_mm,
            whole.half_across_mm,
        )
        for guide in guides
    )


def _guide_star(guide: GuidePlace, ra_deg: float, dec_deg: float, focal_mm: float) -> PlaneStar:
    """Return a chosen guide star on the plane."""
    assert guide.star is not None
    east, north = plane_mm(guide.star.ra_deg, guide.star.dec_deg, ra_deg, dec_deg, focal_mm)
    return PlaneStar(guide.side, float(east), float(north), guide.star.mag)
