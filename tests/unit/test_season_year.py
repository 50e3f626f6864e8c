"""The season of a target: its ends, its best nights, what is left, and the sentence for each verdict."""

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest

from sidelight.ground.errors import BadInput
from sidelight.season import words
from sidelight.season.windows import target_windows, usable_hours_h
from sidelight.season.year import TargetSeason, target_seasons
from sidelight.sky.horizon import FLAT, Horizon, horizon_from_points
from sidelight.sky.site import Site
from sidelight.targets.records import Target

TONIGHT = dt.date(2027, 1, 10)
ANDROMEDA = Target("M31", 10.685, 41.269)
ORION = Target("M42", 83.82, -5.39)
POLE = Target("near the pole", 37.9, 88.0)
TRIANGULUM_AUSTRALE = Target("deep south", 240.0, -65.0)
SCORPIUS = Target("low south", 247.0, -26.0)


def site_at(latitude_deg: float, floor_deg: float = 30.0, horizon: Horizon = FLAT) -> Site:
    """Return a site on Greenwich's meridian."""
    return Site("here", latitude_deg, 0.0, 50.0, "UTC", horizon, floor_deg)


def season_of(target: Target, site: Site, date: dt.date = TONIGHT, **wishes: float) -> TargetSeason:
    """Return one target's season of a year of nights."""
    return target_seasons(site, [target], date, **wishes)[0]


def test_a_season_wraps_across_new_year() -> None:
    """In January Andromeda's season has begun the summer before, and ends in early spring."""
    season = season_of(ANDROMEDA, site_at(50.0))
    assert season.verdict == "useful"
    assert season.first_useful is not None
    assert season.last_useful is not None
    assert season.first_useful.year == 2026
    assert season.first_useful < TONIGHT < season.last_useful
    hours = usable_hours_h(site_at(50.0), 10.685, 41.269, season.first_useful - dt.timedelta(days=1), 2)[0]
    assert hours[0] < 1.0 <= hours[1]
    hours = usable_hours_h(site_at(50.0), 10.685, 41.269, season.last_useful, 2)[0]
    assert hours[0] >= 1.0 > hours[1]


def test_what_is_left_is_counted_from_tonight() -> None:
    """Hours and nights left are those of the useful nights from tonight to the season's last."""
    season = season_of(ORION, site_at(45.0))
    left = [night for night in season.nights if night.date <= (season.last_useful or TONIGHT)]
    useful = [night.dark_hours_h for night in left if night.dark_hours_h >= 1.0]
    assert season.nights_left == len(useful)
    assert season.hours_left_h == pytest.approx(sum(useful), abs=1e-3)
    assert season.sentence.startswith(f"{len(useful)} nights left; in ")
    under = next(number for number, night in enumerate(season.nights) if night.dark_hours_h < 3.0)
    assert f"in {under} nights it drops under 3 h a night." in season.sentence


def test_a_season_to_come() -> None:
    """Out of season the next one is told, with all its nights left."""
    date = dt.date(2027, 5, 1)
    season = season_of(ORION, site_at(45.0), date)
    assert season.first_useful is not None
    assert season.first_useful > date
    days = (season.first_useful - date).days
    assert season.sentence.startswith(f"Its season begins on {words.day(season.first_useful)}, in {days} nights")
    assert season.nights_left == sum(
        night.dark_hours_h >= 1.0 for night in season.nights if night.date <= (season.last_useful or date)
    )
    assert season.best_nights[0] >= season.first_useful


def test_seasons_in_both_hemispheres() -> None:
    """Scorpius is a target of the southern winter, Andromeda of the northern autumn, on the same date."""
    date = dt.date(2027, 6, 15)
    south, north = season_of(SCORPIUS, site_at(-33.0), date), season_of(ANDROMEDA, site_at(50.0), date)
    assert south.first_useful is not None
    assert north.first_useful is not None
    assert south.first_useful < date < north.first_useful


def test_useful_all_the_year_round() -> None:
    """At 35° north a star by the pole, always over a floor of 20°, has no season's ends."""
    season = season_of(POLE, site_at(35.0, 20.0))
    assert season.all_year
    assert (season.first_useful, season.last_useful) == (None, None)
    assert season.nights_left == 365
    assert season.sentence.startswith("Useful all the year round; longest about ")


def test_never_rises() -> None:
    """An object that culminates below the horizon never rises, and the sentence says by how much."""
    season = season_of(TRIANGULUM_AUSTRALE, site_at(50.0))
    assert season.verdict == "never_rises"
    assert "below the horizon" in season.sentence
    assert (season.nights_left, season.hours_left_h, season.best_nights) == (0, 0.0, ())
    assert all(night.max_altitude_deg is None and not night.windows for night in season.nights)


def test_never_high_enough() -> None:
    """An object under the floor and one behind the skyline never get high enough, each with its reason."""
    low = season_of(SCORPIUS, site_at(50.0))
    assert low.verdict == "never_high_enough"
    assert "under the floor of 30°" in low.sentence
    wall = horizon_from_points([100.0, 110.0, 250.0, 260.0], [0.0, 60.0, 60.0, 0.0])
    hidden = season_of(ORION, site_at(45.0, 30.0, wall))
    assert hidden.verdict == "never_high_enough"
    assert "skyline hides it" in hidden.sentence


