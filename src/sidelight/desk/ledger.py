"""What was collected: folders of frames taken in, what does not count, hours entered by hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sidelight.desk.collected import ledger_of
from sidelight.desk.frames import compute_for, rejection_of, target_places
from sidelight.ground.errors import BadInput, Problem
from sidelight.ledger.adding import Added, Progress, add_folders
from sidelight.ledger.kept import KeptFrame, frames_where
from sidelight.ledger.recording import rematch
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
