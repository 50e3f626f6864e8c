"""What 100,000 deeper stars round 20 targets cost in the dial, beside the catalogue that ships alone.

    python benchmarks/bench_deeper_stars.py

The deeper stars are invented (5,000 round each target, 11 to 15 mag); the targets, and the stars that ship, are real.
Prints the time to merge them once, to open them again, to look up the stars of all targets, and to work out both
rings of every target, with the ratio of each to the shipped catalogue alone.
"""

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from sidelight.rig.guider import usable_rectangle
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope
from sidelight.setup.records import SideNeed, Want
from sidelight.setup.rings import lit_angles
from sidelight.setup.task import reaches_for
from sidelight.stars import cache
from sidelight.stars.catalogue import Catalogue, embedded
from sidelight.stars.merged import _catalogue, catalogue_for
from sidelight.stars.service import Cone, StarTable
from sidelight.stars.sphere import place_from
from sidelight.targets.names import target_from_name

NAMES = [
    "M 31",
    "M 33",
    "M 51",
    "M 57",
    "M 63",
    "M 74",
    "M 81",
    "M 101",
    "M 106",
    "M 27",
    "NGC 2903",
    "NGC 253",
    "NGC 2403",
    "NGC 3628",
    "NGC 4565",
    "NGC 6946",
    "NGC 7000",
    "NGC 7023",
    "NGC 5907",
    "NGC 7635",
]
EACH = 5000
MJD_2027 = 61406.0


def the_rig() -> Rig:
    """Return an invented rig: 1.4 m, a small guide sensor."""
    guider = OffAxisGuider(20.0, Sensor(1920, 1080, 2.9), prism_distance_mm=40.0)
    return Rig(Telescope(200.0, 1400.0), Sensor(4656, 3520, 3.8), guider, guide_limit_mag=15.0)


def fill(folder: Path, wants: list[Want]) -> None:
    """Write one piece of invented stars round each target."""
    random = np.random.default_rng(1)
    for want in wants:
        target = want.target
        away = 1.2 * np.sqrt(random.uniform(0, 1, EACH))
        ra, dec = place_from(target.ra_deg, target.dec_deg, away, random.uniform(0, 360, EACH))
        motion = random.normal(0, 10, (2, EACH))
        stars = StarTable(ra, dec, 11.0 + 4.0 * np.sqrt(random.uniform(0, 1, EACH)), *motion, np.full(EACH, 2016.0))
        cone = Cone(target.ra_deg, target.dec_deg, 1.2)
        cache.save(folder, cache.Piece("Invented", "http://localhost/?", (cone,), 15.0, 15.0, stars))


def seconds(work: Callable[[], object], repeats: int = 5) -> float:
    """Return the median time of one call."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def opened(folder: Path) -> Catalogue:
    """Open a folder's stars as a new start of the program does."""
    _catalogue.cache_clear()
    return catalogue_for(folder, MJD_2027)


def main() -> None:
    """Print all figures."""
    rig = the_rig()
    rectangle = usable_rectangle(rig)
    wants = [Want(target_from_name(name), (SideNeed("east"), SideNeed("west"))) for name in NAMES]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fill(folder, wants)
        print(f"merge 100,000 stars, once: {seconds(lambda: opened(folder), 1):.2f} s")
        print(f"open them again: {seconds(lambda: opened(folder)) * 1e3:.0f} ms")
        deep = opened(folder)
    figures = {}
    for label, catalogue in (("shipped alone", embedded()), ("with 100,000 deeper", deep)):
        look_up = seconds(lambda catalogue=catalogue: reaches_for(rig, wants, catalogue))
        reaches = reaches_for(rig, wants, catalogue)

        def rings(reaches: tuple = reaches) -> None:
            for reach in reaches:
                stars = reach.usable(15.0, None)
                for side in ("east", "west"):
                    lit_angles((stars.x_mm, stars.y_mm), side, rectangle)

        figures[label] = look_up, seconds(rings)
        stars = sum(len(reach.stars) for reach in reaches)
        print(f"{label}: {stars} stars; look-up {look_up * 1e3:.1f} ms, 40 rings {figures[label][1] * 1e3:.1f} ms")
    plain, deeper = figures.values()
    print(f"ratio: look-up {deeper[0] / plain[0]:.1f}, rings {deeper[1] / plain[1]:.1f}")


if __name__ == "__main__":
    main()
