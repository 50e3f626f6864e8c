"""One night's targets: windows, which side of the flip they fall on, transit and flip."""

import datetime as dt
from dataclasses import dataclass

import numpy as np

from sidelight.ground import spans
from sidelight.ground.angles import wrap_360
from sidelight.ground.types import FloatArray, Floats
from sidelight.season import words
from sidelight.season.stretches import SKY_TURN_DEG_PER_DAY
from sidelight.season.windows import target_windows
from sidelight.sky.altitude import apparent_place, hour_angle_deg
from sidelight.sky.crossings import hour_angle_arcs
from sidelight.sky.night import Night
from sidelight.sky.site import Site


@dataclass(frozen=True, eq=False)
class TargetTonight:
    """One target in one night; all spans have shape (k, 2) of MJD.

    windows : above skyline and floor in the dark; east_spans, west_spans : the whole night cut by the flip rule.
    dark_hours_h : the windows' length; hours_east_h, hours_west_h : of these.
    max_altitude_deg, min_altitude_deg : highest and lowest apparent altitude in the windows, None without a window.
    transit_mjd : upper transit. flip_mjd : when the mount flips on it, None for one that never flips. Of two in one
    night (a sidereal day is shorter) the one within the windows, else the one nearer to the night's middle.
    reason : a sentence that says what the night gives, or why nothing.
    """

    windows: FloatArray
    east_spans: FloatArray
    west_spans: FloatArray
    dark_hours_h: float
    hours_east_h: float
    hours_west_h: float
    max_altitude_deg: float | None
    min_altitude_deg: float | None
    transit_mjd: float
    flip_mjd: float | None
    reason: str


def targets_tonight(
    site: Site,
    targets_ra_deg: Floats,
    targets_dec_deg: Floats,
    date: dt.date,
    flip_hour_angle_deg: float | None = 0.0,
) -> tuple[TargetTonight, ...]:
    """Return the night of a date for each target (ICRS degrees, shape (n,)).

    Transit and flip are right to 0.035 s over the cosine of the declination, so to 0.1 s up to 70° (the aberration of
    the observer and of half a day is left out), with UT1 taken as UTC. Raises BadInput as `target_windows`.
    """
    table = target_windows(site, targets_ra_deg, targets_dec_deg, date, 1, flip_hour_angle_deg)
    night = table.darkness.nights[0]
    middle = (night.start_mjd + night.end_mjd) / 2.0
    ra, dec = apparent_place(np.atleast_1d(targets_ra_deg), np.atleast_1d(targets_dec_deg), middle)
    at_start = hour_angle_deg(ra, night.start_mjd, site)
    found = []
    for row, start_deg in enumerate(at_start.tolist()):
        windows = table.windows(row, 0)
        west = _west_spans(start_deg, table.flip_hour_angle_deg, night)
        transit = _chosen(_instants(start_deg, 0.0, night), windows, middle)
        flip = _chosen(_instants(start_deg, table.flip_hour_angle_deg, night), windows, middle)
        found.append(
            TargetTonight(
                windows=windows,
                east_spans=spans.complement(west, night.start_mjd, night.end_mjd),
                west_spans=west,
                dark_hours_h=float(table.dark_hours_h[row, 0]),
                hours_east_h=float(table.hours_east_h[row, 0]),
                hours_west_h=float(table.hours_west_h[row, 0]),
                max_altitude_deg=float(table.max_altitude_deg[row, 0]) if len(windows) else None,
                min_altitude_deg=float(table.min_altitude_deg[row, 0]) if len(windows) else None,
                transit_mjd=transit,
                flip_mjd=None if flip_hour_angle_deg is None else flip,
                reason=_reason(site, float(dec[row]), windows, float(table.dark_h[0])),
            )
        )
    return tuple(found)


def _instants(start_hour_angle_deg: float, hour_angle_deg: float, night: Night) -> FloatArray:
    """Return when a target reaches an hour angle in a night: once, or twice when the first is just after noon."""
    turned = float(wrap_360(hour_angle_deg - start_hour_angle_deg)) + np.array([0.0, 360.0])
    at = night.start_mjd + turned / SKY_TURN_DEG_PER_DAY
    return np.asarray(at[at < night.end_mjd])


def _chosen(instants: FloatArray, windows: FloatArray, middle_mjd: float) -> float:
    """Return the instant within the windows, else the one nearest to the night's middle."""
    outside = ~spans.contains(windows, instants)
    return float(instants[np.lexsort((np.abs(instants - middle_mjd), outside))[0]])


def _west_spans(start_hour_angle_deg: float, flip_deg: float, night: Night) -> FloatArray:
    """Return when a target counts as west: from the flip to lower transit."""
    to_flip = flip_deg - start_hour_angle_deg + np.array([-360.0, 0.0, 360.0])
    turned = np.column_stack([to_flip, to_flip + 180.0 - flip_deg])
    return spans.intersect(night.start_mjd + turned / SKY_TURN_DEG_PER_DAY, [[night.start_mjd, night.end_mjd]])


def _reason(site: Site, dec_deg: float, windows: FloatArray, dark_h: float) -> str:
    """Return what the night gives, or why nothing."""
    if len(windows):
        return f"{words.hours(spans.total(windows) * 24.0)} above your skyline and floor in the dark."
    if not len(hour_angle_arcs(dec_deg, site).start_deg):
        return words.out_of_reach(site, dec_deg)
    if dark_h == 0:
        return "It does not get dark."
    return "It is above your skyline and floor only while it is not dark."
