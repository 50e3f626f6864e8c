"""Set-ups that a person has turned by hand: keeping them by name, putting one on the telescope, letting one go."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from sidelight.desk.kept import FILE, checked_name, kept_by_name, refuse_another
from sidelight.ground.angles import wrap_360
from sidelight.ground.errors import BadInput, Problem
from sidelight.notebook.edit import keep_setup, remove_row
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import KeptPointing, KeptSetUp

MOVED_DEG = 1e-6


@dataclass(frozen=True)
class TurnedPose:
    """Where a target stands in the set-up that the person has turned to."""

    target: str
    ra_deg: float
    dec_deg: float
    camera_angle_deg: float


@dataclass(frozen=True)
class KeptList:
    """What is kept now; `fingerprint` is the file's, `words` say what was done."""

    names: tuple[str, ...]
    in_use: str | None
    fingerprint: str
    words: str


def keep_turned(
    notebook: Notebook,
    name: str,
    poses: Sequence[TurnedPose],
    stem_offset_deg: float | None,
    today: dt.date,
    in_use: bool = True,
    note: str | None = None,
    *,
    replacing: bool = True,
) -> KeptList:
    """Keep angles as they stand, under a name; a set-up of the same name is replaced, unless `replacing` is off.

    Raises BadInput for a name or a target that cannot be meant, for a name that stands for another set-up, or a file
    changed meanwhile; nothing is written then.
    """
    _check(notebook, name, poses)
    rotator = notebook.rig.rotator
    camera_deg = None if rotator or not poses else poses[0].camera_angle_deg
    guided = notebook.rig.guider is not None and stem_offset_deg is not None
    kept = KeptSetUp(
        name=checked_name(name),
        kept_on=today,
        in_use=in_use,
        camera_angle_deg=None if camera_deg is None else _round(camera_deg),
        guider_angle_deg=None if camera_deg is None or not guided else _round(camera_deg + (stem_offset_deg or 0.0)),
        stem_offset_deg=_round(stem_offset_deg) if guided and stem_offset_deg is not None else None,
        targets=tuple(pose.target for pose in poses),
        note=note,
        pointings=_pointings(notebook, poses),
    )
    if not replacing:
        refuse_another(notebook, kept)
    print_ = keep_setup(notebook.folder, kept, notebook.fingerprints.get(FILE))
    names = [one.name for one in notebook.setups if one.name.casefold() != kept.name.casefold()]
    was = notebook.setup_in_use.name if notebook.setup_in_use else None
    words = f'Kept as "{kept.name}"' + (" and put in use; bench and night go by it." if in_use else ".")
    return KeptList((*names, kept.name), kept.name if in_use else was, print_, words)


def put_in_use(notebook: Notebook, name: str) -> KeptList:
    """Say which kept set-up is on the telescope."""
    kept = kept_by_name(notebook, name)
    print_ = keep_setup(notebook.folder, replace(kept, in_use=True), notebook.fingerprints.get(FILE))
    names = tuple(one.name for one in notebook.setups)
    return KeptList(names, kept.name, print_, f'"{kept.name}" is on the telescope; bench and night go by it.')


def let_go(notebook: Notebook, name: str) -> KeptList:
    """Take a kept set-up off the list."""
    kept = kept_by_name(notebook, name)
    number = notebook.setups.index(kept)
    print_ = remove_row(notebook.folder, FILE, "setup", number, notebook.fingerprints.get(FILE))
    names = tuple(one.name for one in notebook.setups if one is not kept)
    in_use = notebook.setup_in_use
    return KeptList(names, in_use.name if in_use and in_use is not kept else None, print_, f'"{kept.name}" is gone.')


def _round(angle_deg: float) -> float:
    """Return an angle to a thousandth of a degree."""
    return float(round(float(wrap_360(angle_deg)), 3) % 360.0)


def _check(notebook: Notebook, name: str, poses: Sequence[TurnedPose]) -> None:
    """Refuse a name that is none and targets that cannot be meant, all at once."""
    keys = {target.key for target in notebook.targets}
    problems: list[Problem] = []
    try:
        checked_name(name)
    except BadInput as refusal:
        problems += refusal.problems
    problems += [
        Problem(f'"{pose.target}" is not on the list of targets.', file="targets.toml")
        for pose in poses
        if pose.target not in keys
    ]
    if not poses:
        problems.append(Problem("A set-up without targets keeps nothing.", suggestion="Put a target on the list."))
    if problems:
        raise BadInput(problems)


def _pointings(notebook: Notebook, poses: Sequence[TurnedPose]) -> tuple[KeptPointing, ...]:
    """Return the pointings that are not the target's own, or have a camera angle of their own."""
    own = {target.key: (target.ra_deg, target.dec_deg) for target in notebook.targets}
    return tuple(
        KeptPointing(
            pose.target,
            round(pose.ra_deg, 6),
            round(pose.dec_deg, 6),
            _round(pose.camera_angle_deg) if notebook.rig.rotator else None,
        )
        for pose in poses
        if notebook.rig.rotator
        or abs(pose.ra_deg - own[pose.target][0]) > MOVED_DEG
        or abs(pose.dec_deg - own[pose.target][1]) > MOVED_DEG
    )
