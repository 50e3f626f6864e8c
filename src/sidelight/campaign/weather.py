"""Weather as a two-state chain of nights, usable or not, and its estimate from a person's own records."""

import csv
import datetime as dt
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import BoolArray, FloatArray

YES = frozenset({"1", "yes", "y", "true", "clear", "usable"})
NO = frozenset({"0", "no", "n", "false", "cloudy", "unusable"})
_NO_CHANCE = 1e-300


@dataclass(frozen=True)
class Weather:
    """What is known of a place's weather.

    month_probability : chance that a night is usable, January first, twelve values in [0, 1].
    persistence_fraction : correlation of one night with the next, in [0, 1): 0 for independent nights.
    forecast : chance for single coming nights, by date of the evening; it overrides the month's.
    month_error, persistence_error : standard errors when estimated from records, else None.
    nights_seen_count : how many recorded nights the estimate rests on, 0 when typed.
    """

    month_probability: tuple[float, ...] = (0.35,) * 12
    persistence_fraction: float = 0.3
    forecast: tuple[tuple[dt.date, float], ...] = ()
    month_error: tuple[float, ...] | None = None
    persistence_error: float | None = None
    nights_seen_count: int = 0


@dataclass(frozen=True)
class Chain:
    """The chain for one run of nights.

    probability : marginal chance of each night, shape (n,). after_usable, after_unusable : chance of each night given
    the one before, shape (n,); their first values equal the marginal.
    """

    probability: FloatArray
    after_usable: FloatArray
    after_unusable: FloatArray


def chain(weather: Weather, dates: Sequence[dt.date]) -> Chain:
    """Return the chain over consecutive nights.

    Each night keeps its own month's chance exactly as its marginal, and two nights in a row have the stated
    correlation, as far as two unequal chances allow it. A forecast night has its own chance whatever the night
    before, and the nights after it follow from what it turns out to be.
    """
    forecast = dict(weather.forecast)
    marginal = np.array([forecast.get(day, weather.month_probability[day.month - 1]) for day in dates])
    foretold = np.array([day in forecast for day in dates], dtype=bool)
    after, otherwise = marginal.copy(), marginal.copy()
    for n in range(1, len(marginal)):
        if foretold[n]:
            continue
        climate = weather.month_probability[dates[n].month - 1]
        before = weather.month_probability[dates[n - 1].month - 1]
        after[n], otherwise[n] = _transition(before, climate, weather.persistence_fraction)
        marginal[n] = marginal[n - 1] * after[n] + (1 - marginal[n - 1]) * otherwise[n]
    return Chain(marginal, after, otherwise)


def _transition(before: float, now: float, correlation: float) -> tuple[float, float]:
    """Return the chance of a usable night after a usable and after an unusable one."""
    spread_before, spread_now = before * (1 - before), now * (1 - now)
    if min(spread_before, spread_now) < _NO_CHANCE:  # never or always; a ratio of such figures would overflow
        return now, now
    difference = correlation * (spread_now / spread_before) ** 0.5
    # both chances must stay within [0, 1]
    difference = min(difference, (1 - now) / (1 - before), now / before)
    otherwise = now - difference * before
    return otherwise + difference, otherwise


def simulate(nights: Chain, weathers_count: int, seed: int) -> BoolArray:
    """Return whether each night is usable in each weather, shape (weathers, nights); seeded."""
    draw = np.random.default_rng(seed).random((len(nights.probability), weathers_count))
    usable = np.zeros((len(nights.probability), weathers_count), dtype=bool)
    for n in range(len(nights.probability)):
        if n == 0:
            usable[n] = draw[n] < nights.probability[n]
        else:
            usable[n] = draw[n] < np.where(usable[n - 1], nights.after_usable[n], nights.after_unusable[n])
    return usable.T


