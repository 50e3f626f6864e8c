"""The ledger as tables: hours and effective hours by target, filter and night, what is missing, and every frame."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sidelight.desk.chosen import chosen_targets
from sidelight.desk.clock import utc
from sidelight.desk.collected import ledger_of, names_in, wanted_hours
from sidelight.desk.ledger import WithoutTarget, without_target
from sidelight.ledger import totals as sums
from sidelight.ledger.changes import HandHours, all_frames, hand_hours
from sidelight.ledger.kept import KeptFrame, frames_where
from sidelight.notebook.read import Notebook

_IDLE = "frames.target_key IS NULL OR copy_of IS NOT NULL OR frames.rejected OR excluded"
"""Frames that do not count."""


@dataclass(frozen=True)
class HoursRow:
    """Light that counts. filter "" : none was given, or all together. night null: all, or not given by hand.

    hours_h : of exposure; effective_hours_h : weighted by what the sky gave, 1 for this site's moonless zenith;
    unweighted_h : hours without a weight, which count in full; by_hand_h : entered by hand; east_h, west_h : by the
    side of the meridian, as far as it is known.
    """

    target: str
    filter: str
    night: dt.date | None
    frames_count: int
    hours_h: float
    effective_hours_h: float
    unweighted_h: float
    by_hand_h: float
    east_h: float
    west_h: float


@dataclass(frozen=True)
class MissingRow:
    """What a target still wants in a filter ("" for all together), effective hours."""

    target: str
    filter: str
    wanted_h: float
    collected_h: float
    missing_h: float


@dataclass(frozen=True)
class HandRow:
    """Hours entered by hand; number takes them back."""

    number: int
    target: str
    filter: str
    night: dt.date | None
    hours_h: float
    weight: float | None
    note: str


@dataclass(frozen=True)
class LedgerReport:
    """Everything collected.

    rows : by target, filter and night; by_filter, by_target, by_night : the same together. not_counted : how many
    frames do not count, by reason.
    """

    notebook: str
    sentence: str
    frames_count: int
    by_target: tuple[HoursRow, ...]
    by_filter: tuple[HoursRow, ...]
    by_night: tuple[HoursRow, ...]
    rows: tuple[HoursRow, ...]
    missing: tuple[MissingRow, ...]
    not_counted: dict[str, int]
    without_target: tuple[WithoutTarget, ...]
    by_hand: tuple[HandRow, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class FrameRow:
    """One frame. identity : its first letters name it in commands. why_not : why it does not count, else ""."""

    file: str
    identity: str
    target: str | None
    matched_by: str
    filter: str
    exposure_s: float
    start_utc: dt.datetime
    night: dt.date | None
    side: str | None
    altitude_deg: float | None
    weight: float | None
    counts: bool
    why_not: str
    present: bool
    notes: tuple[str, ...]


@dataclass(frozen=True)
class FramesReport:
    """Frames of the ledger in the order of time."""

    notebook: str
    frames: tuple[FrameRow, ...]


def ledger_report(notebook: Notebook) -> LedgerReport:
    """Return everything collected and what is missing; an empty ledger is a report, not an error."""
    with ledger_of(notebook) as ledger:
        names = names_in(ledger, notebook)
        rows = sums.totals(ledger, names)
        frames_count = int(ledger.connection.execute("SELECT count(*) FROM frames").fetchone()[0])
        idle = frames_where(ledger.connection, _IDLE)
        lost = without_target(notebook, ledger)
        entered = hand_hours(ledger)
    gaps = sums.missing(rows, wanted_hours(notebook))
    return LedgerReport(
        notebook=str(notebook.folder),
        sentence=_sentence(rows, gaps),
        frames_count=frames_count,
        by_target=_rows(sums.by_target(rows)),
        by_filter=_rows(sums.by_filter(rows)),
        by_night=_rows(sums.by_night(rows)),
        rows=_rows(rows),
        missing=tuple(
            MissingRow(one.target_key, one.filter_name, one.wanted_h, one.collected_h, one.missing_h) for one in gaps
        ),
        not_counted=_not_counted(idle),
        without_target=lost,
        by_hand=tuple(_hand_row(one) for one in entered),
        notes=_notes(notebook, rows, set(names.values())),
    )


def frames_report(
    notebook: Notebook, only: Sequence[str] = (), night: dt.date | None = None, *, not_counted: bool = False
) -> FramesReport:
    """Return the frames of some targets (all), of one night (all), or only those that do not count."""
    keys = {target.key for target in chosen_targets(notebook, tuple(only))} if only else None
    with ledger_of(notebook) as ledger:
        kept = all_frames(ledger)
    rows = [
        _frame_row(one)
        for one in kept
        if (keys is None or one.match.target_key in keys)
        and (night is None or one.computed.night == night)
        and not (not_counted and one.counts)
    ]
    return FramesReport(str(notebook.folder), tuple(rows))


def _rows(found: Iterable[sums.Total]) -> tuple[HoursRow, ...]:
    """Return totals as rows of the report."""
    return tuple(
        HoursRow(
            one.target_key,
            one.filter_name,
            one.night,
            one.frames_count,
            one.hours_h,
            one.effective_hours_h,
            one.unweighted_h,
            one.by_hand_h,
            one.east_h,
            one.west_h,
        )
        for one in found
    )


def _hand_row(one: HandHours) -> HandRow:
    """Return hours entered by hand as a row."""
    return HandRow(one.number, one.target_key, one.filter_name, one.night, one.hours_h, one.weight, one.note)


def _frame_row(one: KeptFrame) -> FrameRow:
    """Return a frame as a row."""
    return FrameRow(
        file=one.frame.file.path,
        identity=one.frame.identity,
        target=one.match.target_key,
        matched_by=one.match.by,
        filter=one.frame.filter_name,
        exposure_s=one.frame.exposure_s,
        start_utc=utc(one.frame.start_mjd),
        night=one.computed.night,
        side=one.computed.side,
        altitude_deg=one.computed.altitude_deg,
        weight=one.computed.weight,
        counts=one.counts,
        why_not=one.why_not,
        present=one.present,
        notes=one.frame.notes,
    )


def _not_counted(frames: Sequence[KeptFrame]) -> dict[str, int]:
    """Count frames that do not count, by reason."""
    reasons = Counter(
        "excluded" if one.excluded else "rejected" if one.rejected else "copies" if one.copy_of else "without target"
        for one in frames
    )
    return dict(sorted(reasons.items()))


def _sentence(rows: Sequence[sums.Total], gaps: Sequence[sums.Missing]) -> str:
    """Say how far the whole list is."""
    if not rows:
        return 'Nothing is collected yet. "sidelight ledger add" takes in a folder of frames.'
    hours, effective = sum(one.hours_h for one in rows), sum(one.effective_hours_h for one in rows)
    short = sum(one.missing_h for one in gaps)
    done = sum(one.missing_h <= 0 for one in gaps)
    return (
        f"{hours:.1f} h collected, worth {effective:.1f} effective hours; {short:.1f} are missing. "
        f"{done} of {len(gaps)} wishes are met."
    )


def _notes(notebook: Notebook, rows: Sequence[sums.Total], filters: set[str]) -> tuple[str, ...]:
    """Return what a person should know about the figures."""
    notes = []
    strange = sorted({one.filter_name for one in rows if one.filter_name and one.filter_name not in filters})
    if strange:
        notes.append(
            f"light.toml has no filter {', '.join(strange)}: these hours count in full, whatever the sky was. Add "
            'the filter there, then "sidelight ledger add --afresh".'
        )
    unweighted = sum(one.unweighted_h for one in rows if one.filter_name not in strange)
    if unweighted > 0:
        notes.append(
            f"{unweighted:.1f} h have no weight (no filter, no place, or entered by hand): they count in full."
        )
    listed = {target.key for target in notebook.targets}
    gone = sorted({one.target_key for one in rows} - listed)
    if gone:
        notes.append(f"No longer on the list of targets: {', '.join(gone)}; their hours stay.")
    return tuple(notes)
