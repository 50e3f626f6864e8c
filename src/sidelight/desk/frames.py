"""What the notebook adds to a frame: which target, whose night, which side, how high, and what the sky gave."""

import re
from collections.abc import Iterable, Sequence

import numpy as np

from sidelight.desk.light import camera_floor_ratio
from sidelight.ground.types import FloatArray, IntArray
from sidelight.ledger.files import Rejection, read_rejected_list
from sidelight.ledger.frames import Frame
from sidelight.ledger.kept import Compute, Computed
from sidelight.ledger.match import TargetPlace
from sidelight.light.filters import Filter
from sidelight.light.weight import weights
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.sky.altitude import altitude_azimuth, apparent_place, hour_angle_deg
from sidelight.sky.flip import side_at
from sidelight.sky.night import evening_date
from sidelight.targets.listed import object_called, short_names_of
from sidelight.targets.records import Target

REJECTED_FILE = "rejected.txt"
"""The notebook's list of rejected frames, one file name a line."""

_WORDS = {
    "lum": "L",
    "luminance": "L",
    "red": "R",
    "green": "G",
    "blue": "B",
    "halpha": "Ha",
    "hydrogenalpha": "Ha",
    "o3": "OIII",
    "oxygeniii": "OIII",
    "s2": "SII",
    "sulphurii": "SII",
    "sulfurii": "SII",
}
"""How headers write the usual filters out (common practice, no source)."""


def target_places(notebook: Notebook) -> tuple[TargetPlace, ...]:
    """Return the notebook's targets as frames are matched to them, with every name the catalogue knows."""
    radius_deg = notebook.campaign.frames.match_within_arcmin / 60.0
    return tuple(
        TargetPlace(target.key, target.ra_deg, target.dec_deg, radius_deg, *_names(target))
        for target in notebook.targets
    )


def _names(target: Target) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what else a target is called, and its names cut short."""
    named = (target.common_name,) if target.common_name else ()
    found = object_called(target.object_name or target.key)
    if found is None:
        return named, ()
    names = tuple(one for one in (*named, found.name, found.messier, *found.common_names) if one)
    return names, short_names_of(found)


def filter_named(notebook: Notebook, name: str) -> Filter | None:
    """Return the filter of light.toml that a header's word means, None when it means none of them."""
    exact = notebook.light.filter_named(name)
    if exact is not None:
        return exact
    folded = re.sub(r"[\W_]+", "", name.casefold())
    known = {re.sub(r"[\W_]+", "", one.name.casefold()): one for one in notebook.light.filters}
    return known.get(folded) or known.get(_WORDS.get(folded, "").casefold())


def filter_words(notebook: Notebook, names: Iterable[str]) -> dict[str, str]:
    """Return which filter of light.toml each of these words means; words that mean none are left out."""
    found = {name: filter_named(notebook, name) for name in names if name}
    return {name: one.name for name, one in found.items() if one is not None}


def rejection_of(notebook: Notebook) -> Rejection:
    """Return what the notebook rejects: folders named in campaign.toml, files named in its list."""
    listed = notebook.folder / REJECTED_FILE
    names = read_rejected_list(listed) if listed.exists() else frozenset[str]()
    return Rejection(notebook.campaign.frames.rejected_folders, names)


def compute_for(notebook: Notebook) -> Compute:
    """Return the function that works out night, side, altitude and weight of frames.

    A frame without coordinates of its own takes those of its target; without either only its night is known. The
    side follows from the flip rule, as everywhere. The weight is that of the middle of the exposure; None for a
    filter that light.toml does not have.
    """
    places = {target.key: target for target in notebook.targets}

    def compute(frames: Sequence[Frame], target_keys: Sequence[str | None]) -> Sequence[Computed]:
        ra, dec = _directions(frames, [places.get(key or "") for key in target_keys])
        middle = np.array([frame.middle_mjd for frame in frames], dtype=np.float64)
        known = np.flatnonzero(np.isfinite(ra))
        side, altitude = _stand(notebook, ra[known], dec[known], middle[known])
        weight = _weights(notebook, frames, known, ra, dec, middle)
        at = {int(row): number for number, row in enumerate(known)}
        return [
            Computed(
                night=evening_date(notebook.site, frame.middle_mjd),
                side=side[at[row]] if row in at else None,
                altitude_deg=float(altitude[at[row]]) if row in at else None,
                weight=weight.get(row),
            )
            for row, frame in enumerate(frames)
        ]

    return compute


def _directions(frames: Sequence[Frame], targets: Sequence[Target | None]) -> tuple[FloatArray, FloatArray]:
    """Return where frames point, NaN where nobody knows."""
    pairs = np.full((len(frames), 2), np.nan)
    for row, (frame, target) in enumerate(zip(frames, targets, strict=True)):
        if frame.ra_deg is not None and frame.dec_deg is not None:
            pairs[row] = frame.ra_deg, frame.dec_deg
        elif target is not None:
            pairs[row] = target.ra_deg, target.dec_deg
    return pairs[:, 0], pairs[:, 1]


def _stand(
    notebook: Notebook, ra_deg: FloatArray, dec_deg: FloatArray, mjd: FloatArray
) -> tuple[list[str], FloatArray]:
    """Return the side of the meridian and the apparent altitude of directions, each at its own instant."""
    if not len(mjd):
        return [], np.empty(0)
    altitude, _ = altitude_azimuth(ra_deg, dec_deg, mjd, notebook.site)
    flip_deg = flip_hour_angle_deg(notebook.rig.mount)
    if flip_deg is None:
        return ["any"] * len(mjd), altitude
    hour_angle = hour_angle_deg(apparent_place(ra_deg, dec_deg, mjd)[0], mjd, notebook.site)
    return [str(side) for side in side_at(hour_angle, flip_deg)], altitude


def _weights(
    notebook: Notebook,
    frames: Sequence[Frame],
    known: IntArray,
    ra_deg: FloatArray,
    dec_deg: FloatArray,
    mjd: FloatArray,
) -> dict[int, float]:
    """Return what an hour of each frame was worth, by the frame's row."""
    rows_of: dict[str, list[int]] = {}
    for row in known:
        rows_of.setdefault(frames[int(row)].filter_name, []).append(int(row))
    found: dict[int, float] = {}
    for name, rows in rows_of.items():
        one = filter_named(notebook, name)
        if one is None:
            continue
        floor = camera_floor_ratio(notebook, one)
        worth = weights(notebook.site, notebook.light.sky, one, ra_deg[rows], dec_deg[rows], mjd[rows], floor)
        found.update(zip(rows, (float(value) for value in worth), strict=True))
    return found
