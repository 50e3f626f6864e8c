"""What the person decides about frames and hours: left out, taken back, given to a target, entered by hand."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sidelight.desk.chosen import chosen_targets
from sidelight.desk.collected import ledger_of
from sidelight.desk.frames import REJECTED_FILE, compute_for, rejection_of
from sidelight.ground.errors import BadInput, Problem
from sidelight.ledger import changes
from sidelight.ledger.files import read_rejected_list
from sidelight.ledger.kept import KeptFrame
from sidelight.ledger.recording import refresh_rejection
from sidelight.ledger.store import Ledger
from sidelight.notebook.read import Notebook


@dataclass(frozen=True)
class ChangeReport:
    """What a decision changed: the frames it names, how many it changed, and that in words."""

    files: tuple[str, ...]
    changed_count: int
    sentence: str


def frames_named(ledger: Ledger, names: Sequence[str]) -> tuple[KeptFrame, ...]:
    """Return the frames of file names, paths or identities; raises BadInput with every name that is unknown."""
    found: dict[str, KeptFrame] = {}
    problems: list[Problem] = []
    for name in names:
        try:
            found.update({one.frame.identity: one for one in changes.find_frames(ledger, name)})
        except BadInput as refusal:
            problems += refusal.problems
    if problems:
        raise BadInput(problems)
    return tuple(found.values())


def exclude_frames(notebook: Notebook, names: Sequence[str], reason: str = "") -> ChangeReport:
    """Let frames not count."""
    with ledger_of(notebook) as ledger:
        frames = frames_named(ledger, names)
        changed = changes.exclude(ledger, [one.frame.identity for one in frames], reason)
    return _changed(frames, changed, f"Frames that no longer count: {changed} of the {len(frames)} named.")


def restore_frames(notebook: Notebook, names: Sequence[str]) -> ChangeReport:
    """Let excluded frames count again, and copies as frames of their own."""
    with ledger_of(notebook) as ledger:
        frames = frames_named(ledger, names)
        changed = changes.restore(ledger, [one.frame.identity for one in frames])
        rejected = sum(one.rejected for one in frames)
    said = f"Frames restored: {changed} of the {len(frames)} named."
    if rejected:
        said += (
            f" Still rejected: {rejected}; take them off {REJECTED_FILE} or out of the folder for rejected frames."
        )
    return _changed(frames, changed, said)


def assign_frames(notebook: Notebook, target: str | None, names: Sequence[str]) -> ChangeReport:
    """Give frames to a target by hand, or (None) take them from it; that stays."""
    key = chosen_targets(notebook, (target,))[0].key if target is not None else None
    with ledger_of(notebook) as ledger:
        frames = frames_named(ledger, names)
        changed = changes.assign(ledger, [one.frame.identity for one in frames], key, compute_for(notebook))
    return _changed(frames, changed, f"Given to {key or 'no target'}: {changed} of the {len(frames)} frames named.")


def _changed(frames: Sequence[KeptFrame], changed: int, sentence: str) -> ChangeReport:
    """Return the report of a decision."""
    return ChangeReport(tuple(one.frame.file.path for one in frames), changed, sentence)


def reject_listed(notebook: Notebook, listed: Path) -> ChangeReport:
    """Add the names in a text file to the notebook's own list of rejected frames, and hold all frames against it.

    Names of frames that are not in the ledger yet are kept: they are rejected when they come.
    """
    before = rejection_of(notebook).names
    fresh = sorted(read_rejected_list(listed) - before)
    if fresh:
        _append_names(notebook.folder / REJECTED_FILE, fresh)
    with ledger_of(notebook) as ledger:
        changed = refresh_rejection(ledger, rejection_of(notebook))
    said = (
        f"Names added to {REJECTED_FILE}, which you may edit: {len(fresh)}; frames that this changes: {changed}. "
        "Rejected frames do not count; those of names that the ledger does not know yet are rejected when they come."
    )
    return ChangeReport(tuple(fresh), changed, said)


def _append_names(path: Path, names: Sequence[str]) -> None:
    """Write the list anew with more names at its end, whole or not at all."""
    head = "# Frames that do not count: one file name a line, with or without its ending.\n"
    text = path.read_text(encoding="utf-8-sig") if path.exists() else head
    if not text.endswith("\n"):
        text += "\n"
    scratch = path.with_name(path.name + ".part")
    scratch.write_text(text + "\n".join(names) + "\n", encoding="utf-8", newline="\n")
    scratch.replace(path)


def enter_hours(
    notebook: Notebook,
    target: str,
    hours_h: float,
    *,
    filter_name: str = "",
    night: dt.date | None = None,
    weight_ratio: float | None = None,
    note: str = "",
) -> ChangeReport:
    """Enter hours for which there are no files; raises BadInput for a target or filter that the notebook lacks."""
    from sidelight.desk.light import filter_of

    key = chosen_targets(notebook, (target,))[0].key
    name = filter_of(notebook, filter_name).name if filter_name else ""
    entry = changes.HandHours(key, name, hours_h, night, weight_ratio, note)
    with ledger_of(notebook, create=True) as ledger:
        number = changes.add_hours(ledger, entry)
    through = f" through {name}" if name else ""
    return ChangeReport((), 1, f"{hours_h:g} h on {key}{through} entered under number {number}.")


def take_back_hours(notebook: Notebook, number: int) -> ChangeReport:
    """Take back hours entered by hand; raises BadInput for a number that is not there."""
    with ledger_of(notebook) as ledger:
        was = changes.remove_hours(ledger, number)
    return ChangeReport((), 1, f"{was.hours_h:g} h on {was.target_key}, number {number}, taken back.")
