"""Set-ups kept by name: the one on the telescope is what bench and night go by."""

import datetime as dt
from dataclasses import replace

from sidelight.desk.setup import SetupQuestion, SetupReport, setup_report
from sidelight.ground.angles import turn_deg
from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.notebook.edit import keep_setup as write_kept
from sidelight.notebook.read import Notebook
from sidelight.notebook.settings import KeptPointing, KeptSetUp

FILE = "setups.toml"
LONGEST_NAME = 80
SAME_DEG = 0.002
"""Angles are kept to a thousandth of a degree; nearer than this they are the same."""


def setup_in_use(notebook: Notebook, date: dt.date, name: str | None = None) -> SetupReport:
    """Return the set-up of a date: the named one, else the one in use, else the best that can be found.

    Raises BadInput for a name that is not kept.
    """
    pointed, question = pointed_as_kept(notebook, name), question_for(notebook, date, name)
    kept = kept_by_name(notebook, name) if name else notebook.setup_in_use
    report = setup_report(pointed, question)
    if kept is None:
        return replace(report, goes_by=_none_kept(notebook, report) if report.best else "")
    when = f", kept {kept.kept_on}" if kept.kept_on else ""
    return replace(
        report, kept_as=kept.name, goes_by=f'Set-up "{kept.name}"{when}.', beside=_beside(pointed, question)
    )


def _none_kept(notebook: Notebook, report: SetupReport) -> str:
    """Say that the best set-up found stands in, and how to hold on to one."""
    kept = f'"{notebook.setups[0].name}" is kept but not in use' if notebook.setups else "none is kept"
    return (
        f"Set-up: the best found for {report.nights} nights from {report.date}; {kept}. "
        'Once the angles are clamped, keep them with "sidelight setup NOTEBOOK --keep NAME".'
    )


def _beside(pointed: Notebook, question: SetupQuestion) -> SetupReport | None:
    """Return what the kept angles give the targets that the set-up was not made for; None where there are none."""
    others = tuple(target.key for target in pointed.targets if target.key not in question.only)
    if not question.only or not others:
        return None
    return setup_report(pointed, replace(question, only=others))


def pointed_as_kept(notebook: Notebook, name: str | None = None) -> Notebook:
    """Return the notebook with each target pointed where the kept set-up points, which it was solved for."""
    kept = kept_by_name(notebook, name) if name else notebook.setup_in_use
    moved = {one.target: one for one in kept.pointings} if kept else {}
    if not moved:
        return notebook
    targets = tuple(
        replace(target, ra_deg=moved[target.key].ra_deg, dec_deg=moved[target.key].dec_deg, shift_allowed_arcmin=0.0)
        if target.key in moved
        else target
        for target in notebook.targets
    )
    return replace(notebook, targets=targets)


def question_for(notebook: Notebook, date: dt.date, name: str | None = None) -> SetupQuestion:
    """Return the question that a kept set-up answers, or the open one."""
    kept = kept_by_name(notebook, name) if name else notebook.setup_in_use
    if kept is None:
        return SetupQuestion(date)
    keys = {target.key for target in notebook.targets}
    return SetupQuestion(
        date,
        camera_angle_deg=kept.camera_angle_deg,
        stem_offset_deg=kept.stem_offset_deg,
        only=tuple(key for key in kept.targets if key in keys),
    )


def kept_by_name(notebook: Notebook, name: str) -> KeptSetUp:
    """Return a kept set-up; raises BadInput when there is none of that name."""
    for kept in notebook.setups:
        if kept.name.casefold() == name.casefold():
            return kept
    names = [kept.name for kept in notebook.setups]
    raise BadInput(
        Problem(
            f'No set-up is kept under the name "{name}".',
            file=FILE,
            expected=", ".join(names) or 'a name given with "sidelight setup --keep NAME"',
            suggestion=did_you_mean(name, names),
        )
    )


def checked_name(name: str) -> str:
    """Return a name for a set-up as it is kept; raises BadInput for one that is none."""
    if not name.strip() or len(name) > LONGEST_NAME or not name.isprintable():
        raise BadInput(Problem("A set-up needs a name.", key="name", expected=f"1 to {LONGEST_NAME} signs"))
    return name.strip()


def refuse_another(notebook: Notebook, kept: KeptSetUp) -> None:
    """Raise BadInput where the name stands already for other angles or other targets."""
    was = next((one for one in notebook.setups if one.name.casefold() == kept.name.casefold()), None)
    if was is None or _alike(was, kept):
        return
    count = len(was.targets)
    known = [
        "" if was.camera_angle_deg is None else f"{was.camera_angle_deg:.1f}°",
        f"{count} target{'' if count == 1 else 's'}",
        f"kept {was.kept_on}" if was.kept_on else "",
    ]
    raise BadInput(
        Problem(
            f'"{was.name}" is kept already ({", ".join(one for one in known if one)}).',
            FILE,
            suggestion="Give another name, or replace it. Nothing was written.",
        )
    )


def _alike(one: KeptSetUp, other: KeptSetUp) -> bool:
    """Tell whether two set-ups are the same: their angles, and where they point for which targets."""
    pairs = [
        (one.camera_angle_deg, other.camera_angle_deg),
        (one.guider_angle_deg, other.guider_angle_deg),
        (one.stem_offset_deg, other.stem_offset_deg),
    ]
    same = all(a is b if a is None or b is None else abs(float(turn_deg(a, b))) < SAME_DEG for a, b in pairs)
    return same and set(one.targets) == set(other.targets) and set(one.pointings) == set(other.pointings)


def keep_setup(notebook: Notebook, report: SetupReport, name: str, today: dt.date, *, replacing: bool = False) -> str:
    """Keep a report's set-up under a name and put it in use; return a sentence that says so.

    replacing : whether a set-up of that name may give way. Raises BadInput when there is no set-up to keep, for no
    name, for one that stands for other angles or targets, and when the notebook was changed meanwhile; nothing is
    written then.
    """
    if report.best is None:
        raise BadInput(Problem("There is no set-up to keep.", suggestion=report.sentence))
    kept = KeptSetUp(
        name=checked_name(name),
        kept_on=today,
        in_use=True,
        camera_angle_deg=_rounded(report.camera_angle_deg),
        guider_angle_deg=_rounded(report.guider_angle_deg),
        stem_offset_deg=_rounded(report.stem_offset_deg),
        targets=tuple(place.target for place in report.targets),
        pointings=_pointings(notebook, report),
    )
    if not replacing:
        refuse_another(notebook, kept)
    write_kept(notebook.folder, kept, notebook.fingerprints.get(FILE))
    return f'Kept as "{kept.name}" in setups.toml and put in use; bench and night go by it from now on.'


def _rounded(angle_deg: float | None) -> float | None:
    """Return an angle to a thousandth of a degree, finer than any bench."""
    return None if angle_deg is None else round(angle_deg % 360.0, 3)


def _pointings(notebook: Notebook, report: SetupReport) -> tuple[KeptPointing, ...]:
    """Return the pointings that are not the target's own, or have a camera angle of their own."""
    return tuple(
        KeptPointing(
            place.target,
            round(place.pointing_ra_deg, 6),
            round(place.pointing_dec_deg, 6),
            _rounded(place.camera_angle_deg) if notebook.rig.rotator else None,
        )
        for place in report.targets
        if place.shift_arcmin > 0.005 or notebook.rig.rotator
    )
