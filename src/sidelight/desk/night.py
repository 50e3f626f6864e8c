"""Tonight: what to shoot from when to when, when the mount flips, which star to guide on before and after."""

import datetime as dt
from collections.abc import Sequence

import numpy as np

from sidelight.campaign.tonight import Candidate, NightRules, Stretch, plan_night
from sidelight.desk.beside import cut_off
from sidelight.desk.cautions import night_cautions
from sidelight.desk.clock import utc, zone_label
from sidelight.desk.guide_words import guide_picture_words
from sidelight.desk.night_curves import night_curves
from sidelight.desk.night_records import (
    EventReport,
    GuideReport,
    NightReport,
    StretchReport,
    TargetNightReport,
    WindowReport,
)
from sidelight.desk.night_words import night_notes, night_sentence
from sidelight.desk.night_worth import PlanWorth, plan_worth
from sidelight.desk.setup import SetupReport
from sidelight.desk.worth import Worth, worth_tonight
from sidelight.ground import spans
from sidelight.ground.types import FloatArray
from sidelight.notebook.read import Notebook
from sidelight.rig.guider import usable_rectangle
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.season.night import TargetTonight, targets_tonight
from sidelight.setup.records import GuidePlace, Side
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.events import events_between
from sidelight.targets.records import Target


def night_report(notebook: Notebook, date: dt.date, setup: SetupReport) -> NightReport:
    """Plan one night with the given set-up; a night that never gets dark is an outcome, not an error."""
    site = notebook.site
    darkness = year_of_darkness(site, date, 1)
    night, dark = darkness.nights[0], darkness.dusk_dawn(0)
    flip = flip_hour_angle_deg(notebook.rig.mount)
    pointed = [_pointed(target, setup) for target in notebook.targets]
    tonight = targets_tonight(site, [p[0] for p in pointed], [p[1] for p in pointed], date, flip)
    worth = worth_tonight(notebook, date)
    guider, usable = notebook.rig.guider, _usable_px(notebook)
    run = _plan(notebook, tonight, worth, setup)
    planned = plan_worth(notebook, run)
    targets = tuple(
        _target_report(target, seen, worth[target.key], setup, place)
        for target, seen, place in zip(notebook.targets, tonight, pointed, strict=True)
    )
    return NightReport(
        date=date,
        site=site.name,
        time_zone=site.time_zone,
        zone=zone_label(site, utc(night.start_mjd + 0.5)),
        darkness=dark.kind,
        dusk_utc=None if dark.dusk_mjd is None else utc(dark.dusk_mjd),
        dawn_utc=None if dark.dawn_mjd is None else utc(dark.dawn_mjd),
        dark_hours=float(darkness.dark_h[0]),
        moon_illuminated_fraction=float(darkness.moon_illuminated_fraction[0]),
        moon_waxing=bool(darkness.moon_waxing[0]),
        moon_up_hours=float(darkness.moon_up_dark_h[0]),
        events=tuple(EventReport(e.kind, utc(e.mjd)) for e in events_between(site, night.start_mjd, night.end_mjd)),
        plan=tuple(_stretch_report(one, n, tonight, notebook, planned) for n, one in enumerate(run)),
        targets=targets,
        effective_hours=planned.total_h,
        moon_takes_share=planned.moon_takes_share,
        set_up=setup.goes_by,
        sentence=night_sentence(darkness, run, tonight, planned),
        notes=night_notes(setup, run, targets, worth),
        cautions=night_cautions(notebook.rig),
        floor_deg=site.floor_deg,
        twilight_deg=site.twilight_deg,
        guide_width_px=guider.sensor.width_px if guider else None,
        guide_height_px=guider.sensor.height_px if guider else None,
        guide_usable_width_px=usable[0],
        guide_usable_height_px=usable[1],
        guide_picture=guide_picture_words(notebook.rig),
        curves=night_curves(notebook, night, pointed, tonight, run),
    )


def _pointed(target: Target, setup: SetupReport) -> tuple[float, float]:
    """Return where the telescope points for a target in this set-up, ICRS degrees."""
    for place in setup.of(target.key).targets:
        if place.target == target.key:
            return place.pointing_ra_deg, place.pointing_dec_deg
    return target.ra_deg, target.dec_deg


