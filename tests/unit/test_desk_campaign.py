"""The campaign at the desk on the example notebook and on small changes of it."""

import dataclasses
import datetime as dt
import json
from pathlib import Path

import pytest

from sidelight.desk.campaign import campaign_report
from sidelight.desk.campaign_records import CampaignReport, OddsWithout
from sidelight.desk.campaign_words import sky_sentence
from sidelight.desk.demo import DATE, make_demo
from sidelight.desk.kept import setup_in_use
from sidelight.desk.night import night_report
from sidelight.desk.worth import worth_tonight
from sidelight.ground.errors import BadInput
from sidelight.ground.plain import to_plain
from sidelight.notebook.read import Notebook, read_notebook
from sidelight.sky.darkness import year_of_darkness

WEATHERS = 1000
NIGHTS = 60


@pytest.fixture(scope="module")
def report(book: Notebook) -> CampaignReport:
    """Return its campaign, all of it, in few weathers."""
    return campaign_report(book, DATE, NIGHTS, WEATHERS)


def alone(book: Notebook, key: str = "NGC 2903", hours: float = 20.0, **nights: object) -> Notebook:
    """Return the notebook with one target and other nights."""
    target = next(one for one in book.targets if one.key == key)
    campaign = dataclasses.replace(
        book.campaign,
        nights=dataclasses.replace(book.campaign.nights, **nights),  # type: ignore[arg-type]
    )
    return dataclasses.replace(book, targets=(dataclasses.replace(target, hours_wanted_h=hours),), campaign=campaign)


def test_the_report_has_its_fields_for_programs(report: CampaignReport) -> None:
    """Field names of the JSON carry units, and nothing in it is missing or not finite."""
    plain = to_plain(report)
    assert isinstance(plain, dict)
    again = json.loads(json.dumps(plain, allow_nan=False))
    assert {"first_date", "nights_count", "usable_hours", "weathers_count", "seed", "gap_fraction", "targets"} <= set(
        again
    )
    assert {"plan", "set_ups", "giving_up", "one_more_night", "prices", "weather", "notes"} <= set(again)
    assert {
        *("target", "odds_fraction", "standard_error_fraction", "done_by_50_percent", "done_by_90_percent"),
        *(
            "expected_hours",
            "expected_hours_if_unfinished",
            "best_possible_hours",
            "possible",
            "last_call",
            "filters",
        ),
    } <= set(again["targets"][0])
    assert {"date", "target", "start_utc", "end_utc", "hours", "effective_hours", "usable_probability"} <= set(
        again["plan"][0]
    )
    assert len(again["giving_up"]) == len(again["targets"]) == 5


def test_the_same_seed_gives_the_same_report(book: Notebook, report: CampaignReport) -> None:
    """Made again it is equal in every figure; another seed differs, within some standard errors."""
    again = campaign_report(book, DATE, NIGHTS, WEATHERS, what_if=False)
    assert again.targets == report.targets
    assert again.plan == report.plan
    other = campaign_report(book, DATE, NIGHTS, WEATHERS, seed=2, what_if=False)
    assert other.targets != report.targets
    for one, two in zip(report.targets, other.targets, strict=True):
        error = (one.standard_error_fraction**2 + two.standard_error_fraction**2) ** 0.5
        assert abs(one.odds_fraction - two.odds_fraction) <= 5 * error + 0.01


def test_the_plan_spends_no_instant_twice(report: CampaignReport) -> None:
    """Stays follow one another, no target is planned for more than it wants, odds and hours are in range."""
    for one, following in zip(report.plan, report.plan[1:], strict=False):
        assert one.end_utc <= following.start_utc
    for target in report.targets:
        assert target.planned_hours <= target.wanted_hours + 1e-6
        assert target.expected_hours <= target.best_possible_hours + 1e-6
        assert 0 <= target.odds_fraction <= 1


def test_giving_up_a_target_does_not_hurt_the_others(report: CampaignReport) -> None:
    """In the same weathers the others' odds do not fall together by more than the policy's own noise."""
    for given in report.giving_up:
        assert sum(one.change_fraction for one in given.others) >= -0.02


