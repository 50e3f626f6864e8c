"""The joint solution and its rings, beside a scan of all camera and guider angles 0.1° apart and a test of pixels.

Ten real objects, both sides of the meridian, Tycho-2 stars. The scan is written as favourably as can be: whole
arrays at once, frames apart from rings, both joined by one matrix product. It finds the best pair of angles to
its step; the solver finds it exactly, and also names stars, slacks and the next best.
"""

import sys
from collections.abc import Callable, Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from benchmarks.measure import Words, emit, figure, grow

from sidelight.ground import spans
from sidelight.rig.guider import usable_rectangle
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope
from sidelight.rig.shadow import shadow_free
from sidelight.setup.framing import plane_outlines, room_mm
from sidelight.setup.records import Constraints, SideNeed, Want
from sidelight.setup.rings import lit_angles
from sidelight.setup.solve import solve_loaded
from sidelight.setup.task import reaches_for
from sidelight.stars.catalogue import embedded
from sidelight.targets.names import target_from_name

NAMES = (
    *("M 74", "NGC 4565", "NGC 2903", "NGC 7023", "M 81", "NGC 6946", "IC 342", "NGC 2403", "M 76", "NGC 7635"),
    *("M 31", "M 33", "M 51", "M 57", "M 63", "M 101", "M 106", "M 27", "NGC 253", "NGC 5907"),
)
TEN = 10
STEP_DEG = 0.1
LIMIT_MAG = 12.0
Places = Sequence[tuple[np.ndarray, np.ndarray]]


def the_rig(focal_mm: float = 900.0) -> Rig:
    """Return an invented rig: a medium telescope, a 4/3″ camera, a small guide sensor."""
    guider = OffAxisGuider(20.0, Sensor(1920, 1080, 2.9), prism_distance_mm=40.0)
    return Rig(Telescope(150.0, focal_mm), Sensor(4656, 3520, 3.8), guider, guide_limit_mag=LIMIT_MAG)


def the_wants(count: int = TEN) -> list[Want]:
    """Return wants that need both sides."""
    sides = (SideNeed("east"), SideNeed("west"))
    return [Want(target_from_name(name), sides) for name in NAMES[:count]]


def scan(rig: Rig, wants: list[Want], stars: Places) -> tuple[int, float, float, float]:
    """Return (rings served, slack, p, g) of the best pair on a grid of 0.1°."""
    p, g = np.arange(0.0, 180.0, STEP_DEG), np.arange(0.0, 360.0, STEP_DEG)
    box = usable_rectangle(rig)
    framed = np.array([room_mm(plane_outlines(want.target, rig), p) >= 0 for want in wants])
    fits = framed.any(axis=1)
    framed[~fits] = True
    lit = []
    for x, y in stars:
        u, v = np.outer(np.sin(np.radians(g)), x), np.outer(np.cos(np.radians(g)), x)
        u, v = u + np.outer(np.cos(np.radians(g)), y), v - np.outer(np.sin(np.radians(g)), y)
        for along in (-u, u):
            on = (np.abs(along - box.stem_radius_mm) <= box.half_along_mm) & (np.abs(v) <= box.half_across_mm)
            lit.append(on.any(axis=1))
    rings = np.array(lit).reshape(len(wants), 2, len(g)).sum(axis=1)
    served = framed.T.astype(np.float32) @ rings.astype(np.float32)
    served[~shadow_free(g - p[:, None], rig)] = 0
    most = served.max()
    slack = _scanned_slack(np.array(lit), STEP_DEG)
    at = np.argwhere(served == most)
    own = np.where(np.array(lit), slack, np.inf).min(axis=0)
    best = at[np.argmax(own[at[:, 1]])]
    return int(most), float(own[best[1]]), float(p[best[0]]), float(g[best[1]])


def _scanned_slack(lit: np.ndarray, step_deg: float) -> np.ndarray:
    """Return for each ring and angle the distance to the nearest dark angle of the grid."""
    distance = np.full(lit.shape, np.inf)
    for sign in (1, -1):
        run = np.zeros(lit.shape[0])
        order = np.arange(2 * lit.shape[1])[::sign] % lit.shape[1]
        for column in order:
            run = np.where(lit[:, column], run + step_deg, 0.0)
            distance[:, column] = np.minimum(np.inf, np.minimum(distance[:, column], run)) if sign == -1 else run
    return distance


