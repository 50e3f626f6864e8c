"""What was collected: folders of frames taken in, what does not count, hours entered by hand."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sidelight.desk.chosen import chosen_targets
from sidelight.desk.collected import ledger_of
from sidelight.desk.frames import REJECTED_FILE, compute_for, rejection_of, target_places
from sidelight.ground.errors import BadInput, Problem
from sidelight.ledger import changes
from sidelight.ledger.adding import Added, Progress, add_folders
from sidelight.ledger.files import read_rejected_list
from sidelight.ledger.kept import KeptFrame, frames_where
from sidelight.ledger.recording import refresh_rejection, rematch
from sidelight.ledger.store import Ledger
from sidelight.notebook.read import Notebook
from sidelight.targets.listed import meant_by, object_called, usual_name

MOST_KINDS = 5
"""So many endings of names are told."""
_WAITING = "frames.target_key IS NULL AND matched_by <> 'hand' AND NOT frames.rejected AND NOT excluded"
"""Frames that wait for somebody to say what they show."""


@dataclass(frozen=True)
class FileAside:
    """A file that gives no light frame; kind is a short word for the reason."""

    file: str
    kind: str
    reason: str


@dataclass(frozen=True)
class WithoutTarget:
    """Frames that belong to no target, of one name in their headers; file is one of them, advice what to do."""

    object_name: str
    reason: str
    frames_count: int
    hours_h: float
    file: str
    advice: str


@dataclass(frozen=True)
class AddReport:
    """What adding folders did.

    files_count : FITS files found; known_count of them have not changed since they were last read. new_count,
    moved_count, changed_count, copies_count : frames never seen, found in another place, written anew, and further
    copies of a frame (these do not count twice). matched_count : known frames that now have a target.
    rejection_changed_count : known frames that are now rejected or no longer are. gone_count : files no longer there;
    their frames stay. aside : files that are no light frames. without_target : all frames of the ledger that belong
    to no target. unread : places that would not open, [place, reason].
    """

    notebook: str
    files_count: int
    known_count: int
    new_count: int
    moved_count: int
    changed_count: int
    copies_count: int
    matched_count: int
    rejection_changed_count: int
    gone_count: int
    others_count: int
    aside: tuple[FileAside, ...]
    without_target: tuple[WithoutTarget, ...]
    unread: tuple[tuple[str, str], ...]
    copied_to: str | None
    sentence: str


@dataclass(frozen=True)
class ChangeReport:
    """What a decision changed: the frames it names, how many it changed, and that in words."""

    files: tuple[str, ...]
    changed_count: int
    sentence: str


def add_frames(
    notebook: Notebook, folders: Sequence[Path], progress: Progress | None = None, *, afresh: bool = False
) -> AddReport:
    """Take in the frames in and below some folders; what is known is not read again.

    afresh : match and work out every frame of the ledger once more, as after a change of site, targets or filters.
    Raises BadInput for a folder that is not there; a file that cannot be used is reported and the rest goes on.
    """
    if not folders and not afresh:
        raise BadInput(Problem("No folder was named.", expected="one or more folders with FITS files"))
    targets, compute = target_places(notebook), compute_for(notebook)
    rejection = rejection_of(notebook)
    with ledger_of(notebook, create=True) as ledger:
        added = add_folders(ledger, folders, targets=targets, compute=compute, rejection=rejection, progress=progress)
        again = rematch(ledger, targets, compute, every=True) if afresh else 0
        return _add_report(notebook, ledger, added, again)


def _add_report(notebook: Notebook, ledger: Ledger, added: Added, again: int) -> AddReport:
    """Put the report together."""
    lost = without_target(notebook, ledger)
    return AddReport(
        notebook=str(notebook.folder),
        files_count=added.files_count,
        known_count=added.known_count,
        new_count=added.count("new"),
        moved_count=added.count("moved"),
        changed_count=added.count("changed"),
        copies_count=added.count("copy") + added.count("again"),
        matched_count=added.matched_count + again,
        rejection_changed_count=added.rejection_changed_count,
        gone_count=added.gone_count,
        others_count=added.others_count,
        aside=tuple(FileAside(one.file.path, one.kind, one.reason) for one in added.set_aside),
        without_target=lost,
        unread=added.unread,
        copied_to=str(ledger.copied_to) if ledger.copied_to else None,
        sentence=_add_sentence(added, lost),
    )


def _add_sentence(added: Added, lost: tuple[WithoutTarget, ...]) -> str:
    """Say in a sentence what adding did."""
    if not added.files_count:
        return f"No FITS files lie there.{_of_other_kinds(added)}"
    read = added.files_count - added.known_count
    if not read:
        said = f"Nothing new: all {added.files_count} files are known and unchanged"
    else:
        parts = [
            f"{added.count(kind)} {words}"
            for kind, words in (
                ("new", "new"),
                ("moved", "known from another place"),
                ("changed", "written anew"),
                ("copy", "other forms of a frame that counts already"),
                ("again", "second copies"),
                ("aside", "set aside"),
            )
            if added.count(kind)
        ]
        said = f"{read} of {added.files_count} files read: {', '.join(parts)}"
    waiting = sum(one.frames_count for one in lost)
    return f"{said}." + (f" Without a target: {waiting}." if waiting else "")


def _of_other_kinds(added: Added) -> str:
    """Say what lies there instead, and how its hours can count."""
    if not added.others_count:
        return ""
    one = added.others_count == 1
    kinds = f" ({', '.join(added.other_kinds[:MOST_KINDS])})" if added.other_kinds else ""
    return (
        f" {added.others_count} file{' of another kind' if one else 's of other kinds'}{kinds} "
        f'{"is" if one else "are"} not read; hours go in with "sidelight ledger hours".'
    )


def without_target(notebook: Notebook, ledger: Ledger) -> tuple[WithoutTarget, ...]:
    """Return the frames that belong to no target, together by name and reason."""
    groups: dict[tuple[str, str], list[KeptFrame]] = {}
    for kept in frames_where(ledger.connection, _WAITING):
        groups.setdefault((kept.frame.object_name, kept.match.reason), []).append(kept)
    return tuple(
        WithoutTarget(
            object_name,
            reason,
            len(frames),
            sum(one.frame.hours_h for one in frames),
            frames[0].frame.file.path,
            _advice(notebook, object_name, frames[0]),
        )
        for (object_name, reason), frames in groups.items()
    )


def _advice(notebook: Notebook, object_name: str, kept: KeptFrame) -> str:
    """Say what to do with frames that belong to no target."""
    by_hand = '"sidelight ledger assign" gives them to a target by hand'
    if "beyond its" in kept.match.reason:
        return f"Raise match_within_arcmin in campaign.toml if they belong there, or {by_hand}."
    found = object_called(object_name) if object_name else None
    listed = meant_by(object_name, notebook.targets) if object_name else ()
    if listed:
        names = " and ".join(target.key for target in listed)
        is_named = object_name in {target.key for target in listed}
        stands = f"{names} is" if is_named else f'"{object_name}" is {names}'
        return f"{stands} on your list; {by_hand}."
    if found is not None:
        return f'Put "{usual_name(found)}" on the list in targets.toml and add the folder again, or {by_hand}.'
    return f"{by_hand}; frames that you do not want can be excluded."


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
