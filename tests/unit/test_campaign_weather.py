"""The weather chain: marginals, persistence, records."""

import datetime as dt
import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sidelight.campaign.weather import Weather, chain, read_records, simulate, weather_from_records
from sidelight.ground.errors import BadInput
from sidelight.notebook.schema.campaign import WEATHER

DAYS = [dt.date(2026, 12, 1) + dt.timedelta(days=i) for i in range(120)]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0, 1), min_size=12, max_size=12), st.floats(0, 0.99))
@example([0.5, *[0.0] * 10, 5e-324], 0.0)
def test_each_night_keeps_its_months_chance(months: list[float], persistence: float) -> None:
    """Marginals equal the month's chance exactly and every transition is a probability."""
    one = chain(Weather(tuple(months), persistence), DAYS)
    assert np.allclose(one.probability, [months[day.month - 1] for day in DAYS], atol=1e-12)
    for chance in (one.after_usable, one.after_unusable):
        assert np.all((chance >= -1e-12) & (chance <= 1 + 1e-12))


def test_simulated_nights_have_the_stated_chance_and_correlation() -> None:
    """Over 20,000 weathers mean and lag-one correlation come out within five standard errors."""
    usable = simulate(chain(Weather((0.4,) * 12, 0.35), DAYS), 20_000, seed=5)
    count = usable.size
    assert abs(usable.mean() - 0.4) < 5 * np.sqrt(0.24 / count * 1.35 / 0.65)
    first, second = usable[:, :-1].ravel() - 0.4, usable[:, 1:].ravel() - 0.4
    assert abs(np.mean(first * second) / 0.24 - 0.35) < 5 / np.sqrt(len(first))


def test_a_forecast_overrides_and_then_fades() -> None:
    """A night foretold to be clear is clear; the next leans that way; far nights do not."""
    one = chain(Weather((0.4,) * 12, 0.5, forecast=((DAYS[0], 1.0),)), DAYS)
    assert one.probability[0] == 1.0
    assert one.probability[1] == pytest.approx(0.4 + 0.5 * 0.6)
    assert one.probability[-1] == pytest.approx(0.4)