def by_pixels(rig: Rig, ra_deg: np.ndarray, dec_deg: np.ndarray, pointing_deg: tuple[float, float]) -> np.ndarray:
    """Return at which guider angles a star is on the sensor: a FITS-WCS (TAN) for each angle, its pixels compared.

    One pixel is a millimetre; the first axis runs across the stem, the second along it, away from the field's centre.
    """
    from astropy.wcs import WCS

    box, found = usable_rectangle(rig), []
    scale_deg = np.degrees(1.0 / rig.telescope.effective_focal_length_mm)
    for g in np.radians(np.arange(0.0, 360.0, STEP_DEG)):
        wcs = WCS(naxis=2)
        wcs.wcs.ctype = ["RA---TAN", "DEC--TAN"]
        wcs.wcs.crval, wcs.wcs.crpix = pointing_deg, [0.0, 0.0]
        wcs.wcs.cd = scale_deg * np.array([[np.cos(g), np.sin(g)], [-np.sin(g), np.cos(g)]])
        across, along = wcs.all_world2pix(ra_deg, dec_deg, 1)
        on = (np.abs(along - box.stem_radius_mm) <= box.half_along_mm) & (np.abs(across) <= box.half_across_mm)
        found.append(bool(on.any()))
    return np.array(found)


def growth(catalogue: object) -> None:
    """Print what more targets cost."""
    rig = the_rig()

    def solved(count: int) -> Callable[[], object]:
        wants = the_wants(count)
        reaches = reaches_for(rig, wants, embedded())
        return lambda: solve_loaded(rig, wants, reaches, explain=False)

    def looked_up(count: int) -> Callable[[], object]:
        wants = the_wants(count)
        return lambda: reaches_for(rig, wants, catalogue)  # type: ignore[arg-type]

    grow("the joint solution, stars loaded", "targets", "target", (2, 4, 6, 10, 14, 20), solved)
    grow("stars of all targets looked up", "targets", "target", (2, 4, 6, 10, 14, 20), looked_up)


def ease(rig: Rig, wants: list[Want]) -> None:
    """Print the solution where everything can be served, beside the scan."""
    reaches = reaches_for(rig, wants, embedded())
    tables = [reach.usable(LIMIT_MAG, None) for reach in reaches]
    focal = rig.telescope.effective_focal_length_mm
    stars = [
        plane_mm(one.ra_deg, one.dec_deg, *reach.pointing_deg, focal)
        for one, reach in zip(tables, reaches, strict=True)
    ]
    usable = sum(len(one[0]) for one in stars)
    figure(
        "the joint solution",
        f"{len(wants)} targets, both sides, {usable:,} stars",
        lambda: solve_loaded(rig, wants, reaches, explain=False),
        "NumPy, all pairs of angles 0.1° apart",
        lambda: scan(rig, wants, stars),
        repeats=15,
    )
    solution = solve_loaded(rig, wants, reaches, explain=False)
    rings, slack, p, g = scan(rig, wants, stars)
    best = solution.best
    assert best is not None
    emit(
        Words(
            f"The scan finds {rings} rings with {slack:.1f}° of slack at p {p:.1f}°, g {g:.1f}°; the exact answer is "
            f"{best.rings_served} of {best.rings_needed} rings with {best.slack_deg:.3f}° at "
            f"p {best.camera_angle_deg:.3f}°, g {best.guider_angle_deg:.3f}°. "
            f"{100 * solution.share_of_angles:.2f} % of the angles serve all."
        )
    )
    one_ring(rig, tables[0], stars[0], reaches[0].pointing_deg)


def one_ring(
    rig: Rig, table: object, place: tuple[np.ndarray, np.ndarray], pointing_deg: tuple[float, float]
) -> None:
    """Print one ring beside its pixels."""
    box = usable_rectangle(rig)
    ra, dec = table.ra_deg, table.dec_deg  # type: ignore[attr-defined]
    figure(
        "one ring, exact",
        f"{NAMES[0]} in the west, {len(ra)} stars",
        lambda: lit_angles(place, "west", box),
        "astropy.wcs, the stars' pixels at guider angles 0.1° apart",
        lambda: by_pixels(rig, ra, dec, pointing_deg),
        repeats=50,
    )
    seen, lit = by_pixels(rig, ra, dec, pointing_deg), lit_angles(place, "west", box)
    alike = np.mean(seen == spans.arcs_contain(lit, np.arange(0.0, 360.0, STEP_DEG)))
    emit(Words(f"Ring and pixels say the same at {alike:.2%} of these angles; {seen.mean():.1%} of them are lit."))


def hard(rig: Rig, wants: list[Want]) -> None:
    """Print what it takes to explain a question that no one set-up answers."""
    reaches = reaches_for(rig, wants, embedded())
    none = "none: the scan neither advises nor covers"
    size = "10 targets at 1,600 mm: not all can be served"
    answer = solve_loaded(rig, wants, reaches)
    figure("the joint solution", size, lambda: solve_loaded(rig, wants, reaches, explain=False), "none", repeats=5)
    figure("the solution with cover and all advice", size, lambda: solve_loaded(rig, wants, reaches), none)
    grant = Constraints(grant_shift_arcmin=5.0)
    figure(
        "the solution with 5′ of shift granted",
        size,
        lambda: solve_loaded(rig, wants, reaches, grant, explain=False),
        none,
    )
    emit(Words(answer.sentence))


def main() -> None:
    """Measure."""
    wants = the_wants()
    growth(embedded())
    hard(the_rig(1600.0), wants)
    ease(the_rig(), wants)


if __name__ == "__main__":
    main()
