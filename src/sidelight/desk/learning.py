"""What solved images teach: offsets between bench and sky, on top of those that were in force on the bench day."""

import datetime as dt
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from sidelight.ground.angles import wrap_180
from sidelight.notebook.assemble import with_learned
from sidelight.notebook.edit import add_measured
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import LearnedAngles, Measured

_AGREES_ERRORS = 3.0
_AGREES_DEG = 1.0
"""Two lessons agree within three of their errors, or a degree, which the seat of a gauge is good to."""
_OTHERWISE = "--bench-day DATE says otherwise."


@dataclass(frozen=True)
class InForce:
    """The offsets that the bench angles contained when the metal was set, and in words how that is known."""

    camera_deg: float
    guider_deg: float
    words: str


def in_force(learned: LearnedAngles, difference_deg: float, bench_day: dt.date | None) -> InForce:
    """Return which of the learnt offsets were in the angles that were set.

    difference_deg : the camera on the sky less its plan. bench_day : when the angles were set, if the person says;
    entries of earlier evenings were known then. Else it is open whether the metal was set before or after the newest
    entry: the reading that agrees better with that entry counts, and the words say so.
    """
    having = [one for one in learned.entries if one.used and one.camera_offset_deg is not None]
    if not having:
        return InForce(0.0, 0.0, "")
    if bench_day is not None:
        known = LearnedAngles(tuple(one for one in learned.entries if one.date < bench_day))
        return InForce(
            known.camera_offset_deg,
            known.guider_offset_deg,
            f"Set on {bench_day}, with {known.camera_offset_deg:+.1f}° allowed for.",
        )
    newest = having[-1]
    before = LearnedAngles(tuple(one for one in learned.entries if one is not newest))
    after_misses = abs(float(wrap_180(difference_deg)))
    before_misses = abs(float(wrap_180(difference_deg + before.camera_offset_deg - learned.camera_offset_deg)))
    within = max(_AGREES_ERRORS * (newest.camera_offset_error_deg or 0.0), _AGREES_DEG)
    if before_misses < min(after_misses, within):
        return InForce(
            before.camera_offset_deg,
            before.guider_offset_deg,
            f"Taken as not set anew since {newest.date}, for then it agrees with what was learnt; {_OTHERWISE}",
        )
    agrees = "" if after_misses < within else "This does not agree with what was learnt: has the metal changed? "
    return InForce(
        learned.camera_offset_deg,
        learned.guider_offset_deg,
        f"{agrees}Taken as set with the {learned.camera_offset_deg:+.1f}° learnt on {newest.date} allowed for; "
        f"{_OTHERWISE}",
    )


def set_error_deg(notebook: Notebook, image_error_deg: float | None) -> float:
    """Return how well one bench day's images tell the offset: gauge and its seat enter each setting anew."""
    tolerances = notebook.rig.tolerances
    return float(np.hypot(np.hypot(tolerances.gauge_deg, tolerances.seat_deg), image_error_deg or 0.0))


def as_learned(notebook: Notebook, entry: Measured) -> Notebook:
    """Return the notebook as it reads once an entry is learnt; nothing is written."""
    learned = LearnedAngles((*notebook.learned.entries, entry))
    rig, _ = with_learned(notebook.rig_as_written, learned)
    return replace(notebook, rig=rig, learned=learned)


def learn(notebook: Notebook, entry: Measured) -> Path:
    """Write an entry to learned.toml and return the file; raises BadInput when it was changed meanwhile."""
    add_measured(notebook.folder, entry, notebook.fingerprints.get("learned.toml"))
    return notebook.folder / "learned.toml"
