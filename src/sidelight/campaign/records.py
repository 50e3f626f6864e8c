"""What a campaign is made of: jobs, the nights' slots, and what the planner answers."""

import datetime as dt
from dataclasses import dataclass, field

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
    """The nights a person can use, cut into pieces of at most an hour.

    dates : the nights, ascending, n of them. night : which night each slot belongs to, shape (s,), ascending.
    start_mjd, length_h : of each slot, shape (s,).
    open_h : clock hours of each slot in which each job's target can be photographed, shape (j, s).
    gain_h : effective hours that these are worth, shape (j, s); 0 where closed.
    """

    dates: tuple[dt.date, ...]
    night: IntArray
    start_mjd: FloatArray
    length_h: FloatArray
    open_h: FloatArray
    gain_h: FloatArray

    @property
    def rate(self) -> FloatArray:
        """Effective hours a clock hour, shape (j, s); 0 where closed."""
        safe = self.open_h > 1e-9
        return self.gain_h / (self.open_h + ~safe) * safe


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


@dataclass(frozen=True, eq=False)
class Allocation:
    """Clock hours for each job in each slot, were every night as likely usable as it is.

    hours_h : shape (j, s). set_up : which set-up each night has, shape (n,). expected_h : effective hours that each
    job collects in expectation, never more than it wants, shape (j,).
    worth, bound : the objective reached and a proven upper bound on it; gap_fraction : (bound - worth) / bound.
    price_per_h : what one more clock hour of each slot would add to the objective, shape (s,).
    """

    hours_h: FloatArray
    set_up: IntArray
    expected_h: FloatArray
    worth: float
    bound: float
    gap_fraction: float
    price_per_h: FloatArray


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
        return np.asarray((p * (1 - p) / max(1, self.weathers_count)) ** 0.5)

    def finished_by_fraction(self, nights_count: int) -> FloatArray:
        """Return the share of weathers in which each job is done by the end of each night, shape (n, j)."""
        done_in = self.finish_night[None, :, :] == np.arange(nights_count)[:, None, None]
        return np.asarray(np.cumsum(done_in.sum(axis=1), axis=0) / max(1, self.weathers_count))


@dataclass(frozen=True)
class SetUpChoice:
    """A set-up by name and the jobs (by index) it can serve."""

    name: str
    jobs: tuple[int, ...] = field(default=())
