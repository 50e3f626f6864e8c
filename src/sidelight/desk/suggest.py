"""What else could be photographed: with the set-up as it stands, or with any in the coming months."""

import datetime as dt
from collections.abc import Sequence

import numpy as np

from sidelight.campaign.suggest import fits_frame, hours_in, rank
from sidelight.desk.campaign_season import CampaignSeason, campaign_season
from sidelight.desk.kept import setup_in_use
from sidelight.desk.light import first_broad
from sidelight.desk.setup import SetupReport
from sidelight.desk.suggest_guides import LEAST_HOURS, served
from sidelight.desk.suggest_records import FreeSky, SuggestionReport, SuggestReport
from sidelight.ground import spans
from sidelight.ground.angles import separation_deg
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import BoolArray, FloatArray
from sidelight.light import exposure as ex
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.rig.optics import field_deg
from sidelight.season.windows import target_windows
from sidelight.setup.records import GuideStar, Side
from sidelight.targets.catalogue import ObjectTable, entries, objects

NIGHTS_WITH_SET_UP = 14
NIGHTS_FRESH = 90
ROTATOR_STEP_DEG = 5.0
SAME_PLACE_DEG = 0.05
CLUSTERS = ("OCl", "GCl", "*Ass")
"""Kinds of the catalogue whose light is that of single stars."""
CLUSTERS_NAMED = 10
KIND_WORDS = {
    "G": ("Galaxy",),
    "GPair": ("Galaxies",),
    "PN": ("Nebula",),
    "HII": ("Nebula",),
    "EmN": ("Nebula",),
    "Neb": ("Nebula",),
    "RfN": ("Nebula",),
    "Cl+N": ("Nebula",),
    "SNR": ("Nebula",),
}
"""What people call an object of each kind."""
FORMULA = (
    "Bright for your hours, and large in your frame: score = S / (S + wanted) × a / (a + frame / 3), S the "
    "signal-to-noise on a square arcsecond in the free hours, a the longest axis, frame the shorter side"
)
"""How suggestions are ranked, as a person reads it; `sidelight.campaign.suggest.rank` reckons it."""


def suggest_report(
    notebook: Notebook,
    date: dt.date,
    nights: int | None = None,
    count: int = 20,
    fresh: bool = False,
    any_hour: bool = False,
) -> SuggestReport:
    """Rank the whole catalogue for the free hours from a date on.

    With the set-up in use (else the best for the notebook's targets) only what it frames and guides counts, in the
    hours in which no target that still wants hours is up; where there is none of those, or with any_hour, every dark
    hour counts. A fresh start asks for neither angles nor guide stars, and takes every dark hour. Raises BadInput for
    a count below 1.
    """
    if count < 1:
        raise BadInput(Problem(f"{count} suggestions cannot be given.", key="count", expected="1 or more"))
    setup = None if fresh or not notebook.targets else setup_in_use(notebook, date)
    if setup is not None and setup.best is None:
        setup = None
    span = nights or (NIGHTS_FRESH if setup is None else NIGHTS_WITH_SET_UP)
    season = campaign_season(notebook, date, span)
    free = _free_spans(season, with_targets=setup is None or any_hour)
    crowded = not len(free) and setup is not None and not any_hour
    if crowded:
        free = _free_spans(season, with_targets=True)
    sky = _sky(notebook, date, span, free)
    frame = _frame_arcmin(notebook)
    angles = _camera_angles(notebook, setup)
    fits = _fits(sky, frame, angles)
    snr = _signal_to_noise(notebook, sky)
    table = sky.table
    score = rank(snr * np.sqrt(sky.east_h + sky.west_h), table.major_arcmin, notebook.light.wanted_snr, min(frame))
    clusters = np.isin(table.kind, CLUSTERS)
    possible = fits.any(axis=1) & (sky.east_h + sky.west_h >= LEAST_HOURS) & ~_on_the_list(notebook, table)
    framed = possible & ~clusters
    order = [int(i) for i in np.argsort(-np.where(framed, np.nan_to_num(score), -1.0), kind="stable") if framed[i]]
    found = list(served(notebook, setup, sky, order, (fits, angles), count))
    suggestions = sorted(
        (_suggestion(notebook, sky, i, hours, stars, snr, min(frame)) for i, hours, stars in found),
        key=lambda one: -one.score,
    )[:count]
    best = setup.best if setup else None
    return SuggestReport(
        notebook=str(notebook.folder),
        site=notebook.site.name,
        mode="fresh" if setup is None else "set_up",
        first_date=date,
        nights_count=span,
        free_hours=float(spans.total(free) * 24.0),
        camera_angle_deg=best.camera_angle_deg if best else None,
        guider_angle_deg=best.guider_angle_deg if best else None,
        looked_at_count=len(table),
        up_count=int(np.sum(sky.east_h + sky.west_h >= LEAST_HOURS)),
        framed_count=int(framed.sum()),
        suggestions=tuple(suggestions),
        formula=FORMULA,
        sentence=_sentence(suggestions, spans.total(free) * 24.0, span, setup, crowded),
        notes=_notes(table, setup, possible & clusters),
    )