def test_more_free_nights_never_lower_the_odds_of_a_target_alone(book: Notebook) -> None:
    """With one more evening a week odds and hours are no lower, and what was foretold of it comes true."""
    few = campaign_report(alone(book, weekdays=(4, 5)), DATE, 120, WEATHERS)
    assert few.one_more_night is not None
    assert few.one_more_night.weekday is not None
    day = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday").index(
        few.one_more_night.weekday
    )
    many = campaign_report(alone(book, weekdays=(4, 5, day)), DATE, 120, WEATHERS, what_if=False)
    assert many.targets[0].odds_fraction >= few.targets[0].odds_fraction
    assert many.targets[0].expected_hours >= few.targets[0].expected_hours
    assert many.targets[0].odds_fraction == pytest.approx(few.one_more_night.targets[0].odds_fraction)


def test_a_bedtime_takes_hours_and_ends_the_plan(book: Notebook) -> None:
    """No stay ends after half past one by the site's clock."""
    report = campaign_report(alone(book, latest_bedtime=dt.time(1, 30)), DATE, 20, WEATHERS, what_if=False)
    whole = campaign_report(alone(book), DATE, 20, WEATHERS, what_if=False)
    assert 0 < report.usable_hours < whole.usable_hours
    for one in report.plan:
        stop = dt.datetime.combine(one.date + dt.timedelta(days=1), dt.time(1, 30), tzinfo=dt.UTC)
        assert one.end_utc <= stop


def test_a_goal_that_no_weather_meets_is_said(book: Notebook) -> None:
    """A thousand hours in twenty nights: not an error, but said, with the best that can be had."""
    report = campaign_report(alone(book, hours=1000.0), DATE, 20, WEATHERS, what_if=False)
    target = report.targets[0]
    assert not target.possible
    assert target.odds_fraction == 0.0
    assert target.last_call is None
    assert 0 < target.best_possible_hours < 1000
    assert "in any weather" in target.sentence
    never = campaign_report(alone(book, weekdays=()), DATE, 20, WEATHERS, what_if=False)
    assert never.usable_nights_count == 0
    assert never.plan == ()
    assert "cannot be photographed" in never.targets[0].sentence


def test_certain_weather_gives_certain_odds(book: Notebook) -> None:
    """Every night clear: a modest goal is met in all weathers, and every night clouded in none."""
    for chance, expected in ((1.0, 1.0), (0.0, 0.0)):
        one = alone(book, hours=8.0)
        weather = dataclasses.replace(one.campaign.weather, month_probability=(chance,) * 12)
        one = dataclasses.replace(one, campaign=dataclasses.replace(one.campaign, weather=weather))
        target = campaign_report(one, DATE, 10, 100, what_if=False).targets[0]
        assert target.odds_fraction == expected
        assert target.standard_error_fraction == 0.0


def test_no_target_and_too_few_weathers(book: Notebook) -> None:
    """An empty list is an outcome with a sentence; ten weathers are refused."""
    empty = campaign_report(dataclasses.replace(book, targets=()), DATE, 10, 100)
    assert "no target" in empty.sentence
    assert empty.plan == ()
    with pytest.raises(BadInput, match="too few"):
        campaign_report(book, DATE, 10, 10)


def test_tonights_worth_comes_from_the_campaign(book: Notebook) -> None:
    """Each target that wants hours has a value from the season's rest; the one soonest lost has most of all."""
    worth = worth_tonight(book, DATE)
    assert {one.basis for one in worth.values()} == {"campaign"}
    assert max(worth, key=lambda key: worth[key].value_per_h) in ("NGC 2903", "M 96")
    for one in worth.values():
        assert one.weights is not None
        assert one.times_mjd is not None
        assert one.weights.max() == pytest.approx(1.0)


def test_worth_without_a_campaign_falls_back(book: Notebook) -> None:
    """With no usable night ahead the worth is the urgency, and says so."""
    worth = worth_tonight(alone(book, weekdays=()), DATE)
    assert {one.basis for one in worth.values()} == {"urgency"}


