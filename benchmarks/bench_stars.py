"""Finding stars and objects: a cone in the star catalogue beside a look at every star with NumPy; names."""

import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.measure import Figure, Table, clock, emit, measured, seconds

from sidelight.ground.angles import separation_deg
from sidelight.stars.catalogue import embedded

PLACES = {
    "M 31": (10.68, 41.27),
    "Milky Way in Cygnus": (305.0, 40.0),
    "the north pole": (0.0, 90.0),
    "the south pole": (0.0, -90.0),
    "a place near the south pole": (200.0, -89.3),
    "right ascension 0": (359.99, -20.0),
}
COLD = {
    "the star catalogue opened": "from sidelight.stars.catalogue import embedded; embedded()",
    "all deep-sky objects read": "from sidelight.targets.catalogue import objects; objects()",
    'a plain name found, "M 63"': "from sidelight.targets.names import find; find('M 63')",
    'a common name found, "Cocoon Nebula"': "from sidelight.targets.names import find; find('Cocoon Nebula')",
}


def cold_s(code: str) -> float:
    """Return the shortest time of a statement in a fresh interpreter, NumPy's own import left out."""
    program = f"import time, numpy; t = time.process_time(); {code}; print(time.process_time() - t)"
    command = [sys.executable, "-c", program]
    return min(float(subprocess.run(command, capture_output=True, text=True, check=True).stdout) for _ in range(3))


def main() -> None:
    """Measure."""
    ours = {}
    for name, (ra, dec) in PLACES.items():
        ours[name] = measured(lambda ra=ra, dec=dec: embedded().cone(ra, dec, 1.0), 200)
    every = embedded().cone(0.0, 0.0, 180.0)
    for name, (ra, dec) in PLACES.items():
        found = len(embedded().cone(ra, dec, 1.0))
        plain_s = seconds(lambda ra=ra, dec=dec: separation_deg(ra, dec, every.ra_deg, every.dec_deg) <= 1.0)
        size = f"{found} of {len(every):,} stars"
        emit(Figure(f"stars within 1° of {name}", size, *ours[name], "the distance of every star (NumPy)", plain_s))
    rows = tuple((what, clock(cold_s(code))) for what, code in COLD.items())
    emit(Table("In a process that has only NumPy so far", ("what", "time"), rows))


if __name__ == "__main__":
    main()