def _free_spans(season: CampaignSeason, with_targets: bool) -> FloatArray:
    """Return the usable dark spans; unless `with_targets` those in which no target that wants hours is up."""
    usable = spans.union(*season.usable_spans) if season.usable_spans else spans.EMPTY
    if with_targets or not len(usable):
        return usable
    busy = spans.intersect(usable, _taken(season))
    return spans.union(*[spans.complement(busy, float(a), float(b)) for a, b in usable])


def _taken(season: CampaignSeason) -> FloatArray:
    """Return the spans in which some job that still wants hours is open."""
    slots = season.slots
    if not season.jobs:
        return spans.EMPTY
    wanting = np.array([job.remaining_h > 0 for job in season.jobs], dtype=bool)
    open_ = (slots.open_h[wanting] > 0).any(axis=0)
    rows = np.column_stack([slots.start_mjd, slots.start_mjd + slots.length_h / 24.0])[open_]
    return spans.union(rows)


def _sky(notebook: Notebook, date: dt.date, nights: int, free: FloatArray) -> FreeSky:
    """Return the catalogue with each object's free hours by side."""
    table = objects()
    flip = flip_hour_angle_deg(notebook.rig.mount)
    season = target_windows(notebook.site, table.ra_deg, table.dec_deg, date, nights, flip)
    east, west = hours_in(season, notebook.site, table.ra_deg, table.dec_deg, free, flip or 0.0)
    return FreeSky(date, table, east, west, np.asarray(season.max_altitude_deg.max(axis=1), dtype=np.float64))


def _frame_arcmin(notebook: Notebook) -> tuple[float, float]:
    """Return the frame's width and height less the border, arcminutes."""
    focal = notebook.rig.telescope.effective_focal_length_mm
    border = 2.0 * notebook.rig.tolerances.frame_border_arcmin
    camera = notebook.rig.camera
    return (
        float(field_deg(focal, camera.width_mm)) * 60.0 - border,
        float(field_deg(focal, camera.height_mm)) * 60.0 - border,
    )


def _camera_angles(notebook: Notebook, setup: SetupReport | None) -> FloatArray:
    """Return the camera angles that may be used: the set-up's, or all of them."""
    if setup is not None and setup.best is not None and setup.best.camera_angle_deg is not None:
        return np.array([setup.best.camera_angle_deg])
    return np.arange(0.0, 360.0 if notebook.rig.guider else 180.0, ROTATOR_STEP_DEG)


def _fits(sky: FreeSky, frame: tuple[float, float], angles: FloatArray) -> BoolArray:
    """Return whether each object fits at each camera angle, shape (n, k); one without a size does not count."""
    table = sky.table
    columns = (table.major_arcmin[:, None], table.minor_arcmin[:, None], table.position_angle_deg[:, None])
    return fits_frame(*columns, angles[None, :], frame)


def _signal_to_noise(notebook: Notebook, sky: FreeSky) -> FloatArray:
    """Return the signal-to-noise that an hour gives each object on a square arcsecond; it grows with the root."""
    one = first_broad(notebook)
    given = ex.rates(notebook.rig, notebook.light.sky, one, notebook.site.elevation_m)
    exposure_s = ex.sub_exposure(notebook.rig, one, given, notebook.light.exposure).chosen_s
    light = ex.object_rate_e_per_s(notebook.rig, one, sky.table.surface_brightness_mag_arcsec2)
    noise = light + given.sky_e_per_s + given.dark_e_per_s + given.read_noise_e**2 / exposure_s
    return np.asarray(light * np.sqrt(3600.0 / noise) / ex.camera_scale_arcsec_per_px(notebook.rig))


