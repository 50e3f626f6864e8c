"""Write the table that the test's server of the Virtual Observatory serves: real stars round six places.

    python3 tests/vo_server/write_stars.py DESTINATION.csv

The stars are those of the shipped catalogue. They have no proper motion there, so the table has none either.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "src"))

from sidelight.stars.catalogue import embedded

PLACES = ((10.6847, 41.2690), (0.0, 60.0), (202.4696, 47.1952), (83.8221, -5.3911), (45.0, 89.5), (120.0, -89.8))
RADIUS_DEG = 2.0


def main() -> None:
    """Write one row a star."""
    stars = {}
    for ra_deg, dec_deg in PLACES:
        found = embedded().cone(ra_deg, dec_deg, RADIUS_DEG)
        for ra, dec, mag in zip(found.ra_deg, found.dec_deg, found.mag, strict=True):
            stars[float(ra), float(dec)] = float(mag)
    with Path(sys.argv[1]).open("w", encoding="ascii", newline="\n") as file:
        file.write("ident,ra,dec,vmag\n")
        for number, ((ra, dec), mag) in enumerate(sorted(stars.items()), start=1):
            file.write(f"T{number:06d},{ra:.9f},{dec:.9f},{mag:.3f}\n")


if __name__ == "__main__":
    main()
