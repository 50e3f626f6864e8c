"""How long a joint solution takes, beside a scan of all camera and guider angles 0.1° apart.

    python benchmarks/bench_setup.py

Ten real objects, both sides of the meridian, Tycho-2 stars. The scan is written as favourably as can be: whole
arrays at once, frames apart from rings, both joined by one matrix product. It finds the best pair of angles to
its step; the solver finds it exactly, and also names stars, slacks and the next best. The figures of one run are
printed with their ratio, then what the solver takes to explain a question that no one set-up answers.
"""

import time
from collections.abc import Callable

import numpy as np

from sidelight.rig.guider import usable_rectangle
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope
from sidelight.rig.shadow import shadow_free
from sidelight.setup.framing import plane_outlines, room_mm
from sidelight.setup.records import Constraints, SideNeed, Solution, Want
from sidelight.setup.solve import solve_loaded
from sidelight.setup.task import reaches_for
from sidelight.stars.catalogue import embedded
from sidelight.targets.names import target_from_name

NAMES = ("M 74", "NGC 4565", "NGC 2903", "NGC 7023", "M 81", "NGC 6946", "IC 342", "NGC 2403", "M 76", "NGC 7635")
STEP_DEG = 0.1
LIMIT_MAG = 12.0


def the_rig(focal_mm: float = 900.0) -> Rig:
    """Return an invented rig: a medium telescope, a 4/3″ camera, a small guide sensor."""
    guider = OffAxisGuider(20.0, Sensor(1920, 1080, 2.9), prism_distance_mm=40.0)
    return Rig(Telescope(150.0, focal_mm), Sensor(4656, 3520, 3.8), guider, guide_limit_mag=LIMIT_MAG)


def the_wants(count: int = len(NAMES)) -> list[Want]:
    """Return wants that need both sides."""
    sides = (SideNeed("east"), SideNeed("west"))
    return [Want(target_from_name(name), sides) for name in NAMES[:count]]


def seconds(work: Callable[[], object], repeats: int) -> float:
    """Return the shortest time of one call, which other work on the machine disturbs least."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def scan(rig: Rig, wants: list[Want], stars: list[tuple[np.ndarray, np.ndarray]]) -> tuple[int, float, float, float]:
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


def main() -> None:
    """Print all figures."""
    rig, wants = the_rig(), the_wants()
    catalogue = embedded()
    load = seconds(lambda: reaches_for(rig, wants, catalogue), 5)
    reaches = reaches_for(rig, wants, catalogue)
    solution: Solution = solve_loaded(rig, wants, reaches, explain=False)
    solving = seconds(lambda: solve_loaded(rig, wants, reaches, explain=False), 15)
    tables = [reach.usable(LIMIT_MAG, None) for reach in reaches]
    focal = rig.telescope.effective_focal_length_mm
    stars = [
        plane_mm(one.ra_deg, one.dec_deg, *reach.pointing_deg, focal)
        for one, reach in zip(tables, reaches, strict=True)
    ]
    scanning = seconds(lambda: scan(rig, wants, stars), 3)
    rings, slack, p, g = scan(rig, wants, stars)
    best = solution.best
    assert best is not None
    usable = sum(len(one[0]) for one in stars)
    print(f"stars of {len(wants)} targets looked up once: {1e3 * load:.0f} ms, {usable} usable")
    print(f"scan, 0.1°:   {1e3 * scanning:7.0f} ms  {rings} rings, slack {slack:.1f}°, p {p:.1f}°, g {g:.1f}°")
    print(
        f"exact answer: {1e3 * solving:7.1f} ms  {best.rings_served} of {best.rings_needed} rings, "
        f"slack {best.slack_deg:.3f}°, p {best.camera_angle_deg:.3f}°, g {best.guider_angle_deg:.3f}°, "
        f"{100 * solution.share_of_angles:.2f} % of the angles serve all"
    )
    print(f"ratio {scanning / solving:.0f}; the bar is 50 ms for the solution")
    hard = the_rig(1600.0)
    hard_reaches = reaches_for(hard, wants, catalogue)
    explained = seconds(lambda: solve_loaded(hard, wants, hard_reaches), 3)
    answer = solve_loaded(hard, wants, hard_reaches)
    alone = seconds(lambda: solve_loaded(hard, wants, hard_reaches, explain=False), 5)
    print(
        f"at 1600 mm: {1e3 * alone:.0f} ms; with the cover and all advice {1e3 * explained:.0f} ms: {answer.sentence}"
    )
    for advice in answer.help:
        print(f"    {advice.sentence}")
    grant = Constraints(grant_shift_arcmin=5.0)
    moved = seconds(lambda: solve_loaded(hard, wants, hard_reaches, grant, explain=False), 3)
    answer = solve_loaded(hard, wants, hard_reaches, grant, explain=False)
    print(f"with 5′ of shift granted {1e3 * moved:.0f} ms: {answer.sentence}")


if __name__ == "__main__":
    main()