def _on_the_list(notebook: Notebook, table: ObjectTable) -> BoolArray:
    """Return which objects are targets already, by their places."""
    on = np.zeros(len(table), dtype=bool)
    for target in notebook.targets:
        on |= separation_deg(target.ra_deg, target.dec_deg, table.ra_deg, table.dec_deg) < SAME_PLACE_DEG
    return on


def _suggestion(
    notebook: Notebook,
    sky: FreeSky,
    i: int,
    hours: tuple[float, float],
    stars: tuple[tuple[Side, GuideStar], ...],
    snr: FloatArray,
    frame_short_arcmin: float,
) -> SuggestionReport:
    """Return one object's report."""
    table = sky.table
    total = sum(hours)
    reached = float(snr[i] * np.sqrt(total))
    minor = float(table.minor_arcmin[i])
    score = rank(reached, table.major_arcmin[i], notebook.light.wanted_snr, frame_short_arcmin)
    return SuggestionReport(
        name=table.messier[i] or table.name[i],
        catalogue_name=table.name[i],
        common_name=fitting_name(table.kind[i], table.common_names[i]),
        messier=table.messier[i],
        kind=entries().kinds.get(table.kind[i], "Object"),
        ra_deg=float(table.ra_deg[i]),
        dec_deg=float(table.dec_deg[i]),
        major_arcmin=float(table.major_arcmin[i]),
        minor_arcmin=None if np.isnan(minor) else minor,
        surface_brightness_mag_arcsec2=float(table.surface_brightness_mag_arcsec2[i]),
        hours=total,
        hours_east=hours[0],
        hours_west=hours[1],
        max_altitude_deg=float(sky.highest_deg[i]),
        snr_per_arcsec2=reached,
        score=float(score),
        guide_stars=stars,
    )


def _sentence(
    found: list[SuggestionReport], free_h: float, nights: int, setup: SetupReport | None, crowded: bool
) -> str:
    """Say the outcome in a sentence; crowded: the person's targets are up in every hour, so all hours count."""
    where = "with the set-up as it stands" if setup else "for a fresh start"
    if free_h <= 0:
        return (
            f"None of the {nights} nights has a dark hour that you can use: look from a later date, or at the nights "
            "and bedtime in campaign.toml."
        )
    hours = f"{free_h:.0f} {'dark' if crowded else 'free'} hours"
    why = "Targets of yours are up in every dark hour, so none is free and all count. " if crowded else ""
    if not found:
        return f"{why}Nothing of known size and brightness fits {where} in the {hours}."
    return f"{why}{hours} in {nights} nights; {len(found)} objects {where}, best first."


def _notes(table: ObjectTable, setup: SetupReport | None, clusters: BoolArray) -> tuple[str, ...]:
    """Say what was left out; clusters : which star clusters are up and framed."""
    ranked = ~np.isin(table.kind, CLUSTERS)
    unknown = int(np.sum(ranked & (np.isnan(table.major_arcmin) | np.isnan(table.surface_brightness_mag_arcsec2))))
    notes = [f"{unknown} objects are left out because size or surface brightness is not known."]
    # the well-known ones first, the bright ones among them first
    bright = np.nan_to_num(table.v_mag, nan=99.0)
    known = sorted(np.flatnonzero(clusters), key=lambda i: (not table.messier[i], bright[i]))
    names = [table.messier[i] or table.name[i] for i in known[:CLUSTERS_NAMED]]
    up = f" Up and in the frame: {', '.join(names)}." if names else ""
    notes.append(f"Star clusters are not ranked: surface brightness says nothing of a crowd of stars.{up}")
    if setup is None:
        notes.append("Guide stars are not asked for: with the objects you choose, sidelight setup finds the angles.")
    return tuple(notes)


def fitting_name(kind: str, names: Sequence[str]) -> str | None:
    """Return the common name that says what the object is, else the first that does not say otherwise, else None.

    kind : the catalogue's. A list of names may begin with that of something larger, as NGC 253's does.
    """
    own = [name for name in names if any(word in name for word in KIND_WORDS.get(kind, ()))]
    other = {word for words in KIND_WORDS.values() for word in words} | {"Filament", "Group", "Cloud"}
    neutral = [name for name in names if not any(word in name for word in other)]
    return next(iter((*own, *neutral, *names)), None)
