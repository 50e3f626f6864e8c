"""Which set-ups a campaign may use and what each serves: the kept ones, or the fewest that serve the season."""

import datetime as dt
from dataclasses import dataclass

from sidelight.desk.setup import SetupQuestion, solve_wants
from sidelight.desk.sides import needed_sides
from sidelight.notebook.read import Notebook
from sidelight.setup.records import SetUp


@dataclass(frozen=True)
class ServedReport:
    """A target in a set-up: framed, and with a guide star, on these sides."""

    target: str
    east: bool
    west: bool


@dataclass(frozen=True)
class CampaignSetUpReport:
    """A set-up of the campaign. nights_count : how many planned nights have it."""

    name: str
    in_use: bool
    camera_angle_deg: float | None
    guider_angle_deg: float | None
    stem_offset_deg: float | None
    serves: tuple[ServedReport, ...]
    nights_count: int = 0


def campaign_setups(notebook: Notebook, date: dt.date, nights: int) -> tuple[CampaignSetUpReport, ...]:
    """Return the kept set-ups; where none is kept, the best one, or the smallest set that serves the season."""
    wants, _ = needed_sides(notebook, notebook.targets, date, nights)
    found = []
    for kept in notebook.setups:
        question = SetupQuestion(
            date, nights, camera_angle_deg=kept.camera_angle_deg, stem_offset_deg=kept.stem_offset_deg
        )
        best = solve_wants(notebook, wants, question).best
        if best is not None:
            found.append(_report(notebook, best, kept.name, kept.in_use))
    if notebook.setups or not wants:
        return tuple(found)
    solution = solve_wants(notebook, wants, SetupQuestion(date, nights))
    if solution.best is None:
        return ()
    whole = solution.best.rings_served == solution.best.rings_needed
    several = () if whole else solution.smallest_cover
    return tuple(
        _report(notebook, one, f"set-up {number}" if len(several) > 1 else "the best set-up", False)
        for number, one in enumerate(several or (solution.best,), start=1)
    )


def _report(notebook: Notebook, one: SetUp, name: str, in_use: bool) -> CampaignSetUpReport:
    """Return what a set-up serves."""
    serves = []
    for place in one.targets:
        held = place.framed or place.frame_waived
        lit = {guide.side for guide in one.places if guide.target == place.target and guide.star is not None}
        free = notebook.rig.guider is None or "any" in lit
        serves.append(ServedReport(place.target, held and (free or "east" in lit), held and (free or "west" in lit)))
    angles = one.camera_angle_deg, one.guider_angle_deg, one.stem_offset_deg
    return CampaignSetUpReport(name, in_use, *angles, tuple(serves))
