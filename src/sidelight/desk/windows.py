"""When the notebook's targets can be photographed: the windows that every question starts from."""

import datetime as dt
from collections.abc import Sequence

from sidelight.notebook.read import Notebook
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.season.windows import SeasonTable, target_windows
from sidelight.targets.records import Target


def windows_of(notebook: Notebook, targets: Sequence[Target], date: dt.date, nights: int) -> SeasonTable:
    """Return the windows of targets in the nights from a date on, east and west parted where this mount flips."""
    ra, dec = [one.ra_deg for one in targets], [one.dec_deg for one in targets]
    return target_windows(notebook.site, ra, dec, date, nights, flip_hour_angle_deg(notebook.rig.mount))
