"""How long to expose: single exposures, number and total, signal-to-noise, storage and overhead, filter by filter."""

import datetime as dt
import math
from dataclasses import replace

import numpy as np

from sidelight.desk.chosen import chosen_targets
from sidelight.desk.exposure_records import (
    ExposureCurves,
    ExposureQuestion,
    ExposureReport,
    FilterExposureReport,
    NightReport,
)
from sidelight.desk.light import FilterHours, filter_hours, filter_of, filters_of
from sidelight.ground.errors import BadInput, Problem
from sidelight.light import exposure as ex
from sidelight.light.filters import Filter, sky_mag_in_band
from sidelight.notebook.read import Notebook
from sidelight.rig.photometry import read_noise_share
from sidelight.season.windows import SeasonTable, target_windows
from sidelight.targets.records import Target

DEFAULT_HOURS = 20.0
CURVE_POINTS = 81
MOST_SHARE = 0.3


def exposure_report(notebook: Notebook, question: ExposureQuestion) -> ExposureReport:
    """Return exposures filter by filter.

    Raises BadInput, every problem at once, for an unknown target or filter and for figures that cannot be.
    """
    target, asked = _checked(notebook, question)
    brightness, source = _brightness(question, target)
    wish = _wish(notebook, question)
    scale = ex.camera_scale_arcsec_per_px(notebook.rig)
    snr = question.wanted_snr or notebook.light.wanted_snr
    hours, table = _tonight(notebook, target, asked, question.date)
    clock_h = float(table.dark_hours_h[0, 0] if target else table.dark_h[0])
    elevation, sky = notebook.site.elevation_m, notebook.light.sky
    given = [ex.rates(notebook.rig, sky, one, elevation, brightness) for one in asked]
    subs = [ex.sub_exposure(notebook.rig, one, rate, wish) for one, rate in zip(asked, given, strict=True)]
    wanted_h = [_hours(notebook, question, target, one) for one in asked]
    reports = []
    for n, one in enumerate(asked):
        effective = float(hours.effective_h[n, 0, 0]) if target else None
        load = _night(notebook, clock_h, effective, subs[n].chosen_s, wish)
        figures = _object_figures(given[n], subs[n].chosen_s, wanted_h[n], snr, scale) if brightness else (None,) * 4
        reports.append(_filter(notebook, one, given[n], subs[n], wanted_h[n], wish, figures, load))
    return ExposureReport(
        notebook=str(notebook.folder),
        site=notebook.site.name,
        date=question.date,
        target=target.key if target else None,
        brightness_mag_arcsec2=brightness,
        brightness_source=source,
        pixel_scale_arcsec=scale,
        sky_zenith_mag_arcsec2=sky.zenith_mag_arcsec2,
        sky_uncertainty_mag=sky.uncertainty_mag,
        sky_source=sky.source,
        seeing_arcsec=wish.seeing_arcsec,
        wanted_share_percent=100.0 * wish.read_noise_share,
        wanted_snr=snr,
        star_mag=wish.star_mag,
        read_noise_e=notebook.rig.camera.read_noise_e,
        frame_mb=ex.frame_mb(notebook.rig.camera),
        uncertainty=_uncertainty(notebook),
        filters=tuple(reports),
        notes=_notes(notebook, target, brightness, question, asked),
        curves=_curves(given, subs, max(wanted_h), scale if brightness else None),
    )


def _checked(notebook: Notebook, question: ExposureQuestion) -> tuple[Target | None, tuple[Filter, ...]]:
    """Return target and filters, or refuse with everything that is wrong."""
    problems = list(_out_of_range(question))
    target, asked = None, []
    if question.target is not None:
        try:
            target = chosen_targets(notebook, (question.target,))[0]
        except BadInput as error:
            problems += error.problems
    for name in question.filters:
        try:
            asked.append(filter_of(notebook, name))
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    if not asked and target is not None and notebook.campaign.goal_of(target.key).filters_h:
        asked = list(filters_of(notebook, target))
    return target, tuple(dict.fromkeys(asked)) or notebook.light.filters