def test_records_give_the_posterior_of_a_handbook_prior() -> None:
    """Independent nights: mean and deviation of Beta(k + 1/2, n - k + 1/2), computed by scipy."""
    from scipy.stats import beta

    days = [dt.date(2020 + i // 15, 1, 1 + 2 * (i % 15)) for i in range(60)]  # no two nights in a row
    records = {day: i % 3 == 0 for i, day in enumerate(days)}
    one = weather_from_records(records)
    posterior = beta(20.5, 40.5)
    assert one.month_probability[0] == pytest.approx(posterior.mean())
    assert one.month_error is not None
    assert one.month_error[0] == pytest.approx(posterior.std())
    assert one.persistence_fraction == 0.0


def test_records_recover_a_known_chain() -> None:
    """From 30 simulated years the estimate lies within four of its own standard errors."""
    days = [dt.date(1990, 1, 1) + dt.timedelta(days=i) for i in range(365 * 30)]
    truth = Weather((0.3,) * 12, 0.4)
    nights = simulate(chain(truth, days), 1, seed=11)[0]
    got = weather_from_records(dict(zip(days, map(bool, nights), strict=True)))
    assert got.month_error is not None
    assert got.persistence_error is not None
    assert abs(got.persistence_fraction - 0.4) < 4 * got.persistence_error
    assert np.all(np.abs(np.array(got.month_probability) - 0.3) < 4 * np.array(got.month_error))


@settings(max_examples=50, deadline=None)
@given(st.floats(0.01, 0.99), st.floats(0.01, 0.99), st.floats(0.0, 0.95))
def test_months_of_unequal_chances_keep_the_correlation(before: float, now: float, persistence: float) -> None:
    """Over the turn of a month both nights are usable with p₁p₂ + r √(p₁q₁ p₂q₂), at the most with the lesser chance.

    This is the definition of the correlation of two yes-or-no events; no two of them can both happen more often.
    """
    months = (now, *(0.5,) * 10, before)
    one = chain(Weather(months, persistence), [dt.date(2026, 12, 31), dt.date(2027, 1, 1)])
    both = before * now + persistence * math.sqrt(before * (1 - before) * now * (1 - now))
    assert one.probability.tolist() == pytest.approx([before, now], abs=1e-12)
    assert before * one.after_usable[1] == pytest.approx(min(both, before, now), abs=1e-12)
    assert before * one.after_usable[1] + (1 - before) * one.after_unusable[1] == pytest.approx(now, abs=1e-12)


@pytest.mark.parametrize("usable", [True, False])
def test_a_single_night_moves_the_prior_by_one(usable: bool) -> None:
    """One night alone: Beta(3/2, 1/2) or Beta(1/2, 3/2), of scipy, for every month, nothing known of persistence."""
    from scipy.stats import beta

    one = weather_from_records({dt.date(2026, 3, 1): usable})
    posterior = beta(1.5, 0.5) if usable else beta(0.5, 1.5)
    assert one.month_probability == pytest.approx([posterior.mean()] * 12)
    assert one.month_error == pytest.approx([posterior.std()] * 12)
    assert (one.persistence_fraction, one.persistence_error, one.nights_seen_count) == (0.0, 1.0, 1)


def test_a_month_without_a_record_takes_all_of_them() -> None:
    """Months seen have their own posterior (scipy), the others that of all nights together."""
    from scipy.stats import beta

    may, june = ([dt.date(2026, month, day) for day in range(1, 29, 2)] for month in (5, 6))
    one = weather_from_records({**dict.fromkeys(may, True), **{day: day.day == 9 for day in june}})
    assert one.month_error is not None
    seen = {5: beta(14.5, 0.5), 6: beta(1.5, 13.5)}
    for month in range(1, 13):
        posterior = seen.get(month, beta(15.5, 13.5))
        assert one.month_probability[month - 1] == pytest.approx(posterior.mean())
        assert one.month_error[month - 1] == pytest.approx(posterior.std())


def test_nights_that_persist_count_for_fewer() -> None:
    """Three spells of nights, pair by pair: correlation about the months' chances, its error, and wider errors."""
    from scipy.stats import beta

    rng = np.random.default_rng(3)
    records: dict[dt.date, bool] = {}
    for start in (dt.date(2024, 3, 20), dt.date(2025, 1, 1), dt.date(2026, 3, 27)):
        usable = True
        for later in range(40):
            usable = usable if rng.random() < 0.75 else not usable
            records[start + dt.timedelta(days=later)] = usable
    got = weather_from_records(records)
    assert got.month_error is not None
    counts = {month: [sum(day.month == month for day in records)] for month in range(1, 13)}
    for month, count in counts.items():
        count.append(sum(usable for day, usable in records.items() if day.month == month))
    chance = {month: (good + 0.5) / (all_ + 1.0) for month, (all_, good) in counts.items() if all_}
    together, spread, pairs = 0.0, 0.0, 0
    for day, usable in records.items():
        yesterday = day - dt.timedelta(days=1)
        if yesterday in records:
            p, q = chance[yesterday.month], chance[day.month]
            together += (records[yesterday] - p) * (usable - q)
            spread += math.sqrt(p * (1 - p) * q * (1 - q))
            pairs += 1
    correlation = together / spread
    assert 0.3 < correlation < 0.7
    assert pairs == 3 * 39
    assert got.persistence_fraction == pytest.approx(correlation)
    assert got.persistence_error == pytest.approx(1.0 / math.sqrt(pairs))
    fewer = (1 - correlation) / (1 + correlation)
    for month, (all_, _) in counts.items():
        nights = (all_ or len(records)) * fewer
        mean = got.month_probability[month - 1]
        posterior = beta(mean * (nights + 1.0), (1 - mean) * (nights + 1.0))
        assert got.month_error[month - 1] == pytest.approx(posterior.std())


def test_estimates_scatter_as_they_say() -> None:
    """Three hundred times ten Novembers of a known chain: chances and persistence scatter by their stated errors.

    To 15 %: the scatter of 300 is good to 4 %, ten Novembers' chance to 4 %, and 1/sqrt(pairs) is a rule of thumb.
    """
    days = [dt.date(2000 + year, 11, 1) + dt.timedelta(days=day) for year in range(10) for day in range(30)]
    truth = chain(Weather((0.45,) * 12, 0.4), days[:30])
    novembers = simulate(truth, 3000, seed=2).reshape(300, 300)
    found = [weather_from_records(dict(zip(days, map(bool, one), strict=True))) for one in novembers]
    chances = np.array([one.month_probability[10] for one in found])
    errors = np.array([one.month_error[10] for one in found if one.month_error is not None])
    assert chances.mean() == pytest.approx(0.45, abs=0.01)
    assert chances.std() == pytest.approx(errors.mean(), rel=0.15)
    persistences = np.array([one.persistence_fraction for one in found])
    assert persistences.mean() == pytest.approx(0.4, abs=0.03)
    assert persistences.std() == pytest.approx(1.0 / math.sqrt(290.0), rel=0.15)


def test_two_long_spells_persist_as_much_as_a_notebook_takes() -> None:
    """Twenty clear winters and twenty cloudy ones: each night tells of the next, and the notebook's most holds it."""
    records = {dt.date(1980 + year, 1, day): year < 20 for year in range(40) for day in range(1, 32)}
    (most,) = (field.high for field in WEATHER.fields if field.key == "persistence_fraction")
    assert weather_from_records(records).persistence_fraction == most


def test_a_table_of_past_nights_names_every_bad_row() -> None:
    """Bad dates, answers and repeats are all reported with their line."""
    text = "date,usable\n2026-01-01,yes\n2026-13-01,no\n2026-01-02,perhaps\n2026-01-01,no\n"
    with pytest.raises(BadInput) as refusal:
        read_records(text, "past.csv")
    assert [problem.line for problem in refusal.value.problems] == [3, 4, 5]
    assert read_records("2026-01-01,Clear\n\n# note\n2026-01-02,0\n", "p") == {
        dt.date(2026, 1, 1): True,
        dt.date(2026, 1, 2): False,
    }
    with pytest.raises(BadInput, match="No past night"):
        weather_from_records({})
