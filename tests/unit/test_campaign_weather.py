"""The weather chain: marginals, persistence, records."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sidelight.campaign.weather import Weather, chain, read_records, simulate, weather_from_records
from sidelight.ground.errors import BadInput

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
