"""Which target a frame shows: by where it points first, by the object's name second, else set aside with a reason."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from sidelight.ground.angles import separation_deg
from sidelight.ground.types import FloatArray
from sidelight.ledger.frames import Frame

FAR_DEG = 20.0
"""From here on a distance is told in whole degrees; our choice."""
MatchedBy = Literal["coordinates", "name", "hand", "none"]


@dataclass(frozen=True)
class TargetPlace:
    """A target as frames are matched to it.

    radius_deg : how far from it the middle of a frame may be, half the field's diagonal for example.
    names : what people and cameras call it; the key counts too, and a longer name that begins with one of these.
    whole_names : what it is called besides, where nothing follows.
    """

    key: str
    ra_deg: float
    dec_deg: float
    radius_deg: float
    names: tuple[str, ...] = ()
    whole_names: tuple[str, ...] = ()


@dataclass(frozen=True)
class Match:
    """The target of a frame, or None; how it was found; and what there is to say about it ("" for nothing)."""

    target_key: str | None
    by: MatchedBy
    reason: str = ""


def match(frames: Sequence[Frame], targets: Sequence[TargetPlace]) -> tuple[Match, ...]:
    """Return the match of each frame.

    Of several targets within reach the one that the header names wins, else the nearest. A frame that points away
    from every target is set aside even if its header names one: either may be wrong; a person knows which. A frame
    without coordinates goes by its name: the same letters and figures ("NGC 0253", "ngc253"), or with more after.
    """
    if not targets:
        return tuple(Match(None, "none", "There are no targets.") for _ in frames)
    named = _NameFinder(targets)
    by_name = [named.find(frame.object_name) for frame in frames]
    distances_deg = _distances_deg(frames, targets)
    reach_deg = np.array([target.radius_deg for target in targets])
    return tuple(
        _by_name(frame, targets, its) if frame.ra_deg is None else _by_place(targets, its, row, reach_deg)
        for frame, its, row in zip(frames, by_name, distances_deg, strict=True)
    )


def _by_name(frame: Frame, targets: Sequence[TargetPlace], named: int | None) -> Match:
    """Match a frame that has no coordinates."""
    if named is not None:
        return Match(targets[named].key, "name")
    if not frame.object_name:
        return Match(None, "none", "The header has neither coordinates nor an object's name.")
    return Match(None, "none", f'No coordinates, and no target is called "{frame.object_name}".')


def _by_place(
    targets: Sequence[TargetPlace], named: int | None, distance_deg: FloatArray, reach_deg: FloatArray
) -> Match:
    """Match a frame by where it points."""
    within = np.flatnonzero(distance_deg <= reach_deg)
    if len(within):
        nearest = int(within[np.argmin(distance_deg[within])])
        best = named if named is not None and named in within else nearest
        others = [targets[int(index)].key for index in within if index != best]
        return Match(targets[best].key, "coordinates", f"Within reach of {', '.join(others)} too." if others else "")
    if named is not None:
        away = f"{_degrees(distance_deg[named])} from {targets[named].key}"
        return Match(None, "none", f"Points {away}, which the header names; beyond its {reach_deg[named]:.2f}°.")
    nearest = int(np.argmin(distance_deg))
    return Match(
        None, "none", f"Points {_degrees(distance_deg[nearest])} from the nearest target, {targets[nearest].key}."
    )


def _degrees(away_deg: float) -> str:
    """Return a distance as it is told: finely where it is near."""
    return f"{away_deg:.0f}°" if away_deg >= FAR_DEG else f"{away_deg:.2f}°"


def _distances_deg(frames: Sequence[Frame], targets: Sequence[TargetPlace]) -> FloatArray:
    """Return separations, shape (frames, targets); the row of a frame without coordinates means nothing."""
    ra = np.array([frame.ra_deg or 0.0 for frame in frames])[:, None]
    dec = np.array([frame.dec_deg or 0.0 for frame in frames])[:, None]
    return separation_deg(ra, dec, [target.ra_deg for target in targets], [target.dec_deg for target in targets])


class _NameFinder:
    """Targets by the letters and figures of their names."""

    def __init__(self, targets: Sequence[TargetPlace]) -> None:
        self._places: dict[str, int] = {}
        for index, target in enumerate(targets):
            for name in (target.key, *target.names):
                if folded := folded_name(name):
                    self._places.setdefault(folded, index)
        self._begins = tuple(self._places)
        for index, target in enumerate(targets):
            for name in target.whole_names:
                self._places.setdefault(folded_name(name), index)
        self._known: dict[str, int | None] = {}

    def find(self, name: str) -> int | None:
        """Return the target that is called so, or whose name a longer one begins with."""
        if name not in self._known:
            self._known[name] = self._look(folded_name(name))
        return self._known[name]

    def _look(self, folded: str) -> int | None:
        if folded in self._places:
            return self._places[folded]
        begun = [
            name
            for name in self._begins
            if len(name) > 1 and folded.startswith(name) and not (name[-1].isdigit() and folded[len(name)].isdigit())
        ]
        return self._places[max(begun, key=len)] if begun else None


def folded_name(name: str) -> str:
    """Return a name's letters and figures only: "Messier 031" and "M31" become "m31"."""
    folded = re.sub(r"[\W_]+", "", name.casefold())
    folded = re.sub(r"^messier(?=\d)", "m", folded)
    return re.sub(r"(?<!\d)0+(?=\d)", "", folded)