def weather_from_records(records: Mapping[dt.date, bool], forecast: Mapping[dt.date, float] | None = None) -> Weather:
    """Estimate a Weather from past nights.

    A month's chance is the mean of its posterior under the Jeffreys prior Beta(1/2, 1/2) (Jeffreys 1946, Proc. R.
    Soc. A 186, 453), its error the posterior's standard deviation, widened for the persistence of the nights (the
    effective number of independent nights is n (1 - r) / (1 + r)). Persistence is the lag-one correlation about the
    monthly chances over pairs of nights in a row, its error 1/sqrt(pairs). A month with no record takes the chance
    of all records together. Raises BadInput for no record at all.
    """
    if not records:
        raise BadInput(
            Problem("No past night could be read.", expected='rows of "date,usable" such as 2026-03-01,yes')
        )
    month = np.array([day.month for day in records])
    usable = np.array(list(records.values()), dtype=np.float64)
    chance, error, persistence, persistence_error = _estimates(list(records), month, usable)
    return Weather(
        month_probability=tuple(chance),
        persistence_fraction=persistence,
        forecast=tuple(sorted((forecast or {}).items())),
        month_error=tuple(error),
        persistence_error=persistence_error,
        nights_seen_count=len(records),
    )


def _estimates(
    days: Sequence[dt.date], month: np.ndarray, usable: FloatArray
) -> tuple[list[float], list[float], float, float]:
    """Return chances and errors by month, persistence and its error."""
    overall = (usable.sum() + 0.5) / (len(usable) + 1.0)
    seen = np.array([(month == m).sum() for m in range(1, 13)], dtype=np.float64)
    good = np.array([usable[month == m].sum() for m in range(1, 13)])
    chance = np.where(seen > 0, (good + 0.5) / (seen + 1.0), overall)
    persistence, pairs = _lag_one(days, usable - chance[month - 1], chance[month - 1])
    independent = np.where(seen > 0, seen, len(usable)) * (1 - persistence) / (1 + persistence)
    error = np.sqrt(chance * (1 - chance) / (independent + 2.0))
    return chance.tolist(), error.tolist(), persistence, 1.0 / max(1, pairs) ** 0.5


def _lag_one(days: Sequence[dt.date], departure: FloatArray, chance: FloatArray) -> tuple[float, int]:
    """Return the lag-one correlation of departures from the chance, in [0, 0.95], and the number of pairs."""
    at = {day: i for i, day in enumerate(days)}
    pairs = [(at[day - dt.timedelta(days=1)], i) for day, i in at.items() if day - dt.timedelta(days=1) in at]
    if not pairs:
        return 0.0, 0
    first, second = np.array(pairs).T
    spread = np.sqrt(chance[first] * (1 - chance[first]) * chance[second] * (1 - chance[second]))
    correlation = float(np.sum(departure[first] * departure[second]) / np.sum(spread))
    return min(max(correlation, 0.0), 0.95), len(pairs)


def read_records(text: str, file: str) -> dict[dt.date, bool]:
    """Read past nights from CSV text, a date and yes or no in each row; raises BadInput naming each bad row."""
    problems: list[Problem] = []
    records: dict[dt.date, bool] = {}
    for number, row in enumerate(_rows(text, file), start=1):
        cells = [cell.strip() for cell in row]
        if not any(cells) or cells[0].startswith("#") or (number == 1 and cells[0].casefold() == "date"):
            continue
        answer = cells[1].casefold() if len(cells) > 1 else ""
        try:
            day = dt.date.fromisoformat(cells[0])
        except ValueError:
            problems.append(
                Problem(f'"{cells[0][:40]}" is not a date.', file, line=number, expected="2026-03-01,yes")
            )
            continue
        if answer not in YES | NO:
            problems.append(
                Problem(f'"{answer[:40]}" is neither yes nor no.', file, line=number, expected="yes or no")
            )
        elif day in records:
            problems.append(Problem(f"{day} stands twice.", file, line=number, expected="each night once"))
        else:
            records[day] = answer in YES
    if problems:
        raise BadInput(problems)
    return records


def _rows(text: str, file: str) -> list[list[str]]:
    """Return the rows of a CSV text, whatever ends its lines; raises BadInput for what is not CSV."""
    reader = csv.reader(io.StringIO(text, newline=None))
    try:
        return list(reader)
    except csv.Error as error:
        message = f"The table cannot be read: {error}."
        raise BadInput(Problem(message, file, line=reader.line_num, expected="2026-03-01,yes")) from error
