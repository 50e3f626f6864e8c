"""What an answer gives away about itself: silently cut short, lacking known stars, not as deep as asked.

Services need not flag a cut answer, and some of good repute do not (GAVO DaCHS 2.7 under MAXREC). So each answer is
held against what any honest one would look like, and against the stars that ship.
"""

import math

import numpy as np

from sidelight.ground.angles import unit_vector
from sidelight.ground.types import BoolArray, FloatArray
from sidelight.stars.answer import Answer
from sidelight.stars.catalogue import embedded
from sidelight.stars.motion import J2000_YEAR, places_at
from sidelight.stars.service import Cone, StarTable

KNOWN_WITHIN_ARCSEC = 5.0
KNOWN_MAG = (7.0, 10.5)
FEWEST_KNOWN = 8
FEWEST_ROWS = 40
CHANCE = 1e-6
BIN_MAG = 0.5


def cut_by_distance(cone: Cone, answer: Answer) -> bool:
    """Tell whether the outer part of the cone is too empty to be chance: nearest first, then cut.

    For n stars spread evenly the chance that none is beyond f of the radius is f to the power of 2n.
    """
    if answer.rows < FEWEST_ROWS or cone.radius_deg <= 0.0:
        return False
    share = min(1.0, max(1e-9, answer.farthest_deg / cone.radius_deg))
    return 2.0 * answer.rows * math.log(share) < math.log(CHANCE)


def known_missing(cone: Cone, answer: Answer, limit_mag: float) -> tuple[int, int]:
    """Return how many of the shipped stars of middling brightness are not in the answer, and of how many.

    Brighter ones are saturated in deep surveys, fainter ones may be below the limit in another band.
    """
    known = embedded().cone(cone.ra_deg, cone.dec_deg, cone.radius_deg, min(limit_mag - 1.0, KNOWN_MAG[1]))
    middling = known.mag > KNOWN_MAG[0]
    ra, dec = known.ra_deg[middling], known.dec_deg[middling]
    if len(ra) < FEWEST_KNOWN:
        return 0, 0
    found = near_any(ra, dec, *places_at(answer.stars, J2000_YEAR), KNOWN_WITHIN_ARCSEC / 3600.0)
    return int(np.sum(~found)), len(found)


def too_many_missing(missing: int, known: int) -> bool:
    """Tell whether known stars are missing by more than doubles, fast stars and false entries explain."""
    return missing >= 3 and missing > 0.1 * known


def reached_depth_mag(stars: StarTable, limit_mag: float) -> float:
    """Return to which magnitude an answer can be taken as complete, the limit or where its counts turn over.

    Star counts grow with magnitude to any limit a guider reaches, so a last half magnitude with under half of the
    fullest one betrays a catalogue that ends before. Judged from 100 stars on; with fewer the limit stands.
    """
    if len(stars) < 100:
        return limit_mag
    steps = np.floor((limit_mag - stars.mag) / BIN_MAG).astype(np.int64)
    counts = np.bincount(np.maximum(steps, 0))
    fullest = int(np.argmax(counts))
    if counts[0] >= 0.5 * counts[fullest]:
        return limit_mag
    return float(min(limit_mag - fullest * BIN_MAG, stars.mag.max()))


def near_any(
    ra_deg: FloatArray, dec_deg: FloatArray, others_ra_deg: FloatArray, others_dec_deg: FloatArray, within_deg: float
) -> BoolArray:
    """Tell for each place whether one of the others is within a distance; a k-d tree over chords."""
    if not len(others_ra_deg) or not len(ra_deg):
        return np.zeros(len(ra_deg), dtype=bool)
    from scipy.spatial import cKDTree

    chord = 2.0 * math.sin(math.radians(within_deg) / 2.0)
    distance, _ = cKDTree(unit_vector(others_ra_deg, others_dec_deg)).query(
        unit_vector(ra_deg, dec_deg), distance_upper_bound=chord
    )
    return np.asarray(np.isfinite(distance))