def test_never_dark() -> None:
    """At 66° north nothing that is up in the bright summer nights only is ever up in the dark."""
    window_in_june = horizon_from_points([0.0, 170.0, 170.1, 190.0, 190.1], [80.0, 80.0, 5.0, 5.0, 80.0])
    season = season_of(Target("summer", 265.0, 0.0), site_at(66.0, 5.0, window_in_june))
    assert season.verdict == "never_dark"
    assert season.nights_left == 0


def test_too_short() -> None:
    """Nights that are all under the threshold are too short, and the longest is told."""
    season = season_of(ORION, site_at(54.0), min_useful_h=4.5)
    assert season.verdict == "too_short"
    assert season.sentence.startswith("At most ")
    assert season.sentence.endswith("a night counts from 4.5 h on.")
    longest = max(season.nights, key=lambda night: night.dark_hours_h)
    assert words.day(longest.date) in season.sentence


def test_a_short_gap_does_not_end_a_season() -> None:
    """With a threshold that midsummer just misses, two runs a week or less apart are one season."""
    site = site_at(35.0, 20.0)
    hours = usable_hours_h(site, POLE.ra_deg, POLE.dec_deg, dt.date(2027, 4, 1), 180)[0]
    threshold = float(np.sort(hours)[3]) + 1e-6
    assert season_of(POLE, site, min_useful_h=threshold).all_year
    wide = float(np.sort(hours)[20]) + 1e-6
    assert not season_of(POLE, site, min_useful_h=wide).all_year


def test_best_nights_are_moonless() -> None:
    """The best nights have the most hours without the Moon, best first, and are useful nights of the season."""
    season = season_of(ANDROMEDA, site_at(50.0), dt.date(2026, 9, 1))
    by_date = {night.date: night for night in season.nights}
    best = [by_date[date] for date in season.best_nights]
    assert len(best) == 5
    assert all(one.moonless_hours_h >= other.moonless_hours_h for one, other in pairwise(best))
    assert best[0].moonless_hours_h == max(
        night.moonless_hours_h for night in season.nights if night.date <= (season.last_useful or TONIGHT)
    )


def test_nights_carry_the_table() -> None:
    """Each night has the windows, hours and altitudes of the table of windows."""
    site = site_at(50.0)
    season = target_seasons(site, [ANDROMEDA, ORION], TONIGHT, 40)[1]
    table = target_windows(site, [ORION.ra_deg], [ORION.dec_deg], TONIGHT, 40)
    assert [night.date for night in season.nights] == list(table.dates)
    for number, night in enumerate(season.nights):
        spans = np.array([(one.start_mjd, one.end_mjd) for one in night.windows]).reshape(-1, 2)
        assert np.array_equal(spans, table.windows(0, number))
        assert night.dark_hours_h == pytest.approx(night.hours_east_h + night.hours_west_h, abs=1e-5)
        assert night.moon_up_h == table.moon_up_h[number]


@pytest.mark.parametrize(
    ("hours_h", "left", "sentence"),
    [
        ([1.2], 1, "1 night left, tonight, with 1.2 h."),
        ([0.5, 1.1], 1, "1 night left, on 11 January 2027, with 1.1 h."),
        ([1.9, 1.7, 1.5], 3, "3 nights left, the longest with 1.9 h."),
        ([2.4, 2.2, 1.9, 1.4], 4, "4 nights left; in 2 nights it drops under 2 h a night."),
        ([3.2, 2.9, 2.5], 3, "3 nights left; from tomorrow on it has under 3 h a night."),
        ([5.0, 4.5, 4.0], 3, "3 nights left; the last still has 4 h."),
        (
            [2.0] + [4.0] * 20 + [2.5],
            22,
            "22 nights left; in 21 nights it drops under 3 h a night.",
        ),
        (
            [2.0] * 14 + [4.0, 2.5],
            16,
            "16 nights left; longest about 24 January 2027, 4 h a night; in 15 nights it drops under 3 h a night.",
        ),
    ],
)
def test_sentences_in_season(hours_h: list[float], left: int, sentence: str) -> None:
    """The sentence fits what is left: one night, few short ones, a drop to come, an abrupt end, a gain first."""
    assert words.in_season_words(TONIGHT, left, np.array(hours_h), 1.0) == sentence


def test_rounding_promises_no_useful_night() -> None:
    """A longest night of 0.97 h under a threshold of 1 h is not told as 1 h."""
    assert words.too_short_words(TONIGHT, np.array([0.97]), 1.0).startswith("At most 0.9 h a night")


@pytest.mark.parametrize("wishes", [{"min_useful_h": 0.0}, {"min_useful_h": float("nan")}, {"count": 0}])
def test_a_season_of_nothing_is_refused(wishes: dict[str, float]) -> None:
    """No nights, or a threshold that every night passes, is refused."""
    with pytest.raises(BadInput, match="makes no sense"):
        season_of(ORION, site_at(50.0), **wishes)
