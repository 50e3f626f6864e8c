"""Which sides of the meridian the chosen nights use: the bridge from the season to the set-up."""

import datetime as dt

from sidelight.desk.windows import windows_of
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.setup.records import Side, SideNeed, Want
from sidelight.targets.records import Target

LEAST_SIDE_H = 0.5
"""A side that the chosen nights use for less than this in all is not worth a constraint; half an hour, our choice."""


def needed_sides(
    notebook: Notebook, targets: tuple[Target, ...], date: dt.date, nights: int
) -> tuple[tuple[Want, ...], tuple[str, ...]]:
    """Return what each target needs in the nights from a date on, and remarks for the person.

    A side, or a target, without usable hours in these nights is not required; the set-up says so with the reason.
    """
    if not targets:
        return (), ()
    flip = flip_hour_angle_deg(notebook.rig.mount)
    table = windows_of(notebook, targets, date, nights)
    east, west = table.hours_east_h.sum(axis=1), table.hours_west_h.sum(axis=1)
    span = f"in the {nights} nights from {date}" if nights > 1 else f"in the night of {date}"
    wants: list[Want] = []
    for i, target in enumerate(targets):
        hours: tuple[tuple[Side, float], ...] = (("east", float(east[i])), ("west", float(west[i])))
        if flip is None:
            hours = (("any", float(east[i] + west[i])),)
        needs = tuple(_need(side, side_h, float(east[i] + west[i]), span) for side, side_h in hours)
        wants.append(Want(target, needs))
    if not any(want.required for want in wants):
        return tuple(wants), (f"No target has usable dark hours {span}; choose another date.",)
    return tuple(wants), ()


def _need(side: Side, hours_h: float, total_h: float, span: str) -> SideNeed:
    """Return whether a side is needed, with the hours that say so."""
    if total_h < LEAST_SIDE_H:
        return SideNeed(side, False, f"no usable dark hours {span}")
    where = "" if side == "any" else f" {side} of the flip"
    return SideNeed(side, hours_h >= LEAST_SIDE_H, f"{max(0.0, hours_h):.1f} usable hours{where} {span}")