def _plan(
    notebook: Notebook, tonight: Sequence[TargetTonight], worth: dict[str, Worth], setup: SetupReport
) -> tuple[Stretch, ...]:
    """Return the night's run over the spans in which each target has its guide star in this set-up."""
    rules = notebook.campaign.rules
    candidates = []
    for target, seen in zip(notebook.targets, tonight, strict=True):
        value = worth[target.key]
        windows = _guided_windows(target.key, seen, setup, notebook)
        candidates.append(
            Candidate(target.key, windows, value.value_per_h, value.times_mjd, value.weights, value.most_h)
        )
    return plan_night(candidates, NightRules(rules.overhead_h, rules.shortest_stay_h))


def _guided_windows(key: str, seen: TargetTonight, setup: SetupReport, notebook: Notebook) -> FloatArray:
    """Return the windows less the side on which the set-up has no guide star for the target.

    None are left for a target that the set-up does not know, or was not made for and cuts off.
    """
    if setup.best is None:
        return seen.windows
    if cut_off(setup, key):
        return spans.EMPTY.copy()
    if notebook.rig.guider is None:
        return seen.windows
    rings = [ring for ring in setup.of(key).rings if ring.target == key]
    dark = {ring.side for ring in rings if ring.star is None}
    if not rings or "any" in dark or not dark:
        return seen.windows if rings and not dark else spans.EMPTY.copy()
    kept = seen.windows
    for side in dark:
        kept = spans.intersect(kept, seen.west_spans if side == "east" else seen.east_spans)
    return kept


def _target_report(
    target: Target, seen: TargetTonight, worth: Worth, setup: SetupReport, pointing: tuple[float, float]
) -> TargetNightReport:
    """Return one target's night."""
    own = setup.of(target.key)
    place = next((one for one in own.targets if one.target == target.key), None)
    camera = place.camera_angle_deg if place else None
    return TargetNightReport(
        target=target.key,
        windows=tuple(WindowReport(utc(a), utc(b)) for a, b in seen.windows),
        dark_hours=seen.dark_hours_h,
        hours_east=seen.hours_east_h,
        hours_west=seen.hours_west_h,
        max_altitude_deg=seen.max_altitude_deg,
        min_altitude_deg=seen.min_altitude_deg,
        transit_utc=utc(seen.transit_mjd),
        flip_utc=_flip_inside(seen),
        urgency=worth.urgency,
        worth_by=worth.basis,
        reason=seen.reason,
        guides=tuple(_guide(one) for one in (own.best.places if own.best else ()) if one.target == target.key),
        camera_angle_deg=camera if camera is not None else setup.camera_angle_deg,
        pointing_ra_deg=pointing[0],
        pointing_dec_deg=pointing[1],
    )


def _flip_inside(seen: TargetTonight) -> dt.datetime | None:
    """Return the flip when it falls into a window."""
    if seen.flip_mjd is None or not spans.contains(seen.windows, seen.flip_mjd):
        return None
    return utc(seen.flip_mjd)


def _guide(place: GuidePlace) -> GuideReport:
    """Return a side's guide star."""
    return GuideReport(place.side, place.star, place.place_on_sensor_px, place.slack_deg)


def _stretch_report(
    one: Stretch, number: int, tonight: Sequence[TargetTonight], notebook: Notebook, worth: PlanWorth
) -> StretchReport:
    """Return a planned stretch with the sides it runs through and what it is worth."""
    seen = next(s for target, s in zip(notebook.targets, tonight, strict=True) if target.key == one.key)
    span = np.array([[one.start_mjd, one.end_mjd]])
    sides: tuple[Side, ...] = ("any",)
    if notebook.rig.mount.flips:
        parts: tuple[tuple[Side, FloatArray], ...] = (("east", seen.east_spans), ("west", seen.west_spans))
        sides = tuple(side for side, part in parts if spans.total(spans.intersect(part, span)) > 1e-6)
    flip = seen.flip_mjd
    inside = flip is not None and one.start_mjd < flip < one.end_mjd
    return StretchReport(
        one.key,
        utc(one.start_mjd),
        utc(one.end_mjd),
        one.length_h,
        sides,
        utc(flip) if inside and flip else None,
        worth.effective_h[number],
        worth.filters[number],
    )


def _usable_px(notebook: Notebook) -> tuple[float | None, float | None]:
    """Return the usable part of the guide sensor, its width and height in pixels."""
    guider = notebook.rig.guider
    if guider is None:
        return None, None
    usable = usable_rectangle(notebook.rig)
    along, across = (2000.0 * half / guider.sensor.pixel_um for half in (usable.half_along_mm, usable.half_across_mm))
    return (along, across) if guider.long_side == "along" else (across, along)
