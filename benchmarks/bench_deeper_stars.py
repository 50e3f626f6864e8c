"""What deeper stars round 20 targets cost in the dial: merged once, opened, looked up, both rings of each target.

The deeper stars are invented (all round each target, 11 to 15 mag); the targets, and the stars that ship, are real.
"""

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from benchmarks.bench_setup import NAMES
from benchmarks.measure import Point, Words, emit, measured

from sidelight.rig.guider import usable_rectangle
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope
from sidelight.setup.records import SideNeed, Want
from sidelight.setup.rings import lit_angles
from sidelight.setup.solve import solve_loaded
from sidelight.setup.task import reaches_for
from sidelight.stars import cache
from sidelight.stars.catalogue import embedded
from sidelight.stars.cone import Catalogue
from sidelight.stars.merged import _catalogue, catalogue_for
from sidelight.stars.service import Cone, StarTable
from sidelight.stars.sphere import place_from
from sidelight.targets.names import target_from_name

MJD_2027 = 61406.0
DEEPER = (10_000, 100_000, 1_000_000)
RADIUS_DEG = 1.2


def the_rig() -> Rig:
    """Return an invented rig: 1.4 m, a small guide sensor."""
    guider = OffAxisGuider(20.0, Sensor(1920, 1080, 2.9), prism_distance_mm=40.0)
    return Rig(Telescope(200.0, 1400.0), Sensor(4656, 3520, 3.8), guider, guide_limit_mag=15.0)


def fill(folder: Path, wants: list[Want], count: int) -> Path:
    """Write one piece of invented stars round each target."""
    random, each = np.random.default_rng(1), count // len(wants)
    folder.mkdir()
    for want in wants:
        target = want.target
        away = RADIUS_DEG * np.sqrt(random.uniform(0, 1, each))
        ra, dec = place_from(target.ra_deg, target.dec_deg, away, random.uniform(0, 360, each))
        motion = random.normal(0, 10, (2, each))
        stars = StarTable(ra, dec, 11.0 + 4.0 * np.sqrt(random.uniform(0, 1, each)), *motion, np.full(each, 2016.0))
        cone = Cone(target.ra_deg, target.dec_deg, RADIUS_DEG)
        cache.save(folder, cache.Piece("Invented", "http://localhost/?", (cone,), 15.0, 15.0, stars))
    return folder


def opened(folder: Path) -> Catalogue:
    """Open a folder's stars as a new start of the program does."""
    _catalogue.cache_clear()
    return catalogue_for(folder, MJD_2027)


def in_the_dial(rig: Rig, wants: list[Want], catalogue: Catalogue) -> None:
    """Print look-up and rings of all targets by the stars within reach."""
    rectangle = usable_rectangle(rig)
    look_up = measured(lambda: reaches_for(rig, wants, catalogue))
    reaches = reaches_for(rig, wants, catalogue)

    def rings() -> None:
        for reach in reaches:
            stars = reach.usable(15.0, None)
            for side in ("east", "west"):
                lit_angles((stars.x_mm, stars.y_mm), side, rectangle)

    stars = sum(len(reach.stars) for reach in reaches)
    emit(Point("stars of 20 targets looked up", "stars in reach", "star", stars, *look_up))
    emit(Point("40 rings drawn from loaded stars", "stars in reach", "star", stars, *measured(rings)))


def deeper_limits(rig: Rig, wants: list[Want], catalogue: Catalogue) -> None:
    """Print what a fainter limit costs the joint solution of ten targets."""
    ten = wants[:10]
    reaches = reaches_for(rig, ten, catalogue)
    told = []
    for limit in (10.0, 11.0, 12.0, 13.0, 14.0, 15.0):
        stars = sum(len(reach.usable(limit, None).mag) for reach in reaches)

        def solve(limit: float = limit) -> object:
            return solve_loaded(rig, ten, reaches, explain=False, limit_mag=limit)

        emit(Point("10 targets solved, ever fainter limit", "usable stars", "star", stars, *measured(solve)))
        told.append(f"{limit:.0f} mag {stars:,}")
    emit(Words(f"The limits behind the last of these, with 100,000 deeper stars: {', '.join(told)} usable stars."))


def main() -> None:
    """Measure."""
    rig = the_rig()
    wants = [Want(target_from_name(name), (SideNeed("east"), SideNeed("west"))) for name in NAMES]
    in_the_dial(rig, wants, embedded())
    with tempfile.TemporaryDirectory() as name:
        for count in DEEPER:
            folder = fill(Path(name) / str(count), wants, count)
            for what, repeats in (("stars taken in and merged, once", 1), ("merged stars opened", 3)):
                emit(Point(what, "deeper stars", "star", count, *measured(lambda f=folder: opened(f), repeats)))
            catalogue = opened(folder)
            in_the_dial(rig, wants, catalogue)
            if count == DEEPER[1]:
                deeper_limits(rig, wants, catalogue)


if __name__ == "__main__":
    main()
