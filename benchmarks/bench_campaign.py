"""The campaign: the allocation beside HiGHS on the plain slots, weathers played beside one by one, suggestions.

The plain way of allocating has a variable for each target in each slot of an hour, in one mixed-integer programme for
scipy.optimize.milp (HiGHS): the same slots, overheads, shortest stays and objective, the same gap asked.
"""

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from benchmarks.measure import Figure, Words, clock, emit, figure, grow, measured, now, seconds
from tests.strategies.campaign import slots_from

from sidelight.campaign.allocate import RELATIVE_GAP, allocate
from sidelight.campaign.odds import play
from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Job, Rules, SetUpChoice, Slots
from sidelight.campaign.value import Values, values
from sidelight.campaign.weather import Chain, Weather, chain, simulate
from sidelight.desk.demo import DATE, make_demo
from sidelight.desk.suggest import suggest_report
from sidelight.notebook.read import read_notebook
from sidelight.season.windows import target_windows
from sidelight.targets.catalogue import objects

RULES = Rules()
TARGETS, NIGHTS, WEATHERS = 10, 120, 10_000
TWO = (SetUpChoice("one", (0, 1, 2, 3, 4, 5)), SetUpChoice("two", (4, 5, 6, 7, 8, 9)))
PLAYED, LOOKED_AT = 50, 100
MILP_LIMIT_S = 30.0


def season(jobs: int, nights: int) -> tuple[list[Job], Slots, Chain]:
    """Return jobs and slots: each target has a season of its own and a window of its own in each night.

    Longer seasons are shared by longer wishes, and more targets by shorter ones, so that nights stay as scarce.
    """
    random = np.random.default_rng(2)
    share = nights / NIGHTS
    middle, width = random.uniform(0, nights, jobs), share * random.uniform(30, 90, jobs)
    rise = random.uniform(0, 6, jobs)
    open_h = [
        [
            [float(abs(n - middle[j]) < width[j] and (h + n / 15 - rise[j]) % 24 <= 6) for j in range(jobs)]
            for h in range(10)
        ]
        for n in range(nights)
    ]
    wanted_h = 20.0 * share * TARGETS / jobs
    wishes = [Job(f"job {j}", "", wanted_h, 0.0, float(random.choice([1.0, 2.0])), j % 2 == 0) for j in range(jobs)]
    slots = slots_from(open_h, list(random.uniform(0.5, 1.0, jobs)))
    return wishes, slots, chain(Weather(), slots.dates)


