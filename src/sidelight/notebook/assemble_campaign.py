"""From checked values to targets and campaign: names are looked up, what one file says of another is compared."""

import datetime as dt
from dataclasses import replace
from pathlib import PurePath

from sidelight.campaign.records import Rules
from sidelight.campaign.weather import Weather, read_records, weather_from_records
from sidelight.ground.angles import separation_deg
from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.notebook.assemble import once, record
from sidelight.notebook.check import Checked, Findings
from sidelight.notebook.files import Folder, as_text
from sidelight.notebook.schema.campaign import MONTHS, WEEKDAYS
from sidelight.notebook.settings import CampaignSettings, FrameSettings, Goal, UsableNights
from sidelight.targets.listed import folded, meant_by, usual_name
from sidelight.targets.names import find, outline_of, target_from_coordinates, target_from_name
from sidelight.targets.records import Outline, Target

SAME_POINTING_DEG = 1.0 / 3600.0
"""Frames whose middles lie nearer to each other than this are one frame; our choice."""
WISHES = (
    "hours_wanted_h",
    "shift_east_arcmin",
    "shift_north_arcmin",
    "shift_allowed_arcmin",
    "major_arcmin",
    "minor_arcmin",
    "position_angle_deg",
)


def targets_of(head: Checked, findings: Findings) -> tuple[Target, ...]:
    """Return the targets that are sound; adds names that are unknown or stand twice, and sizes that are none."""
    rows = head.repeats["target"]
    once(rows, "name", findings)
    found = [(row, _target(row, findings)) for row in rows if row.sound]
    sound = [(row, one) for row, one in found if one is not None]
    _framed_once(sound, findings)
    return tuple(one for _, one in sound)


def _framed_once(found: list[tuple[Checked, Target]], findings: Findings) -> None:
    """Add a problem for each object that an earlier row has, under another name, at the same pointing."""
    for n, (row, target) in enumerate(found):
        alike = [(at, one) for at, one in found[:n] if one.object_name == target.object_name is not None]
        for at, one in alike:
            apart = separation_deg(target.ra_deg, target.dec_deg, one.ra_deg, one.dec_deg)
            if float(apart) < SAME_POINTING_DEG and folded(one.key) != folded(target.key):
                line = findings.parsed.line((*at.path, "name"))
                findings.add(
                    (*row.path, "name"),
                    f'"{target.key}" is {_known_as(one)}{f" on line {line}" if line else ""} already.',
                    "each object once, or pointed elsewhere by shift_east_arcmin and shift_north_arcmin",
                    "Take one of the two out.",
                )
                break


def _known_as(target: Target) -> str:
    """Return an object with the name that it stands under."""
    usual = usual_name(find(target.object_name or target.key))
    same = meant_by(usual, [replace(target, object_name=None)])
    return f"{target.key}, which stands" if same else f'{usual}, which stands as "{target.key}"'


def _target(row: Checked, findings: Findings) -> Target | None:
    """Return one target, None when it is refused."""
    before = len(findings.problems)
    values = row.values
    outlines = (*_neighbours(row, findings), *(_own_outline(one, findings) for one in row.repeats["outline"]))
    neighbours = tuple(one for one in outlines if one is not None)
    wishes = {name: values[name] for name in WISHES}
    ra_deg, dec_deg = values["ra_deg"], values["dec_deg"]
    if (ra_deg is None) != (dec_deg is None):
        missing = "ra_deg" if ra_deg is None else "dec_deg"
        findings.add((*row.path, missing), "A place needs both ra_deg and dec_deg.", "both of them, or neither")
        return None
    try:
        if ra_deg is not None and values["object"] is None:
            target = target_from_coordinates(values["name"], ra_deg, dec_deg, neighbours=neighbours, **wishes)
        else:
            name = values["object"] or values["name"]
            target = target_from_name(name, key=values["name"], neighbours=neighbours, **wishes)
    except BadInput as error:
        key = "object" if values["object"] else "name"
        for problem in error.problems:
            findings.add_from(problem if problem.key else replace(problem, key=key), row.path)
        return None
    if ra_deg is not None and values["object"] is not None:
        message = "The place of an object of the catalogue is known."
        findings.add((*row.path, "ra_deg"), message, "either object, or ra_deg and dec_deg", "Take one of them out.")
    return _with_brightness(target, row) if len(findings.problems) == before else None


def _with_brightness(target: Target, row: Checked) -> Target:
    """Return the target with the person's own figures of brightness."""
    own = {name: row.values[name] for name in ("v_mag", "surface_brightness_mag_arcsec2")}
    return replace(target, **{name: value for name, value in own.items() if value is not None})


def _neighbours(row: Checked, findings: Findings) -> list[Outline | None]:
    """Return the outlines of the neighbours that the catalogue knows."""
    outlines: list[Outline | None] = []
    for n, name in enumerate(row.values["neighbours"] or ()):
        try:
            outlines.append(outline_of(find(name), name))
        except BadInput as error:
            for problem in error.problems:
                findings.add_from(problem, (*row.path, "neighbours", n))
    return outlines


