"""What an hour on each target is worth tonight: the season's urgency, by numbers that a person can follow."""

import datetime as dt
from dataclasses import dataclass

from sidelight.desk.collected import missing_hours
from sidelight.ground.types import FloatArray
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.season.year import target_seasons


@dataclass(frozen=True, eq=False)
class Worth:
    """One target tonight.

    urgency : hours missing over hours left in its season, so that what is lost first comes first; 0 when nothing is
    wanted or left. value_per_h : what the night's plan counts. times_mjd, weights : how it goes through the night.
    most_h : no more than so many hours, None for no bound.
    """

    urgency: float
    value_per_h: float
    times_mjd: FloatArray | None = None
    weights: FloatArray | None = None
    most_h: float | None = None


def worth_tonight(notebook: Notebook, date: dt.date) -> dict[str, Worth]:
    """Return each target's worth by its key."""
    flip = flip_hour_angle_deg(notebook.rig.mount)
    seasons = target_seasons(notebook.site, notebook.targets, date, flip_hour_angle_deg=flip)
    lacking = missing_hours(notebook)
    worth = {}
    for target, season in zip(notebook.targets, seasons, strict=True):
        wanted = lacking[target.key]
        urgency = wanted / season.hours_left_h if season.hours_left_h > 0 else 0.0
        # a target out of season may still fill an empty hour, at the bottom of the list
        value = (urgency if urgency > 0 else 0.01) if wanted > 0 else 0.0
        worth[target.key] = Worth(urgency, value, most_h=wanted)
    return worth
