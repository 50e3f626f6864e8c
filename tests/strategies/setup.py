"""Small skies, rigs and wish lists for set-ups, and re-checks that share no code with the solver."""

from dataclasses import dataclass

import erfa
import numpy as np
from hypothesis import strategies as st

from sidelight.rig.guider import GuideRectangle
from sidelight.rig.records import Mount, OffAxisGuider, Rig, Sensor, Telescope, Tolerances
from sidelight.setup.records import SideNeed, Solution, Want
from sidelight.stars.cone import Stars
from sidelight.targets.records import Outline, Target

poles_and_elsewhere = st.one_of(
    st.tuples(st.floats(0.0, 359.99), st.floats(-90.0, 90.0)),
    st.tuples(st.floats(0.0, 359.99), st.sampled_from([90.0, -90.0, 89.7, -89.9])),
    st.tuples(st.sampled_from([0.0, 359.999]), st.floats(-80.0, 80.0)),
)
rectangles = st.builds(GuideRectangle, st.floats(12.0, 30.0), st.floats(0.3, 4.0), st.floats(0.3, 4.0))
seeds = st.integers(0, 2**32 - 1)


@dataclass(frozen=True)
class FewStars:
    """A catalogue of a handful of stars."""

    ra_deg: np.ndarray
    dec_deg: np.ndarray
    mag: np.ndarray
    name: str = "a handful of stars"
    depth_mag: float = 11.0

    def cone(self, ra_deg: float, dec_deg: float, radius_deg: float, faint_mag: float | None = None) -> Stars:
        """Return the stars of a cone, brightest first."""
        apart = np.degrees(
            erfa.seps(*np.radians([ra_deg, dec_deg]), np.radians(self.ra_deg), np.radians(self.dec_deg))
        )
        rows = np.flatnonzero((apart <= radius_deg) & (self.mag <= (faint_mag or np.inf)))
        rows = rows[np.argsort(self.mag[rows], kind="stable")]
        return Stars(self.ra_deg[rows], self.dec_deg[rows], self.mag[rows], self.name, self.depth_mag)

    def depth_at(self, ra_deg: np.ndarray, dec_deg: np.ndarray) -> np.ndarray:
        """Return one depth everywhere."""
        return np.full(np.broadcast(ra_deg, dec_deg).shape, self.depth_mag)