def _out_of_range(question: ExposureQuestion) -> tuple[Problem, ...]:
    """Return a problem for each figure that cannot be."""
    values = {
        "hours": (question.hours_h, 0.01, 10000.0, "hours"),
        "brightness": (question.brightness_mag_arcsec2, 0.0, 35.0, "mag/arcsec²"),
        "snr": (question.wanted_snr, 0.01, 10000.0, "as a plain number"),
        "share": (question.read_noise_share_percent, 0.1, 100.0, "per cent"),
        "star": (question.star_mag, -2.0, 25.0, "mag"),
    }
    return tuple(
        Problem(f"{value:g} cannot be.", key=f"--{name}", expected=f"{low:g} to {high:g}, {unit}")
        for name, (value, low, high, unit) in values.items()
        if value is not None and not low <= value <= high
    )


def _brightness(question: ExposureQuestion, target: Target | None) -> tuple[float | None, str]:
    """Return the object's surface brightness and where it is from."""
    if question.brightness_mag_arcsec2 is not None:
        return question.brightness_mag_arcsec2, "your own figure"
    if target is not None and target.surface_brightness_mag_arcsec2 is not None:
        return target.surface_brightness_mag_arcsec2, "mean V over the object's ellipse, catalogue or targets.toml"
    return None, "not known"


def _wish(notebook: Notebook, question: ExposureQuestion) -> ex.ExposureWish:
    """Return the notebook's wishes with what the question replaces."""
    wish = notebook.light.exposure
    if question.read_noise_share_percent is not None:
        wish = replace(wish, read_noise_share=question.read_noise_share_percent / 100.0)
    return wish if question.star_mag is None else replace(wish, star_mag=question.star_mag)


def _hours(notebook: Notebook, question: ExposureQuestion, target: Target | None, one: Filter) -> float:
    """Return the effective hours asked about: the question's, the goal's in this filter, the target's, or 20."""
    if question.hours_h is not None:
        return question.hours_h
    if target is None:
        return DEFAULT_HOURS
    goal = {name.casefold(): h for name, h in notebook.campaign.goal_of(target.key).filters_h}
    return goal.get(one.name.casefold(), target.hours_wanted_h) or DEFAULT_HOURS


def _tonight(
    notebook: Notebook, target: Target | None, asked: tuple[Filter, ...], date: dt.date
) -> tuple[FilterHours, SeasonTable]:
    """Return the night's windows and what they are worth; without a target the night alone."""
    targets = [target] if target else []
    ra, dec = [one.ra_deg for one in targets], [one.dec_deg for one in targets]
    table = target_windows(notebook.site, ra, dec, date, 1)
    return filter_hours(notebook, targets, table, asked), table


def _night(
    notebook: Notebook, clock_h: float, effective_h: float | None, exposure_s: float, wish: ex.ExposureWish
) -> NightReport:
    """Return what the night comes to."""
    load = ex.night_load(notebook.rig.camera, clock_h, exposure_s, wish)
    worth = None if effective_h is None else (effective_h * load.open_h / clock_h if clock_h > 0 else 0.0)
    return NightReport(clock_h, load.frames_count, load.open_h, load.overhead_share, load.storage_mb / 1000.0, worth)


def _object_figures(
    given: ex.Rates, exposure_s: float, hours_h: float, snr: float, scale: float
) -> tuple[float, float, float, float]:
    """Return signal-to-noise per pixel and per square arcsecond after the hours, and hours for the wanted one."""
    return (
        float(ex.snr_per_pixel(given, hours_h, exposure_s)),
        float(ex.snr_per_arcsec2(given, hours_h, exposure_s, scale)),
        float(ex.hours_for_snr_h(given, snr, exposure_s)),
        float(ex.hours_for_snr_h(given, snr, exposure_s, scale)),
    )


