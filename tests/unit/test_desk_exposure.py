"""Exposures at the desk: what is asked, what the catalogue knows, figures that agree with each other."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from sidelight.cli.exposure import exposure_text
from sidelight.desk.exposure import exposure_report
from sidelight.desk.exposure_records import ExposureQuestion
from sidelight.ground.errors import BadInput
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import Goal, LightSettings

DATE = dt.date(2027, 3, 6)


def test_hours_and_signal_to_noise_are_each_other_s_inverse(book: Notebook) -> None:
    """The hours that reach a signal-to-noise, asked about, reach it; per pixel and per square arcsecond."""
    first = exposure_report(book, ExposureQuestion(DATE, "M 81", ("L", "Ha"), wanted_snr=7.0))
    for one in first.filters:
        assert one.hours_for_snr_per_arcsec2 is not None
        question = ExposureQuestion(DATE, "M 81", (one.filter,), hours_h=one.hours_for_snr_per_arcsec2)
        (again,) = exposure_report(book, question).filters
        assert again.snr_per_arcsec2 == pytest.approx(7.0)
        assert again.snr_per_pixel == pytest.approx(7.0 * first.pixel_scale_arcsec)


def test_brightness_from_the_catalogue_or_the_person(book: Notebook) -> None:
    """A target's own brightness is used until a figure is given; without either, signal-to-noise is left out."""
    target = next(one for one in book.targets if one.key == "M 81")
    by_catalogue = exposure_report(book, ExposureQuestion(DATE, "M 81"))
    assert by_catalogue.brightness_mag_arcsec2 == target.surface_brightness_mag_arcsec2
    own = exposure_report(book, ExposureQuestion(DATE, "M 81", brightness_mag_arcsec2=25.0))
    assert (own.brightness_mag_arcsec2, own.brightness_source) == (25.0, "your own figure")
    assert (own.filters[0].snr_per_pixel or 0.0) < (by_catalogue.filters[0].snr_per_pixel or 0.0)
    bare = exposure_report(book, ExposureQuestion(DATE))
    assert bare.filters[0].snr_per_pixel is None
    assert bare.curves.snr_per_arcsec2 is None
    assert "For signal-to-noise give a target or --brightness." in exposure_text(bare)
    unknown = replace(book, targets=(replace(target, surface_brightness_mag_arcsec2=None),))
    report = exposure_report(unknown, ExposureQuestion(DATE, "M 81"))
    assert any("is not known" in note for note in report.notes)


def test_number_total_and_night_follow_from_the_exposure(book: Notebook) -> None:
    """Frames hold the hours asked; the night's frames and overhead fill its usable hours; effective ones are less."""
    report = exposure_report(book, ExposureQuestion(DATE, "M 81", hours_h=10.0))
    for one in report.filters:
        assert one.open_hours >= 10.0 > one.open_hours - one.chosen_s / 3600.0
        assert one.clock_hours > one.open_hours
        night = one.night
        assert night.open_hours == pytest.approx(night.frames_count * one.chosen_s / 3600.0)
        assert 0.0 <= night.clock_hours * (1.0 - night.overhead_share) - night.open_hours < one.chosen_s / 3600.0
        assert night.storage_gb == pytest.approx(night.frames_count * report.frame_mb / 1000.0)
        assert night.effective_hours is not None
        assert 0.0 < night.effective_hours < night.open_hours


def test_the_sub_exposure_is_where_read_noise_adds_its_share(book: Notebook) -> None:
    """At the sky-limited exposure read noise lifts the noise of sky and dark current by the share, 8 %."""
    report = exposure_report(book, ExposureQuestion(DATE, read_noise_share_percent=8.0))
    for one in report.filters:
        background = (one.sky_e_per_s + one.dark_e_per_s) * one.sky_limited_s
        assert np.sqrt((background + report.read_noise_e**2) / background) == pytest.approx(1.08)


def test_a_star_bounds_the_exposure(book: Notebook) -> None:
    """A star that must not burn out shortens the exposure and the sentence says so."""
    free = exposure_report(book, ExposureQuestion(DATE, filters=("L",))).filters[0]
    held = exposure_report(book, ExposureQuestion(DATE, filters=("L",), star_mag=10.0)).filters[0]
    assert free.saturates_s is None
    assert held.saturates_s is not None
    assert held.chosen_s <= held.saturates_s
    assert (held.outcome, free.outcome) == ("held_by_star", "sky_limited")
    assert "saturating" in held.sentence


def test_a_goal_gives_filters_and_hours(book: Notebook) -> None:
    """Without a filter named, a target's goal says which ones and for how long."""
    goal = Goal("M 81", filters_h=(("Ha", 12.0), ("L", 5.0)))
    asked = replace(book, campaign=replace(book.campaign, goals=(goal,)))
    report = exposure_report(asked, ExposureQuestion(DATE, "M 81"))
    assert [(one.filter, one.effective_hours) for one in report.filters] == [("Ha", 12.0), ("L", 5.0)]


def test_everything_wrong_is_said_at_once(book: Notebook) -> None:
    """Unknown target and filter (with the near miss) and impossible figures are refused together."""
    question = ExposureQuestion(
        DATE,
        "M 82",
        ("OII",),
        hours_h=float("nan"),
        brightness_mag_arcsec2=-5.0,
        wanted_snr=0.0,
        read_noise_share_percent=0.0,
        star_mag=99.0,
    )
    with pytest.raises(BadInput) as refusal:
        exposure_report(book, question)
    told = "\n".join(str(problem) for problem in refusal.value.problems)
    assert len(refusal.value.problems) == 7
    for words in ("M 82", 'Did you mean "OIII"', "--hours", "--brightness", "--snr", "--share", "--star"):
        assert words in told


def test_hours_counted_for_each_filter_alone_are_said_to_be(book: Notebook) -> None:
    """Without goals by filter the same hours stand at each, and a note says so; with them it does not."""
    said = "through each filter, were it alone"
    assert any(said in note for note in exposure_report(book, ExposureQuestion(DATE, "M 81", ("L", "Ha"))).notes)
    assert not any(said in note for note in exposure_report(book, ExposureQuestion(DATE, "M 81", ("L",))).notes)
    goal = Goal("M 81", filters_h=(("L", 12.0), ("Ha", 8.0)))
    split = replace(book, campaign=replace(book.campaign, goals=(goal,)))
    report = exposure_report(split, ExposureQuestion(DATE, "M 81"))
    assert [one.effective_hours for one in report.filters] == [12.0, 8.0]
    assert not any(said in note for note in report.notes)


def test_a_tenth_of_the_signal_to_noise_where_it_is_two_and_a_half_magnitudes_fainter(book: Notebook) -> None:
    """Where sky sets the noise the note's tenth holds, and the default wish leaves a signal-to-noise of 3 there."""
    bright, faint = (
        exposure_report(book, ExposureQuestion(DATE, "M 81", ("L",), brightness_mag_arcsec2=mag)).filters[0]
        for mag in (23.5, 26.0)
    )
    assert bright.snr_per_arcsec2 is not None
    assert faint.snr_per_arcsec2 is not None
    assert faint.snr_per_arcsec2 / bright.snr_per_arcsec2 == pytest.approx(0.1, rel=0.1)
    assert LightSettings.__dataclass_fields__["wanted_snr"].default == 30.0
