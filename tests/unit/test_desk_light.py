"""Light at the desk: weights, effective hours, the Moon's cost in words, best nights."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from sidelight.cli.light import light_text
from sidelight.desk.hours import light_report
from sidelight.desk.hours_words import moon_name
from sidelight.desk.light import effective_hours_table, filter_of, filters_of, hour_weight, hour_weights, main_filter
from sidelight.desk.season import season_report
from sidelight.ground.errors import BadInput
from sidelight.light.weight import weights
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import Goal
from sidelight.season.windows import target_windows

DARK, FULL = dt.date(2027, 3, 6), dt.date(2027, 3, 21)


def test_a_weight_is_the_rooms_own_with_the_cameras_noise(book: Notebook) -> None:
    """`hour_weight` keeps the shape of its instants and, without camera noise, is what the room of light gives."""
    quiet = replace(book, rig=replace(book.rig, camera=replace(book.rig.camera, read_noise_e=0.0, dark_e_per_s=0.0)))
    times = np.array([[61470.85, 61470.9], [61470.95, 61471.0]])
    target, one = book.targets[0], filter_of(book, "Ha")
    got = hour_weight(quiet, target, one, times)
    assert got.shape == (2, 2)
    expected = weights(book.site, book.light.sky, one, target.ra_deg, target.dec_deg, times.ravel())
    np.testing.assert_allclose(got.ravel(), expected.ravel(), rtol=1e-12)
    many = hour_weights(quiet, book.targets, [filter_of(book, "L"), one], times.ravel())
    np.testing.assert_allclose(many[0, 1], got.ravel(), rtol=1e-12)


def test_the_camera_s_noise_makes_the_moon_cheaper(book: Notebook) -> None:
    """Where read noise matters beside a dark sky, moonlight costs a smaller share."""
    loud = replace(book, rig=replace(book.rig, camera=replace(book.rig.camera, read_noise_e=12.0)))
    at, target, one = np.array([61486.0]), book.targets[2], filter_of(book, "Ha")
    assert hour_weight(loud, target, one, at)[0] > hour_weight(book, target, one, at)[0]


def test_effective_hours_are_the_weights_summed(book: Notebook) -> None:
    """A night's effective hours equal its weights sampled each minute of its windows, to 0.2 %."""
    targets = book.targets[:3]
    table = target_windows(
        book.site, [t.ra_deg for t in targets], [t.dec_deg for t in targets], dt.date(2027, 3, 14), 2
    )
    got = effective_hours_table(book, targets, table)
    for row, target in enumerate(targets):
        for night in range(2):
            total = 0.0
            for start, end in table.windows(row, night):
                count = max(1, round((end - start) * 1440.0))
                at = start + (np.arange(count) + 0.5) * (end - start) / count
                total += float(np.mean(hour_weight(book, target, got.filters[row], at))) * (end - start) * 24.0
            assert got.effective_h[row, night] == pytest.approx(total, rel=2e-3)


def test_filters_by_goal_and_by_name(book: Notebook) -> None:
    """A goal's filters are a target's, the one with most hours its main; without a goal the first broad one is."""
    key = book.targets[0].key
    goal = Goal(key, filters_h=(("L", 4.0), ("Ha", 12.0)))
    asked = replace(book, campaign=replace(book.campaign, goals=(goal,)))
    assert [one.name for one in filters_of(asked, book.targets[0])] == ["L", "Ha"]
    assert main_filter(asked, book.targets[0]).name == "Ha"
    assert main_filter(asked, book.targets[1]).name == "L"
    assert filter_of(book, " oiii ").name == "OIII"
    with pytest.raises(BadInput, match=r'Did you mean "OIII"'):
        filter_of(book, "OII")


def test_the_moon_s_cost_in_words(book: Notebook) -> None:
    """At full Moon the sentence names each filter's share, L dearer than Ha; at new Moon it takes nothing."""
    full = light_report(book, FULL, 1, filters=("L", "ha"))
    luminance, alpha = full.moon
    assert luminance.moon_takes_share > alpha.moon_takes_share > 0.2
    share, other = 100 * luminance.moon_takes_share, 100 * alpha.moon_takes_share
    assert full.sentence == f"A full Moon takes {share:.0f} % of this night for L, {other:.0f} % for Ha."
    assert light_report(book, dt.date(2027, 3, 8), 1).sentence == "A new Moon takes nothing of this night."
    assert moon_name(0.5) == "a Moon 50 % lit"