def by_milp(jobs: list[Job], slots: Slots, chance: np.ndarray) -> tuple[float, float]:
    """Return (worth, bound) of the same question as one mixed-integer programme over jobs and slots.

    Variables: effective hours y of each job, x[j, s] = the job has the slot, b[j, s] = a stay begins with it.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    count, size = len(jobs), len(slots.night)
    worth = np.array([job.priority / job.wanted_h for job in jobs])
    rate = slots.rate * chance[slots.night]
    x = count + np.arange(count * size).reshape(count, size)
    b = x + count * size
    entries: list[tuple[int, int, float]] = []
    high: list[float] = []

    def row(terms: list[tuple[int, float]], at_most: float) -> None:
        entries.extend((len(high), column, value) for column, value in terms)
        high.append(at_most)

    for j in range(count):
        gains = [(int(x[j, s]), -rate[j, s] * slots.length_h[s]) for s in range(size)]
        losses = [(int(b[j, s]), rate[j, s] * RULES.overhead_h) for s in range(size)]
        row([(j, 1.0), *gains, *losses], 0.0)
        for s in range(size):
            follows = s > 0 and slots.night[s] == slots.night[s - 1]
            row([(int(x[j, s]), 1.0), (int(b[j, s]), -1.0), *([(int(x[j, s - 1]), -1.0)] if follows else [])], 0.0)
            more = s + 1 < size and slots.night[s] == slots.night[s + 1]
            # an hour less the overhead is too short a stay
            row([(int(b[j, s]), 1.0), *([(int(x[j, s + 1]), -1.0)] if more else [])], 0.0)
    for s in range(size):
        row([(int(x[j, s]), 1.0) for j in range(count)], 1.0)
    rows, columns, data = (np.array(one) for one in zip(*entries, strict=True))
    open_ = np.tile((slots.open_h > 0).ravel().astype(float), 2)
    result = milp(
        np.r_[-worth, np.zeros(2 * count * size)],
        integrality=np.r_[np.zeros(count), np.ones(2 * count * size)],
        bounds=Bounds(0.0, np.r_[[job.remaining_h for job in jobs], open_]),
        constraints=LinearConstraint(coo_array((data, (rows, columns))).tocsr(), -np.inf, np.array(high)),
        options={"mip_rel_gap": RELATIVE_GAP, "time_limit": MILP_LIMIT_S},
    )
    return (-float(result.fun) if result.x is not None else 0.0), -float(result.mip_dual_bound or -np.inf)


def growth() -> None:
    """Print what more targets, nights and weathers cost."""

    def allocated(jobs: int, nights: int) -> Callable[[], object]:
        wishes, slots, chances = season(jobs, nights)
        return lambda: allocate(wishes, slots, chances.probability, RULES)

    def played(weathers: int) -> Callable[[], object]:
        wishes, slots, chances = season(TARGETS, NIGHTS)
        later = policy(wishes, slots, chances)
        return lambda: play(wishes, slots, later, simulate(chances, weathers, 1), RULES)

    allocated(2, 10)()
    grow("120 nights allocated", "targets", "target", (3, 6, 10, 20, 30), lambda n: allocated(n, NIGHTS))
    grow("10 targets allocated", "nights", "night", (30, 60, 120, 240, 365), lambda n: allocated(TARGETS, n))
    grow("seasons played, 10 targets, 120 nights", "weathers", "weather", (100, 1000, 10_000, 100_000), played)


def policy(jobs: list[Job], slots: Slots, nights: Chain) -> Values:
    """Return the values that the policy goes by."""
    return values(jobs, slots, nights.probability, policy_price_per_h(jobs, slots, nights.probability))


def allocations() -> None:
    """Print the allocation beside the plain programme, on a small season and on the whole one."""
    for targets, nights in ((5, 30), (TARGETS, 60), (TARGETS, NIGHTS)):
        jobs, slots, chances = season(targets, nights)
        chance = chances.probability
        ours_s, peak_mb = measured(lambda j=jobs, s=slots, c=chance: allocate(j, s, c, RULES))
        begin = now()
        worth, bound = by_milp(jobs, slots, chance)
        plain_s = now() - begin
        out = plain_s >= MILP_LIMIT_S
        plain = f"scipy.optimize.milp (HiGHS) over the slots{', stopped then' if out else ''}"
        size = f"{targets} targets, {nights} nights, {len(slots.night):,} slots"
        emit(Figure("the allocation", size, ours_s, peak_mb, plain, plain_s))
        answer = allocate(jobs, slots, chance, RULES)
        emit(
            Words(
                f"{size}: worth {answer.worth:.4f}, at most {answer.bound:.4f} (gap {answer.gap_fraction:.2%}); the "
                f"plain programme {'had reached' if out else 'reached'} {worth:.4f}, at most {bound:.4f}."
            )
        )


def seasons_played() -> None:
    """Print the weathers played, beside one by one."""
    jobs, slots, chances = season(TARGETS, NIGHTS)
    later = policy(jobs, slots, chances)
    usable = simulate(chances, WEATHERS, 1)

    def one_by_one(set_ups: tuple[SetUpChoice, ...]) -> None:
        for row in usable[:PLAYED]:
            play(jobs, slots, later, row[None, :], RULES, set_ups)

    for set_ups in ((), TWO):
        figure(
            f"{WEATHERS:,} seasons played",
            f"{TARGETS} targets, {NIGHTS} nights, {len(set_ups) or 1} set-up{'s' if set_ups else ''}",
            lambda u=set_ups: play(jobs, slots, later, usable, RULES, u),
            f"one by one in a Python loop ({PLAYED} played, scaled)",
            lambda u=set_ups: one_by_one(u),
            times=WEATHERS / PLAYED,
        )
    value_s, draw_s = seconds(lambda: policy(jobs, slots, chances)), seconds(lambda: simulate(chances, WEATHERS, 1))
    emit(Words(f"Before that, the values take {clock(value_s)} and drawing the weathers {clock(draw_s)}."))


def suggestions() -> None:
    """Print what the whole catalogue costs, warm, beside each object's nights looked at one by one."""
    with tempfile.TemporaryDirectory() as folder:
        make_demo(Path(folder) / "garden")
        book = read_notebook(Path(folder) / "garden")
    table = objects()
    for fresh in (False, True):
        nights = suggest_report(book, DATE, fresh=fresh, any_hour=True).nights_count

        def one_by_one(nights: int = nights) -> None:
            for k in range(LOOKED_AT):
                target_windows(book.site, table.ra_deg[k], table.dec_deg[k], DATE, nights)

        figure(
            "suggestions for a new set-up" if fresh else "suggestions that fit the set-up",
            f"{len(table):,} objects, {nights} nights",
            lambda fresh=fresh: suggest_report(book, DATE, fresh=fresh, any_hour=True),
            f"the windows of each object by itself, in a Python loop ({LOOKED_AT} looked at, scaled)",
            one_by_one,
            times=len(table) / LOOKED_AT,
        )


def main() -> None:
    """Measure."""
    growth()
    allocations()
    seasons_played()
    suggestions()


if __name__ == "__main__":
    main()