def scattered(
    random: np.random.Generator, centre: tuple[float, float], number: int, radius_deg: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Scatter stars evenly about a place, poles included: ra, dec, mag."""
    away = np.radians(radius_deg) * np.sqrt(random.uniform(0, 1, number))
    angle = random.uniform(0, 2 * np.pi, number)
    ra, dec = erfa.tpsts(np.tan(away) * np.sin(angle), np.tan(away) * np.cos(angle), *np.radians(centre))
    return np.degrees(ra), np.degrees(dec), random.uniform(6.0, 12.0, number)


def plane_of(stars: tuple[np.ndarray, np.ndarray], pointing: tuple[float, float], focal_mm: float) -> np.ndarray:
    """Project with ERFA's tpxes: (n, 2) east and north, mm."""
    places = np.full((len(stars[0]), 2), np.inf)
    near = erfa.seps(*np.radians(stars), *np.radians(pointing)) < 1.0
    xi, eta = erfa.tpxes(*np.radians(stars)[:, near], *np.radians(pointing))
    places[near] = np.column_stack([xi, eta]) * focal_mm
    return places


def on_sensor(places_mm: np.ndarray, stands_deg: np.ndarray, rectangle: GuideRectangle) -> np.ndarray:
    """Tell (angles, stars): is the star on the rectangle that stands at this position angle? By turning corners."""
    angle = np.radians(np.atleast_1d(stands_deg))[:, None]
    seen = np.isfinite(places_mm[:, 0])
    turned = (np.where(seen, places_mm[:, 0], 0.0) + 1j * np.where(seen, places_mm[:, 1], 0.0)) * np.exp(
        1j * (angle - np.pi / 2)
    )
    along, across = turned.real, turned.imag
    return (np.abs(along - rectangle.stem_radius_mm) <= rectangle.half_along_mm) & (
        np.abs(across) <= rectangle.half_across_mm
    )


def lit_at(
    stars: tuple[np.ndarray, np.ndarray],
    pointing: tuple[float, float],
    side: str,
    angles_deg: np.ndarray,
    rig: Rig,
    rectangle: GuideRectangle,
) -> np.ndarray:
    """Tell for each g whether any star is on the guide sensor for a target on one side."""
    places = plane_of(stars, pointing, rig.telescope.effective_focal_length_mm)
    turn = 180.0 if side == "east" else 0.0
    return on_sensor(places, np.asarray(angles_deg) + turn, rectangle).any(axis=1)


def outline_points(target: Target, number: int = 240) -> tuple[np.ndarray, np.ndarray]:
    """Return points along every outline of a target on the sky: ra, dec."""
    turn = np.linspace(0, 2 * np.pi, number, endpoint=False)
    every_ra, every_dec = [], []
    for one in target.outlines:
        minor = one.semi_major_arcmin if one.position_angle_deg is None else one.semi_minor_arcmin
        along = np.tan(np.radians(one.semi_major_arcmin / 60)) * np.cos(turn)
        across = np.tan(np.radians(minor / 60)) * np.sin(turn)
        angle = np.radians(one.position_angle_deg or 0.0)
        xi = along * np.sin(angle) + across * np.cos(angle)
        eta = along * np.cos(angle) - across * np.sin(angle)
        ra, dec = erfa.tpsts(xi, eta, *np.radians([one.ra_deg, one.dec_deg]))
        every_ra.append(np.degrees(ra))
        every_dec.append(np.degrees(dec))
    return np.concatenate(every_ra), np.concatenate(every_dec)


def framed_at(
    target: Target, pointing: tuple[float, float], angles_deg: np.ndarray, rig: Rig, spare_mm: float = 0.0
) -> np.ndarray:
    """Tell for each p whether all outline points are inside the frame, its border taken off, and `spare_mm` more."""
    focal = rig.telescope.effective_focal_length_mm
    places = plane_of(outline_points(target), pointing, focal)
    border = focal * np.tan(np.radians(rig.tolerances.frame_border_arcmin / 60)) + spare_mm
    turned = (places[:, 0] + 1j * places[:, 1]) * np.exp(1j * np.radians(np.atleast_1d(angles_deg)))[:, None]
    inside = np.abs(turned.real) <= rig.camera.width_mm / 2 - border
    inside &= np.abs(turned.imag) <= rig.camera.height_mm / 2 - border
    return inside.all(axis=1)


def small_rig(
    focal_mm: float = 1600.0,
    guide_px: tuple[int, int] = (1304, 976),
    camera_px: tuple[int, int] = (4144, 2822),
    tolerance_deg: float = 1.0,
    kind: str = "german",
    rotator: bool = False,
    guided: bool = True,
    stem_radius_mm: float = 22.0,
) -> Rig:
    """Return a rig whose guide sensor loses nothing to boxes and errors, so that re-checks need no tolerances."""
    guider = OffAxisGuider(stem_radius_mm, Sensor(*guide_px, 3.75), prism_distance_mm=40.0)
    return Rig(
        Telescope(203.0, focal_mm),
        Sensor(*camera_px, 4.63),
        guider if guided else None,
        Mount("german" if kind == "german" else "fork"),
        rotator,
        Tolerances(tolerance_deg, 0.0, 0.0, 0.0, 1.0),
    )


def want(key: str, place: tuple[float, float], *outlines: Outline, sides: str = "east west", **more: float) -> Want:
    """Return a want at a place; without an outline it is a point."""
    one = outlines or (Outline(key, *place),)
    return Want(Target(key, *place, one, **more), tuple(SideNeed(side) for side in sides.split()))


@st.composite
def questions(draw: st.DrawFn, most: int = 4) -> tuple[Rig, list[Want], FewStars]:
    """Draw a rig, up to `most` wants anywhere on the sky, and some stars about each."""
    random = np.random.default_rng(draw(seeds))
    rig = small_rig(
        focal_mm=draw(st.floats(700.0, 2500.0)),
        guide_px=draw(st.sampled_from([(1304, 976), (1920, 1080), (752, 480)])),
        kind=draw(st.sampled_from(["german", "german", "fork"])),
        stem_radius_mm=draw(st.floats(17.0, 26.0)),
    )
    number = int(random.integers(1, most + 1))
    wants, stars = [], []
    reach = np.degrees(np.arctan(30.0 / rig.telescope.effective_focal_length_mm))
    for k in range(number):
        # far enough apart that no two share stars
        place = (draw(st.floats(0.0, 359.99)), -70.0 + 140.0 * k / most)
        sides = draw(st.sampled_from(["east west", "east west", "east", "west"])) if rig.mount.flips else "any"
        size = draw(st.floats(0.0, 12.0))
        outline = Outline("outline", *place, size, size / 2, draw(st.floats(0.0, 180.0)))
        wants.append(want(f"target {k}", place, outline, sides=sides))
        stars.append(scattered(random, place, max(0, int(random.integers(-5, 140))), reach))
    return rig, wants, FewStars(*np.concatenate(stars, axis=1))


def rings_needed(solution: Solution) -> set[str]:
    """Return the rings that a solution has to serve, as "target, side"."""
    return {f"{ring.target}, {ring.side}" for ring in solution.rings if ring.needed}


def rings_of_the_cover(solution: Solution) -> set[str]:
    """Return the needed rings that have a star in some set-up of the cover, as "target, side"."""
    return {
        f"{place.target}, {place.side}"
        for setup in solution.smallest_cover
        for place in setup.places
        if place.needed and place.star is not None
    }