def _filter(
    notebook: Notebook,
    one: Filter,
    given: ex.Rates,
    sub: ex.SubExposure,
    hours_h: float,
    wish: ex.ExposureWish,
    figures: tuple[float | None, ...],
    night: NightReport,
) -> FilterExposureReport:
    """Return one filter's report."""
    frames = math.ceil(hours_h * 3600.0 / sub.chosen_s - 1e-9)
    per_pixel, per_arcsec2, hours_pixel, hours_arcsec2 = figures
    return FilterExposureReport(
        filter=one.name,
        sky_mag_arcsec2=float(sky_mag_in_band(one, notebook.light.sky.zenith_mag_arcsec2)),
        sky_e_per_s=given.sky_e_per_s,
        dark_e_per_s=given.dark_e_per_s,
        object_e_per_s=given.object_e_per_s if per_pixel is not None else None,
        sky_limited_s=sub.sky_limited_s,
        saturates_s=sub.saturates_s,
        chosen_s=sub.chosen_s,
        read_noise_share=sub.read_noise_share,
        outcome=sub.outcome,
        sentence=sub.sentence,
        effective_hours=hours_h,
        frames_count=frames,
        open_hours=frames * sub.chosen_s / 3600.0,
        clock_hours=frames * ex.cycle_s(sub.chosen_s, wish) / 3600.0,
        storage_gb=frames * ex.frame_mb(notebook.rig.camera) / 1000.0,
        snr_per_pixel=per_pixel,
        snr_per_arcsec2=per_arcsec2,
        hours_for_snr_per_pixel=hours_pixel,
        hours_for_snr_per_arcsec2=hours_arcsec2,
        night=night,
    )


def _uncertainty(notebook: Notebook) -> str:
    """Say how good the figures are."""
    share = 100.0 * (10.0 ** (0.4 * notebook.light.sky.uncertainty_mag) - 1.0)
    return (
        f"Rates are good to some 20 %; the sky's own brightness is uncertain by {share:.0f} %, and with it the hours "
        "for a given signal-to-noise."
    )


def _notes(
    notebook: Notebook,
    target: Target | None,
    brightness: float | None,
    question: ExposureQuestion,
    asked: tuple[Filter, ...],
) -> tuple[str, ...]:
    """Return what the person should know."""
    notes = []
    if target is None and brightness is None:
        notes.append("For signal-to-noise give a target or --brightness.")
    elif brightness is None and target is not None:
        notes.append(f"The surface brightness of {target.key} is not known; give your own with --brightness.")
    elif question.brightness_mag_arcsec2 is None:
        notes.append(
            "Signal-to-noise is that of one square arcsecond at the object's mean surface brightness; where it is "
            "2.5 mag fainter, as in its outer parts, it is about a tenth of that."
        )
    shared = target is not None and bool(notebook.campaign.goal_of(target.key).filters_h)
    if len(asked) > 1 and not (shared and question.hours_h is None):
        notes.append(
            "The hours are those through each filter, were it alone; goals by filter (filters_h in campaign.toml) "
            "share them."
        )
    if brightness is not None and any(one.narrow for one in asked):
        notes.append("In a narrow filter a catalogue's V says little: give the brightness in that filter if known.")
    if not notebook.light.measured:
        notes.append("The sky's brightness is from a darkness class; measure it for better figures (light.toml).")
    return tuple(notes)


def _curves(given: list[ex.Rates], subs: list[ex.SubExposure], hours_h: float, scale: float | None) -> ExposureCurves:
    """Return the curves of every filter."""
    exposures = np.geomspace(1.0, 3600.0, 241)
    shares = np.stack(
        [np.asarray(read_noise_share(one.read_noise_e, one.background_e_per_s, exposures)) for one in given]
    )
    hours = np.linspace(0.0, 2.0 * hours_h, CURVE_POINTS)
    snr = None
    if scale is not None:
        pairs = zip(given, subs, strict=True)
        snr = np.stack([ex.snr_per_arcsec2(one, hours, sub.chosen_s, scale) for one, sub in pairs])
    return ExposureCurves(exposures, np.where(shares <= MOST_SHARE, shares, np.nan), hours, snr)