def test_past_nights_bring_their_uncertainty(tmp_path: Path) -> None:
    """With a table of past nights the report carries each month's error, and a note says how well it is known."""
    make_demo(tmp_path / "garden")
    rows = [f"{dt.date(2026, 1, 1) + dt.timedelta(days=k)},{'yes' if k % 3 == 0 else 'no'}" for k in range(365)]
    (tmp_path / "garden" / "past.csv").write_text("date,usable\n" + "\n".join(rows), encoding="utf-8")
    settings = tmp_path / "garden" / "campaign.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(
        text.replace('# past_nights_file = "past-nights.csv"', 'past_nights_file = "past.csv"'), "utf-8"
    )
    report = campaign_report(read_notebook(tmp_path / "garden"), DATE, 10, 100, what_if=False)
    assert report.weather.nights_seen_count == 365
    assert report.weather.month_error_probability is not None
    assert all(0.02 < error < 0.2 for error in report.weather.month_error_probability)
    assert any("365 past nights" in note for note in report.notes)


def test_the_first_night_is_tonights_own_plan(book: Notebook, report: CampaignReport) -> None:
    """The campaign's stays of its first night are the night's, to the second, and the notes say so."""
    tonight = night_report(book, DATE, setup_in_use(book, DATE))
    first = [one for one in report.plan if one.date == DATE]
    assert [(one.target, one.start_utc, one.end_utc) for one in first] == [
        (one.target, one.start_utc, one.end_utc) for one in tonight.plan
    ]
    assert all(0 < one.effective_hours <= one.hours * 1.05 for one in first)
    assert any('"sidelight night"' in note for note in report.notes)


def test_no_dark_hour_is_left_over_while_goals_are_uncertain(book: Notebook) -> None:
    """About new Moon the plan runs until dawn; what average weather does not need is marked as in reserve."""
    report = campaign_report(book, DATE, 120, WEATHERS, what_if=False)
    assert max(one.odds_fraction for one in report.targets) < 0.99
    dark = year_of_darkness(book.site, DATE, 120)
    for number, night in enumerate(dark.nights[1:31], start=1):
        stays = [one for one in report.plan if one.date == night.date]
        idle_h = dark.dark_h[number] - sum((one.end_utc - one.start_utc).total_seconds() / 3600 for one in stays)
        assert idle_h < 0.3, night.date
    assert 0 < sum(one.reserve for one in report.plan) < len(report.plan)


def test_clearer_skies_raise_the_odds_of_all_together(report: CampaignReport) -> None:
    """Ten points more clear nights raise the odds' sum, ten fewer lower it, and each is said in a sentence."""
    less, more = report.other_skies
    assert (less.change_percent, more.change_percent) == (-10.0, 10.0)
    assert less.least_probability == pytest.approx(0.25)
    now = sum(one.odds_fraction for one in report.targets)
    assert sum(one.odds_fraction for one in less.targets) < now < sum(one.odds_fraction for one in more.targets)
    assert less.sentence.startswith("Were 25% of nights usable: ")


def test_a_last_call_later_than_the_odds_allow_is_explained(report: CampaignReport) -> None:
    """Where a target shares its hours and stays below the odds wanted, its sentence says what the call supposes."""
    for one in report.targets:
        if one.last_call and one.odds_fraction < 0.8:
            assert "with every hour it can use to itself" in one.sentence
            assert f"sharing them with the other targets from today it has {one.odds_fraction:.0%}" in one.sentence


def test_a_default_chance_of_clear_nights_is_not_called_the_persons_own(
    book: Notebook, report: CampaignReport
) -> None:
    """The ± is said to be the simulation's, and whose the 35 % is."""
    assert (
        "the simulation's alone; the weather's 35% of nights usable is what every new campaign.toml"
        in report.notes[0]
    )
    weather = dataclasses.replace(book.campaign.weather, month_probability=(0.2,) * 6 + (0.4,) * 6)
    own = dataclasses.replace(alone(book), campaign=dataclasses.replace(book.campaign, weather=weather))
    note = campaign_report(own, DATE, 20, 100, what_if=False).notes[0]
    assert "20% to 40% of nights usable is your own figure" in note


def test_a_poorer_sky_that_helps_one_says_whom_it_costs() -> None:
    """Odds that rise under fewer clear nights are explained by the targets that are let go; else nothing is added."""
    falls, rises = OddsWithout("M 96", 0.0, -0.7), OddsWithout("M 81", 0.97, 0.15)
    assert "to let M 96 go for the others" in sky_sentence([0.25] * 12, [falls, rises])
    assert "let" not in sky_sentence([0.25] * 12, [falls, OddsWithout("M 81", 0.6, -0.2)])
    assert "let" not in sky_sentence([0.45] * 12, [OddsWithout("M 96", 0.9, 0.2), rises])