def test_shares_hours_and_best_nights_agree(book: Notebook) -> None:
    """Effective hours are the moonless ones less the Moon's share; the best night has the most of them."""
    report = light_report(book, DARK, 20)
    for target in report.targets:
        main = [one.filter for one in report.filters].index(target.main_filter)
        hours = [night.filters[main].effective_hours for night in target.nights]
        assert target.best_effective_hours == max(hours)
        assert target.best_night == report.targets[0].nights[int(np.argmax(hours))].date
        for night in target.nights:
            for one in night.filters:
                assert 0.0 <= one.effective_hours <= one.moonless_hours + 1e-9
                assert one.moonless_hours <= night.dark_hours + 1e-6
                kept = one.moonless_hours * (1.0 - one.moon_takes_share)
                assert kept == pytest.approx(one.effective_hours, abs=1e-9)
    assert report.integral_error_hours < 0.02


def test_weights_stop_where_the_target_cannot_be_used(book: Notebook) -> None:
    """Weights are given inside the windows only, one for each of the report's instants."""
    report = light_report(book, DARK, 1, only=(book.targets[0].key,))
    (target,) = report.targets
    for line in target.weights:
        assert len(line.weights) == len(report.times_utc)
        known = [one for one in line.weights if one is not None]
        assert 0 < len(known) < len(line.weights)
        assert all(0.0 < one <= 1.01 for one in known)


def test_a_night_that_is_never_dark_is_said(book: Notebook) -> None:
    """North of the midsummer border no hour is worth anything, in words and in numbers."""
    north = replace(book, site=replace(book.site, latitude_deg=65.0))
    report = light_report(north, dt.date(2027, 6, 20), 3)
    assert "does not get dark" in report.sentence
    assert report.times_utc == ()
    assert all(target.best_night is None for target in report.targets)
    assert "not usable in these 3 nights" in light_text(report)


def test_a_list_without_targets(book: Notebook) -> None:
    """Without a target the report says so."""
    report = light_report(replace(book, targets=()), DARK, 2)
    assert "There is no target on the list yet" in light_text(report)


def test_the_season_s_best_night_is_by_effective_hours(book: Notebook) -> None:
    """Of its useful nights no other has more effective hours, and a night about full Moon is not it."""
    report = season_report(book, dt.date(2027, 3, 14), 40)
    for target in report.targets:
        hours = {night.date: night.effective_hours for night in target.nights if night.dark_hours >= 1.0}
        assert hours[target.best_nights[0]] == pytest.approx(max(hours.values()), abs=1e-3)
        best_hours = [round(hours[date], 3) for date in target.best_nights]
        assert best_hours == sorted(best_hours, reverse=True)
        best = next(night for night in target.nights if night.date == target.best_nights[0])
        assert best.moon_takes_share < 0.3
        assert target.effective_hours_left <= sum(night.dark_hours for night in target.nights)


def test_a_night_as_good_as_the_best_is_not_sent_elsewhere(book: Notebook) -> None:
    """Where tonight's hours equal the best night's to the digit shown, no other night is named."""
    alike = 0
    for day in range(6):
        for target in light_report(book, DARK + dt.timedelta(days=day), 10).targets:
            tonight = next(one for one in target.filters if one.filter == target.main_filter)
            same = f"{tonight.effective_hours:.1f}" == f"{target.best_effective_hours:.1f}"
            assert ("best on" in target.sentence) != same
            alike += same and "as good as any" in target.sentence
    assert alike


def test_what_is_lost_soonest_stands_first(book: Notebook) -> None:
    """Targets in season are ordered by effective hours left for each hour wanted."""
    greedy = replace(book.targets[-1], hours_wanted_h=10.0 * book.targets[-1].hours_wanted_h)
    there = season_report(replace(book, targets=(*book.targets[:-1], greedy)), DARK, 365).targets
    left = [one.effective_hours_left / one.hours_wanted for one in there]
    assert all(one.nights_left for one in there)
    assert left == sorted(left)
    assert there[0].target == greedy.key
