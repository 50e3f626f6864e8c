"""How dear the policy takes an hour to be: the scale of its prices, chosen by playing this very campaign.

Prices that are too high keep hours for jobs that never come to need them; too low, and long seasons eat the hours of
short ones. No one scale is best for every campaign, so a few are played in the same weathers and the best is kept.
"""

from collections.abc import Sequence

import numpy as np

from sidelight.campaign.odds import play
from sidelight.campaign.records import Job, Odds, Rules, SetUpChoice, Slots
from sidelight.campaign.value import FINISH_SHARE, values
from sidelight.ground.types import BoolArray, FloatArray

SCALES = (0.0, 0.3, 0.6, 1.0, 1.5)
TRIED_WEATHERS = 1000
"""So many weathers tell scales apart that differ by a per cent or two of the worth."""


def mean_worth(jobs: Sequence[Job], odds: Odds) -> float:
    """Return the mean worth of the ends of all weathers, as the values count it: hours, and finishing."""
    total = 0.0
    for j, job in enumerate(jobs):
        share = FINISH_SHARE if job.finish else 0.0
        done = 1.0 - (job.remaining_h - odds.collected_h[:, j]) / max(job.wanted_h, 1e-9)
        total += job.priority * float(np.mean((1.0 - share) * done + share * odds.finished[:, j]))
    return total


def tuned_scale(
    jobs: Sequence[Job],
    slots: Slots,
    chance: FloatArray,
    price_per_h: FloatArray,
    usable: BoolArray,
    rules: Rules,
    set_ups: Sequence[SetUpChoice] = (),
    set_up_now: int = 0,
    may_change: BoolArray | None = None,
) -> float:
    """Return the scale of the prices whose policy reaches the highest mean worth.

    usable : weathers, shape (w, n); the first TRIED_WEATHERS of them are played once for each scale.
    """
    tried = usable[:TRIED_WEATHERS]
    best, best_worth = 1.0, -np.inf
    for scale in SCALES:
        policy = values(jobs, slots, chance, scale * price_per_h)
        worth = mean_worth(jobs, play(jobs, slots, policy, tried, rules, set_ups, set_up_now, may_change))
        if worth > best_worth:
            best, best_worth = scale, worth
    return best
