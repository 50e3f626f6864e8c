"""How long it takes to find stars and objects, beside the plain way of doing the same.

    python benchmarks/bench_stars.py

Prints the warm time of a cone of 1 degree, at ordinary places, at the poles and across right ascension 0, and its
ratio to a look at every star; then the time to open the catalogue and to read all deep-sky objects.
"""

import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np

from sidelight.ground.angles import separation_deg
from sidelight.stars.catalogue import embedded

PLACES = {
    "M 31": (10.68, 41.27),
    "Milky Way in Cygnus": (305.0, 40.0),
    "north pole": (0.0, 90.0),
    "south pole": (0.0, -90.0),
    "near the south pole": (200.0, -89.3),
    "right ascension 0": (359.99, -20.0),
}


def seconds(work: Callable[[], object], repeats: int) -> float:
    """Return the median time of one call."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def cold(code: str) -> float:
    """Return the time of a statement in a fresh interpreter, imports left out."""
    program = f"import time, numpy; t = time.perf_counter(); {code}; print(time.perf_counter() - t)"
    return float(subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout)


def main() -> None:
    """Print all figures."""
    stars = embedded().cone(0.0, 0.0, 180.0)
    for name, (ra, dec) in PLACES.items():
        cone = seconds(lambda ra=ra, dec=dec: embedded().cone(ra, dec, 1.0), 200)
        found = len(embedded().cone(ra, dec, 1.0))
        scan = seconds(lambda ra=ra, dec=dec: separation_deg(ra, dec, stars.ra_deg, stars.dec_deg) <= 1.0, 3)
        print(
            f"cone of 1 degree, {name}: {cone * 1e3:.2f} ms for {found} stars; a scan: {scan / cone:.0f} times that"
        )
    print(
        f"open the star catalogue, cold: {cold('from sidelight.stars.catalogue import embedded; embedded()'):.3f} s"
    )
    print(f"all deep-sky objects, cold: {cold('from sidelight.targets.catalogue import objects; objects()'):.3f} s")
    print(f"first name, cold: {cold('from sidelight.targets.names import find; find(chr(109) + chr(51))'):.3f} s")


if __name__ == "__main__":
    main()
