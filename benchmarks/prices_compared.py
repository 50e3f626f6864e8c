"""Which prices make the best policy: random campaigns played under several, beside the best of them in each."""

import sys
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from tests.strategies.campaign import slots_from

from sidelight.campaign.allocate import allocate
from sidelight.campaign.odds import play
from sidelight.campaign.prices import hour_prices
from sidelight.campaign.records import Job, Odds, Rules, Slots
from sidelight.campaign.value import values, worth_of_rest
from sidelight.campaign.weather import Weather, chain, simulate

NIGHTS = 120
WEATHERS = 1000


def season(seed: int, jobs: int, wanted_h: float) -> tuple[list[Job], Slots]:
    """Return a random campaign: each target with a season and a window of its own."""
    random = np.random.default_rng(seed)
    middle, width = random.uniform(0, NIGHTS, jobs), random.uniform(20, 90, jobs)
    rise = random.uniform(0, 6, jobs)
    open_h = [
        [
            [float(abs(n - middle[j]) < width[j] and rise[j] <= h + n / 15 <= rise[j] + 6) for j in range(jobs)]
            for h in range(10)
        ]
        for n in range(NIGHTS)
    ]
    wishes = [Job(f"job {j}", "", wanted_h, 0.0, float(random.choice([1.0, 2.0])), j % 2 == 0) for j in range(jobs)]
    rate = random.uniform(0.5, 1.0, jobs) if seed % 2 else np.ones(jobs)
    return wishes, slots_from(open_h, list(rate))


def worth(jobs: list[Job], odds: Odds) -> float:
    """Return the mean worth at the season's end."""
    rest = np.array([job.remaining_h for job in jobs]) - odds.collected_h
    return float(sum(worth_of_rest(job, rest[:, j]).mean() for j, job in enumerate(jobs)))


def prices(jobs: list[Job], slots: Slots, chance: np.ndarray) -> dict[str, np.ndarray]:
    """Return the prices to be compared."""
    found = {"the allocation's own": allocate(jobs, slots, chance, Rules()).worth_per_h}
    for factor in (1.0, 1.3, 1.6, 2.0):
        larger = [replace(job, wanted_h=factor * job.wanted_h, priority=factor * job.priority) for job in jobs]
        one = hour_prices(larger, slots, chance)
        found[f"next best user, wishes x {factor}"] = one.price_per_h
        found[f"best user, wishes x {factor}"] = one.worth_per_h
        found[f"midway, wishes x {factor}"] = 0.5 * (one.price_per_h + one.worth_per_h)
    return found


def main() -> None:
    """Print for each price the mean and the smallest share of the best worth, over all campaigns."""
    shares: dict[str, list[float]] = {}
    for seed in range(2, 10):
        for wanted_h in (20.0, 30.0, 45.0, 60.0):
            jobs, slots = season(seed, 10 if seed < 8 else 5, wanted_h)
            nights = chain(Weather(), slots.dates)
            usable = simulate(nights, WEATHERS, 1)
            row = {
                name: worth(jobs, play(jobs, slots, values(jobs, slots, nights.probability, price), usable, Rules()))
                for name, price in prices(jobs, slots, nights.probability).items()
            }
            for name, one in row.items():
                shares.setdefault(name, []).append(one / max(row.values()))
    for name, every in shares.items():
        print(f"{name:32s} mean {np.mean(every):.3f}  worst {np.min(every):.3f}")


if __name__ == "__main__":
    main()
