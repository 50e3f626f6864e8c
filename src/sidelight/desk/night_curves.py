"""The night as its picture draws it: altitudes, windows, the plan by side, the flips."""

from collections.abc import Sequence

import numpy as np

from sidelight.campaign.tonight import Stretch
from sidelight.desk.night_records import NightCurves
from sidelight.ground import spans
from sidelight.ground.types import FloatArray
from sidelight.notebook.read import Notebook
from sidelight.season.night import TargetTonight
from sidelight.sky.altitude import altitude_azimuth
from sidelight.sky.moon import moon_altitude_deg
from sidelight.sky.night import Night
from sidelight.sky.sun import sun_altitude_deg

CURVE_STEP_MIN = 6.0


def night_curves(
    notebook: Notebook,
    night: Night,
    pointed: Sequence[tuple[float, float]],
    tonight: Sequence[TargetTonight],
    run: Sequence[Stretch],
) -> NightCurves:
    """Return altitudes through the night from a little before dusk to a little after dawn."""
    times = np.arange(night.start_mjd, night.end_mjd, CURVE_STEP_MIN / 1440.0)
    sun = sun_altitude_deg(times, notebook.site)
    below = np.flatnonzero(sun < 0.0)
    times = times[max(0, below[0] - 5) : below[-1] + 6] if len(below) else times
    by_target = list(zip(notebook.targets, pointed, tonight, strict=True))
    west = {target.key: seen.west_spans for target, _, seen in by_target}
    return NightCurves(
        times,
        sun_altitude_deg(times, notebook.site),
        moon_altitude_deg(times, notebook.site),
        {target.key: altitude_azimuth(ra, dec, times, notebook.site)[0] for target, (ra, dec), _ in by_target},
        {target.key: tuple((float(a), float(b)) for a, b in seen.windows) for target, _, seen in by_target},
        tuple(part for one in run for part in _by_side(one, west[one.key], notebook.rig.mount.flips)),
        tuple(
            (target.key, seen.flip_mjd)
            for target, _, seen in by_target
            if notebook.rig.mount.flips and seen.flip_mjd and spans.contains(seen.windows, seen.flip_mjd)
        ),
    )


def _by_side(one: Stretch, west: FloatArray, flips: bool) -> list[tuple[str, float, float, str]]:
    """Return a stretch cut where the side changes."""
    whole = np.array([[one.start_mjd, one.end_mjd]])
    if not flips:
        return [(one.key, one.start_mjd, one.end_mjd, "any")]
    in_west = spans.intersect(whole, west)
    in_east = spans.complement(in_west, one.start_mjd, one.end_mjd)
    parts = [
        (one.key, float(a), float(b), side) for side, rows in (("east", in_east), ("west", in_west)) for a, b in rows
    ]
    return sorted(parts, key=lambda part: part[1])
