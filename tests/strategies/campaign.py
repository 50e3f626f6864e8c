"""Small campaigns for tests: jobs, slots of an hour, set-ups."""

import datetime as dt
import itertools

import numpy as np
from hypothesis import strategies as st

from sidelight.campaign.records import Job, Slots
from sidelight.campaign.slots import Openings

START = dt.date(2026, 12, 1)


def slots_from(open_h: list[list[list[float]]], rate: list[float] | None = None) -> Slots:
    """Return slots of one hour from open hours by night, slot, job."""
    night = [n for n, one in enumerate(open_h) for _ in one]
    table = np.array([row for one in open_h for row in one], dtype=float).reshape(len(night), -1).T
    worth = np.ones(len(table)) if rate is None else np.array(rate)
    start = 61_000.8 + np.array(night) + np.concatenate([np.arange(len(one)) for one in open_h]) / 24.0
    return Slots(
        dates=tuple(START + dt.timedelta(days=n) for n in range(len(open_h))),
        night=np.array(night, dtype=np.int64),
        start_mjd=start,
        length_h=np.ones(len(night)),
        open_h=table,
        gain_h=table * worth[:, None],
    )


def unequal_slots(nights: list[list[tuple[float, float, list[float]]]]) -> Slots:
    """Return slots of any length: by night, each slot's start and length in hours, each job's rate (0: closed)."""
    rows = [(n, *one) for n, night in enumerate(nights) for one in night]
    length = np.array([row[2] for row in rows])
    rate = np.array([row[3] for row in rows], dtype=float).T
    return Slots(
        dates=tuple(START + dt.timedelta(days=n) for n in range(len(nights))),
        night=np.array([row[0] for row in rows], dtype=np.int64),
        start_mjd=np.array([61_000.8 + row[0] + row[1] / 24.0 for row in rows]),
        length_h=length,
        open_h=(rate > 0) * length,
        gain_h=rate * length,
    )


@st.composite
def small_campaigns(draw: st.DrawFn) -> tuple[list[Job], Slots, np.ndarray]:
    """Draw up to three jobs, up to four nights of up to three hours, and chances."""
    count = draw(st.integers(1, 3))
    jobs = [
        Job(f"job {j}", "", draw(st.integers(1, 5)), 0.0, draw(st.sampled_from([0.5, 1.0, 2.0])), draw(st.booleans()))
        for j in range(count)
    ]
    nights = draw(st.integers(1, 4))
    open_h = [
        [[float(draw(st.booleans())) for _ in range(count)] for _ in range(draw(st.integers(1, 3)))]
        for _ in range(nights)
    ]
    chance = np.array([draw(st.sampled_from([0.2, 0.5, 0.9, 1.0])) for _ in range(nights)])
    return jobs, slots_from(open_h), chance


@st.composite
def openings(draw: st.DrawFn, evening_mjd: float) -> Openings:
    """Draw when one target is open in a night: up to three spans, some of which touch at a flip."""
    edges = sorted(draw(st.lists(st.floats(0, 10), min_size=2, max_size=4, unique=True)))
    touching = draw(st.booleans())
    if touching:
        rows = [(a, b) for a, b in itertools.pairwise(edges)]
    else:
        rows = [(edges[k], edges[k + 1]) for k in range(0, len(edges) - 1, 2)]
    spans = evening_mjd + np.array(rows) / 24.0
    west = [draw(st.booleans()) for _ in rows]
    return Openings(spans, np.array(west))
