"""What a campaign is made of: jobs, the nights' slots, and what the planner answers."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from sidelight.ground.types import BoolArray, FloatArray, IntArray


@dataclass(frozen=True)
class Job:
    """One target, or one filter of it, with the effective hours it still wants.

    wanted_h, collected_h : effective hours. priority : a job of priority 2 counts twice.
    finish : True when half the worth lies in finishing this season; False when it may be carried over to next year,
    so that each hour counts the same.
    """

    key: str
    filter_name: str
    wanted_h: float
    collected_h: float = 0.0
    priority: float = 1.0
    finish: bool = True

    @property
    def remaining_h(self) -> float:
        """Effective hours still missing, never negative."""
        return max(0.0, self.wanted_h - self.collected_h)


@dataclass(frozen=True, eq=False)
class Slots:
    """The nights of a campaign, cut into pieces of at most an hour.

    dates : the nights, ascending, n of them; a night that the person cannot use has no slot.
    night : which night each slot belongs to, shape (s,), ascending. start_mjd, length_h : of each slot, shape (s,).
    open_h : the slot's length where each job's target can be photographed throughout it, else 0, shape (j, s).
    gain_h : effective hours that these are worth, shape (j, s); 0 where closed.
    west : whether each job's target is west of the flip in each slot, shape (j, s); None where no set-up cares.
    """

    dates: tuple[dt.date, ...]
    night: IntArray
    start_mjd: FloatArray
    length_h: FloatArray
    open_h: FloatArray
    gain_h: FloatArray
    west: BoolArray | None = None

    @property
    def rate(self) -> FloatArray:
        """Effective hours a clock hour, shape (j, s); 0 where closed."""
        return np.divide(self.gain_h, self.open_h, out=np.zeros(self.open_h.shape), where=self.open_h > 1e-9)

    @cached_property
    def follows(self) -> BoolArray:
        """Whether each slot begins where the one before it ends, in the same night, shape (s,)."""
        found = np.zeros(len(self.night), dtype=bool)
        end_mjd = self.start_mjd[:-1] + self.length_h[:-1] / 24.0
        found[1:] = (self.night[1:] == self.night[:-1]) & (self.start_mjd[1:] - end_mjd < 1e-6)
        return found


@dataclass(frozen=True)
class Rules:
    """What a night costs besides the sky.

    overhead_h : clock hours lost at each change of target (slewing, focus, the guider's start), the first included.
    shortest_stay_h : no shorter stay on a target. change_cost_h : effective hours of a job of priority 1
    that a change of set-up costs (flats, a day at the bench).
    """

    overhead_h: float = 0.25
    shortest_stay_h: float = 1.0
    change_cost_h: float = 1.0


@dataclass(frozen=True)
class PlannedStay:
    """A stay on one target in one night, its overhead included.

    target : number by `target_numbers`. hours_h : clock hours that the stay gives to jobs, as (job, hours) pairs.
    reserve : beyond the goal in average weather, against a bad run.
    """

    night: int
    target: int
    start_mjd: float
    end_mjd: float
    hours_h: tuple[tuple[int, float], ...]
    reserve: bool = False


@dataclass(frozen=True, eq=False)
class Allocation:
    """A plan for every night, were every night as likely usable as it is.

    stays : in order. hours_h : clock hours for each job in each slot, shape (j, s). set_up : which set-up each night
    has, shape (n,). expected_h : effective hours that each job collects in expectation, at most what it wants, (j,).
    worth, bound : the objective reached and a proven upper bound on it; gap_fraction : (bound - worth) / bound.
    job_worth_per_h : what one more effective hour of each job would add, shape (j,). worth_per_h : what a clock hour
    of each slot is worth at these prices to whoever uses it best, weather allowed for, shape (s,).
    """

    stays: tuple[PlannedStay, ...]
    hours_h: FloatArray
    set_up: IntArray
    expected_h: FloatArray
    worth: float
    bound: float
    gap_fraction: float
    job_worth_per_h: FloatArray
    worth_per_h: FloatArray


@dataclass(frozen=True, eq=False)
class Odds:
    """What the simulated weathers gave.

    finished : shape (w, j). collected_h : effective hours collected by the end, shape (w, j), never above wanted.
    finish_night : index of the night in which a job was finished, -1 when never, shape (w, j).
    mean_hours_h : mean clock hours given to each job in each night, shape (n, j).
    seed, weathers_count : so that the figures can be made again.
    """

    finished: BoolArray
    collected_h: FloatArray
    finish_night: IntArray
    mean_hours_h: FloatArray
    seed: int
    weathers_count: int

    @property
    def odds_fraction(self) -> FloatArray:
        """Share of weathers in which each job is finished, shape (j,)."""
        return np.asarray(self.finished.mean(axis=0))

    @property
    def standard_error_fraction(self) -> FloatArray:
        """Standard error of the odds (binomial), shape (j,)."""
        p = self.odds_fraction
        return np.asarray(np.sqrt(p * (1 - p) / max(1, self.weathers_count)))

    def finished_by_fraction(self, nights_count: int) -> FloatArray:
        """Return the share of weathers in which each job is done by the end of each night, shape (n, j)."""
        done_in = self.finish_night[None, :, :] == np.arange(nights_count)[:, None, None]
        return np.asarray(np.cumsum(done_in.sum(axis=1), axis=0) / max(1, self.weathers_count))


@dataclass(frozen=True)
class SetUpChoice:
    """A set-up by name and the jobs (by index) that it serves.

    jobs : served on both sides of the meridian. only_east, only_west : served on one side, where alone it has a star.
    """

    name: str
    jobs: tuple[int, ...] = field(default=())
    only_east: tuple[int, ...] = field(default=())
    only_west: tuple[int, ...] = field(default=())

    @property
    def every_job(self) -> tuple[int, ...]:
        """The jobs that it serves at least on one side, ascending."""
        return tuple(sorted({*self.jobs, *self.only_east, *self.only_west}))


def served_table(jobs_count: int, slots: Slots, set_ups: Sequence[SetUpChoice]) -> BoolArray:
    """Return whether each set-up serves each job in each slot, shape (u, j, s); no set-up at all serves every job."""
    shape = (jobs_count, len(slots.night))
    if not set_ups:
        return np.ones((1, *shape), dtype=bool)
    west = np.ones(shape, dtype=bool) if slots.west is None else slots.west
    table = np.zeros((len(set_ups), *shape), dtype=bool)
    for u, choice in enumerate(set_ups):
        table[u, list(choice.jobs)] = True
        table[u, list(choice.only_east)] |= ~west[list(choice.only_east)]
        table[u, list(choice.only_west)] |= west[list(choice.only_west)]
    return table


def target_numbers(jobs: Sequence[Job]) -> IntArray:
    """Return a number for each job, from 0, that is the same for all filters of one target."""
    keys = list(dict.fromkeys(job.key for job in jobs))
    return np.array([keys.index(job.key) for job in jobs], dtype=np.int64)


def change_worth(jobs: Sequence[Job], rules: Rules) -> float:
    """Return what a change of set-up costs in the objective's unit: hours on a mean goal of priority 1."""
    return rules.change_cost_h * len(jobs) / max(sum(job.wanted_h for job in jobs), 1e-9)
