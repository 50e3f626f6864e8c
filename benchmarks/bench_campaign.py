"""Ten targets, 120 nights: the allocation, the values, ten thousand weathers; and the plain way beside them."""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from tests.strategies.campaign import slots_from

from sidelight.campaign.allocate import allocate
from sidelight.campaign.odds import play
from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Job, Rules, SetUpChoice
from sidelight.campaign.value import values
from sidelight.campaign.weather import Weather, chain, simulate
from sidelight.desk.demo import DATE, make_demo
from sidelight.desk.suggest import suggest_report
from sidelight.notebook.read import read_notebook
from sidelight.season.windows import target_windows
from sidelight.targets.catalogue import objects


def season(jobs: int, nights: int) -> tuple:
    """Return jobs and slots: each target has a season of its own and a window of its own in each night."""
    random = np.random.default_rng(2)
    middle, width = random.uniform(0, nights, jobs), random.uniform(30, 90, jobs)
    rise = random.uniform(0, 6, jobs)
    open_h = [
        [
            [float(abs(n - middle[j]) < width[j] and rise[j] <= h + n / 15 <= rise[j] + 6) for j in range(jobs)]
            for h in range(10)
        ]
        for n in range(nights)
    ]
    wishes = [Job(f"job {j}", "", 20.0, 0.0, float(random.choice([1.0, 2.0])), j % 2 == 0) for j in range(jobs)]
    return wishes, slots_from(open_h, list(random.uniform(0.5, 1.0, jobs)))


def main() -> None:
    """Print each figure, and the ratio to playing the weathers one by one."""
    jobs, slots = season(10, 120)
    nights = chain(Weather(), slots.dates)
    rules = Rules()
    for set_ups in ((), (SetUpChoice("one", (0, 1, 2, 3, 4, 5)), SetUpChoice("two", (4, 5, 6, 7, 8, 9)))):
        t = [time.perf_counter()]
        answer = allocate(jobs, slots, nights.probability, rules, set_ups, block=np.arange(120) // 7)
        t.append(time.perf_counter())
        values_ = values(jobs, slots, nights.probability, policy_price_per_h(jobs, slots, nights.probability))
        t.append(time.perf_counter())
        usable = simulate(nights, 10_000, 1)
        t.append(time.perf_counter())
        odds = play(jobs, slots, values_, usable, rules, set_ups)
        t.append(time.perf_counter())
        one_by_one = usable[:50]
        for row in one_by_one:
            play(jobs, slots, values_, row[None, :], rules, set_ups)
        t.append(time.perf_counter())
        step = np.diff(t)
        print(f"{len(set_ups) or 1} set-up(s), 10 targets, 120 nights, {len(slots.night)} slots")
        print(f"  allocation            {step[0]:8.2f} s   gap {answer.gap_fraction:.2%}")
        print(f"  values                {step[1]:8.2f} s")
        print(f"  10,000 weathers drawn {step[2]:8.2f} s")
        print(f"  10,000 seasons played {step[3]:8.2f} s   mean odds {odds.odds_fraction.mean():.2f}")
        print(f"  one by one            {step[4] * 200:8.2f} s   (50 played, times 200)")
        print(f"  ratio                 {step[4] * 200 / step[3]:8.0f}")
    suggestions()


def suggestions() -> None:
    """Print what the whole catalogue costs, warm, beside each object's nights looked at one by one."""
    with tempfile.TemporaryDirectory() as folder:
        make_demo(Path(folder) / "garden")
        book = read_notebook(Path(folder) / "garden")
    for fresh in (False, True):
        suggest_report(book, DATE, fresh=fresh, any_hour=True)
        begin = time.perf_counter()
        report = suggest_report(book, DATE, fresh=fresh, any_hour=True)
        took = time.perf_counter() - begin
        table = objects()
        begin = time.perf_counter()
        for k in range(200):
            target_windows(book.site, table.ra_deg[k], table.dec_deg[k], DATE, report.nights_count)
        one_by_one = (time.perf_counter() - begin) / 200 * len(table)
        print(f"suggest, {report.mode}: {len(table)} objects, {report.nights_count} nights")
        print(f"  whole catalogue       {took:8.2f} s")
        print(f"  windows one by one    {one_by_one:8.2f} s   (200 looked at)")
        print(f"  ratio                 {one_by_one / took:8.0f}")


if __name__ == "__main__":
    main()