def _own_outline(row: Checked, findings: Findings) -> Outline | None:
    """Return an outline at a place of the person's own, None when its size is none."""
    values = row.values
    size = {name: values[name] for name in ("major_arcmin", "minor_arcmin", "position_angle_deg")}
    try:
        return target_from_coordinates(values["name"], values["ra_deg"], values["dec_deg"], **size).outlines[0]
    except BadInput as error:
        for problem in error.problems:
            findings.add_from(problem, row.path)
        return None


def campaign_of(
    head: Checked,
    folder: Folder,
    findings: Findings,
    targets: tuple[str, ...] | None,
    filters: tuple[str, ...] | None,
) -> CampaignSettings:
    """Return the campaign's settings; adds goals for unknown targets or filters, and a table that cannot be read.

    targets, filters : the names in the other files; None when those files are not sound, then nothing is compared.
    """
    rules = head.tables["rules"].values
    return CampaignSettings(
        goals=_goals(head, findings, targets, filters),
        nights=_nights(head.tables["nights"]),
        rules=Rules(
            overhead_h=rules["overhead_min"] / 60.0,
            shortest_stay_h=rules["shortest_stay_min"] / 60.0,
            change_cost_h=rules["setup_change_cost_h"],
        ),
        flip_overhead_min=rules["flip_overhead_min"],
        odds_wanted_percent=rules["odds_wanted_percent"],
        weather=_weather(head, folder, findings),
        frames=record(FrameSettings, head.tables["frames"]),
    )


def _nights(table: Checked) -> UsableNights:
    """Return the person's nights, weekdays as numbers."""
    return record(
        UsableNights,
        table,
        weekdays=_day_numbers(table.values["weekdays"]),
        setup_weekdays=_day_numbers(table.values["setup_weekdays"]),
    )


def _day_numbers(days: tuple[str, ...]) -> tuple[int, ...]:
    """Return weekdays as numbers, Monday 0."""
    return tuple(sorted(WEEKDAYS.index(day) for day in days))


def _goals(
    head: Checked, findings: Findings, targets: tuple[str, ...] | None, filters: tuple[str, ...] | None
) -> tuple[Goal, ...]:
    """Return the goals, each with its target's and filters' names as the other files write them."""
    rows = head.repeats["goal"]
    once(rows, "target", findings)
    goals = []
    for row in rows:
        values = row.values
        target = _known(values["target"], targets, (*row.path, "target"), "targets.toml", findings)
        pairs = tuple(
            (_known(name, filters, (*row.path, "filters_h", name), "light.toml", findings), hours)
            for name, hours in values["filters_h"] or ()
        )
        goals.append(Goal(target, values["priority_weight"], values["season"] == "finish", pairs))
    return tuple(goals)


def _known(
    name: str, names: tuple[str, ...] | None, path: tuple[str | int, ...], file: str, findings: Findings
) -> str:
    """Return a name as the other file writes it; adds the problem of one that it does not have."""
    if names is None:
        return name
    folded = {" ".join(one.casefold().split()): one for one in names}
    found = folded.get(" ".join(name.casefold().split()))
    if found is None:
        shown = names if len(names) <= 12 else (*names[:12], "…")
        wanted = f"a name out of {file}: {', '.join(shown)}" if names else f"a name out of {file}, which has none yet"
        findings.add(path, f'"{name}" is not in {file}.', wanted, did_you_mean(name, names))
    return found or name


def _weather(head: Checked, folder: Folder, findings: Findings) -> Weather:
    """Return the weather: typed month by month, or estimated from past nights; a forecast goes before both."""
    table = head.tables["weather"]
    once(head.repeats["forecast"], "evening", findings)
    forecast = {row.values["evening"]: row.values["usable_percent"] / 100.0 for row in head.repeats["forecast"]}
    name = table.values["past_nights_file"]
    if name is not None:
        records = _past_nights(name, (*table.path, "past_nights_file"), folder, findings)
        if records:
            return weather_from_records(records, forecast)
    return Weather(
        month_probability=tuple(table.values[f"{month}_percent"] / 100.0 for month in MONTHS),
        persistence_fraction=table.values["persistence_fraction"],
        forecast=tuple(sorted(forecast.items())),
    )


def _past_nights(
    name: str, path: tuple[str | int, ...], folder: Folder, findings: Findings
) -> dict[dt.date, bool] | None:
    """Return the recorded nights; adds the problems of a file that is missing or not what it should be."""
    if PurePath(name).name != name or "\\" in name or ":" in name or name.startswith("."):
        findings.add(
            path, f'"{name}" is not the plain name of a file in this folder.', 'a name such as "past-nights.csv"'
        )
        return None
    try:
        data = folder.read(name)
        if data is None:
            findings.add(
                path, f'There is no file "{name}" in this folder.', "a table with rows such as 2026-03-01,yes"
            )
            return None
        records = read_records(as_text(name, data), name)
    except BadInput as error:
        findings.problems += error.problems
        return None
    if not records:
        findings.problems.append(
            Problem("No past night could be read.", name, expected='rows of "date,usable" such as 2026-03-01,yes')
        )
    return records
