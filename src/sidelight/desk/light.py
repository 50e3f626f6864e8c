"""What an hour is worth: weights of instants and effective hours, by the notebook's sky, filters and camera."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.ground.types import FloatArray, Floats
from sidelight.light.exposure import rates, sub_exposure
from sidelight.light.filters import NARROW_NM, Filter
from sidelight.light.hours import effective_hours, moon_cost_share
from sidelight.light.weight import directions, sensitivity, weight_of
from sidelight.notebook.read import Notebook
from sidelight.season.windows import SeasonTable
from sidelight.targets.records import Target


@dataclass(frozen=True, eq=False)
class HoursTable:
    """What n targets' windows in t nights are worth through one filter each, shape (n, t).

    effective_h : effective hours. moonless_h : had there been no Moon. error_h : how far off an integral may be, not
    counting the models behind it.
    """

    filters: tuple[Filter, ...]
    effective_h: FloatArray
    moonless_h: FloatArray
    error_h: FloatArray

    @property
    def moon_cost_share(self) -> FloatArray:
        """What the Moon takes of each night, 0 to 1, shape (n, t)."""
        return moon_cost_share(self.effective_h, self.moonless_h)


def filter_of(notebook: Notebook, name: str) -> Filter:
    """Return the notebook's filter of a name, capitals or not; raises BadInput with the near misses."""
    found = notebook.light.filter_named(name)
    if found is None:
        names = [one.name for one in notebook.light.filters]
        raise BadInput(
            Problem(
                f'There is no filter "{name}" in this notebook.',
                file="light.toml",
                key="filter",
                expected=", ".join(names),
                suggestion=did_you_mean(name, names) or "Add it to light.toml with its centre and bandwidth in nm.",
            )
        )
    return found


def filters_of(notebook: Notebook, target: Target) -> tuple[Filter, ...]:
    """Return the filters that a target is wanted in; when its goal names none, the notebook's first broad one."""
    named = [notebook.light.filter_named(name) for name, _ in notebook.campaign.goal_of(target.key).filters_h]
    wanted = tuple(one for one in named if one is not None)
    return wanted or (first_broad(notebook),)


def main_filter(notebook: Notebook, target: Target) -> Filter:
    """Return the filter a target's hours are counted in where one figure is asked: most hours wanted, else broad."""
    hours = {name.casefold(): h for name, h in notebook.campaign.goal_of(target.key).filters_h}
    return max(filters_of(notebook, target), key=lambda one: hours.get(one.name.casefold(), 0.0))


def first_broad(notebook: Notebook) -> Filter:
    """Return the notebook's first filter that is not narrow; the first of all when every one is."""
    every = notebook.light.filters
    return next((one for one in every if one.bandwidth_nm >= NARROW_NM), every[0])


def camera_floor_ratio(notebook: Notebook, one: Filter) -> float:
    """Return the camera's own noise against the moonless zenith sky's in a filter, at the exposure chosen for it."""
    given = rates(notebook.rig, notebook.light.sky, one, notebook.site.elevation_m)
    return sub_exposure(notebook.rig, one, given, notebook.light.exposure).floor_ratio


def hour_weight(notebook: Notebook, target: Target, one: Filter, times_mjd: Floats) -> FloatArray:
    """Return what instants on a target are worth in a filter, about 0 to 1, the shape of `times_mjd`.

    1 is this site's moonless zenith: an hour at weight w counts w effective hours. Neither the skyline nor darkness
    is asked here; below the horizon the weight is 0. Good to the Moon model's 8 to 23 % of the Moon's light.
    """
    times = np.asarray(times_mjd, dtype=np.float64)
    found = hour_weights(notebook, [target], [one], times.ravel())
    return np.asarray(found[0, 0].reshape(times.shape))


def hour_weights(
    notebook: Notebook, targets: Sequence[Target], filters: Sequence[Filter], times_mjd: FloatArray
) -> FloatArray:
    """Return `hour_weight` of n targets in f filters at t instants, shape (n, f, t); the sky is looked at once."""
    sky, site = notebook.light.sky, notebook.site
    ra, dec = np.array([[one.ra_deg] for one in targets]), np.array([[one.dec_deg] for one in targets])
    where = directions(site, ra, dec, times_mjd)
    parts = where.sky_parts(sky)
    senses = [sensitivity(one, sky, site.elevation_m, camera_floor_ratio(notebook, one)) for one in filters]
    return np.stack([weight_of(parts, where.altitude_deg, sky, sense) for sense in senses], axis=1)


@dataclass(frozen=True, eq=False)
class FilterHours:
    """What n targets' windows in t nights are worth in f filters, each shape (f, n, t); as `HoursTable`."""

    effective_h: FloatArray
    moonless_h: FloatArray
    error_h: FloatArray


def filter_hours(
    notebook: Notebook, targets: Sequence[Target], table: SeasonTable, filters: Sequence[Filter]
) -> FilterHours:
    """Return effective hours of targets, the rows of a season's table, in each filter and night."""
    nights = len(table.dates)
    rows = np.repeat(np.repeat(np.arange(len(targets)), nights), np.diff(table.offsets))
    ra, dec = np.array([one.ra_deg for one in targets]), np.array([one.dec_deg for one in targets])
    found = effective_hours(
        notebook.site,
        notebook.light.sky,
        filters,
        table.start_mjd,
        table.end_mjd,
        ra[rows],
        dec[rows],
        [camera_floor_ratio(notebook, one) for one in filters],
    )

    def per_night(columns: FloatArray) -> FloatArray:
        """Return the windows' figures summed over each night."""
        until = np.concatenate([np.zeros((len(filters), 1)), np.cumsum(columns, axis=1)], axis=1)
        summed = np.diff(until[:, table.offsets], axis=1)
        return np.asarray(np.maximum(summed.reshape(len(filters), len(targets), nights), 0.0))

    return FilterHours(per_night(found.effective_h), per_night(found.moonless_h), per_night(found.error_h))


def effective_hours_table(
    notebook: Notebook, targets: Sequence[Target], table: SeasonTable, one: Filter | None = None
) -> HoursTable:
    """Return effective hours of targets, the rows of a season's table, in each of its nights.

    one : the filter for all; None takes each target's own (`main_filter`). The error of the integrals is in the
    table; against sampling every 10 s a window is off by 2 s at most.
    """
    chosen = tuple(one or main_filter(notebook, target) for target in targets)
    filters = list(dict.fromkeys(chosen))
    found = filter_hours(notebook, targets, table, filters)
    which = np.array([filters.index(each) for each in chosen], dtype=np.int64)
    own = which, np.arange(len(targets))
    return HoursTable(chosen, found.effective_h[own], found.moonless_h[own], found.error_h[own])
