"""``sidelight ledger``: what was collected, what counts, what is missing."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

import click

from sidelight.cards.tables import records_csv
from sidelight.cli import options
from sidelight.cli.answers import Answer, answered, progress
from sidelight.cli.output import write_file
from sidelight.cli.words import counted, table
from sidelight.desk.ledger import AddReport
from sidelight.desk.ledger_decisions import ChangeReport
from sidelight.desk.ledger_show import FrameRow, FramesReport, HoursRow, LedgerReport

csv_option = options.file("--csv", "csv_file", meaning="Write the table there as CSV, for a spreadsheet.")
frames_argument = click.argument("frames", nargs=-1, required=True, metavar="FRAME...")
HOURS = options.Between(0, 10_000, "hours", "2.5")
MOST_LINES = 20
"""More than this is not read on a terminal; the rest is in the JSON answer."""


@click.group("ledger")
def command() -> None:
    """Frames and hours collected: take in folders, show what is missing, leave frames out."""


@command.command("add")
@options.notebook
@click.argument("folders", nargs=-1, type=click.Path(path_type=Path), metavar="FOLDER...")
@click.option("--afresh", is_flag=True, help="Match every frame once more, after a change of targets, site or sky.")
@answered()
def add(notebook: Path, folders: tuple[Path, ...], afresh: bool, answer: Answer) -> None:
    """Take in the light frames (FITS) in and below FOLDERs.

    Only headers are read. What is known is not read again, and nothing is counted twice: repeat it after every night.
    """
    from sidelight.desk.ledger import add_frames
    from sidelight.desk.open import open_notebook

    book = open_notebook(notebook)
    with progress("Frames") as tell:
        report = add_frames(book, folders, lambda done, whole: tell(done / max(1, whole)), afresh=afresh)
    answer.give(report, add_text)


def add_text(report: AddReport) -> str:
    """Return the report for a person at a terminal."""
    lines = [report.sentence]
    if report.copied_to:
        lines.append(f"The ledger was brought up to date; the older one is kept as {report.copied_to}.")
    if report.matched_count:
        lines.append(f"{counted(report.matched_count, 'frame')} known before: another target now.")
    if report.rejection_changed_count:
        lines.append(f"Rejected now, or no longer: {counted(report.rejection_changed_count, 'frame')}.")
    if report.gone_count:
        lines.append(f"No longer there: {counted(report.gone_count, 'file')}. What was collected still counts.")
    for group in report.without_target:
        name = f'"{group.object_name}"' if group.object_name else "without a name"
        lines += ["", f"{counted(group.frames_count, 'frame')} {name}, {group.hours_h:.1f} h. {group.reason}"]
        lines += [f"  such as {group.file}", f"  {group.advice}"]
    if report.aside:
        lines += ["", f"No light frames, or not to be used: {counted(len(report.aside), 'file')}."]
        lines += [f"  {one.file}: {one.reason}" for one in report.aside[:MOST_LINES]]
        if len(report.aside) > MOST_LINES:
            lines.append(f"  and {len(report.aside) - MOST_LINES} more (--json lists all).")
    lines += [f"Not opened: {place}: {reason}" for place, reason in report.unread]
    return "\n".join(lines)


@command.command("show")
@options.notebook
@click.option("--nights", "by_nights", is_flag=True, help="A row for each night, too.")
@answered()
@csv_option
def show(notebook: Path, by_nights: bool, answer: Answer, csv_file: Path | None) -> None:
    """Show hours and effective hours by target, filter and night, and what is missing."""
    from sidelight.desk.ledger_show import ledger_report
    from sidelight.desk.open import open_notebook

    report = ledger_report(open_notebook(notebook))
    if csv_file:
        write_file(csv_file, records_csv(HoursRow, report.rows))
    answer.give(report, lambda given: show_text(given, by_nights))


def show_text(report: LedgerReport, by_nights: bool = False) -> str:
    """Return the ledger for a person at a terminal."""
    lines = [report.sentence]
    rows = report.rows if by_nights else report.by_filter
    if rows:
        lines += ["", _hours_table(rows, by_nights)]
    if report.missing:
        lines += ["", _missing_table(report)]
    if report.not_counted:
        counts = ", ".join(f"{count} {reason}" for reason, count in report.not_counted.items())
        lines += ["", f"Of {report.frames_count} frames these do not count: {counts}."]
    lines += [
        f"By hand, number {one.number}: {one.target}, {one.hours_h:g} h {one.filter} {one.note}".rstrip()
        for one in report.by_hand
    ]
    lines += [f"Note: {note}" for note in report.notes]
    return "\n".join(lines)


def _hours_table(rows: Sequence[HoursRow], by_nights: bool) -> str:
    """Return hours as a table."""
    head = ["target", "filter", *(["night"] if by_nights else []), "frames", "hours", "effective", "east", "west"]
    cells = [
        [
            one.target,
            one.filter or "–",
            *([str(one.night) if one.night else "–"] if by_nights else []),
            str(one.frames_count),
            f"{one.hours_h:.2f}",
            f"{one.effective_hours_h:.2f}",
            f"{one.east_h:.2f}",
            f"{one.west_h:.2f}",
        ]
        for one in rows
    ]
    return table(head, cells, right=tuple(range(3 if by_nights else 2, len(head))))


def _missing_table(report: LedgerReport) -> str:
    """Return what is missing as a table."""
    head = ["target", "filter", "wanted", "collected", "missing"]
    cells = [
        [one.target, one.filter or "all", f"{one.wanted_h:.1f}", f"{one.collected_h:.1f}", f"{one.missing_h:.1f}"]
        for one in report.missing
    ]
    return table(head, cells, right=(2, 3, 4))


@command.command("list")
@options.notebook
@options.targets("--target", "targets")
@options.day("--night", "Only the night of this evening.")
@click.option("--not-counted", is_flag=True, help="Only frames that do not count, with the reason.")
@answered()
@csv_option
def list_(
    notebook: Path,
    targets: tuple[str, ...],
    night: dt.date | None,
    not_counted: bool,
    answer: Answer,
    csv_file: Path | None,
) -> None:
    """List the frames, in the order of time."""
    from sidelight.desk.ledger_show import frames_report
    from sidelight.desk.open import open_notebook

    report = frames_report(open_notebook(notebook), targets, night, not_counted=not_counted)
    if csv_file:
        write_file(csv_file, records_csv(FrameRow, report.frames))
    answer.give(report, list_text)


def list_text(report: FramesReport) -> str:
    """Return the frames for a person at a terminal."""
    if not report.frames:
        return "No frames."
    head = ["night", "start (UTC)", "target", "filter", "s", "side", "altitude", "weight", "file", ""]
    cells = [
        [
            str(one.night or "–"),
            f"{one.start_utc:%H:%M:%S}",
            one.target or "–",
            one.filter or "–",
            f"{one.exposure_s:g}",
            one.side or "–",
            "–" if one.altitude_deg is None else f"{one.altitude_deg:.0f}°",
            "–" if one.weight is None else f"{one.weight:.2f}",
            Path(one.file).name,
            one.why_not,
        ]
        for one in report.frames
    ]
    return table(head, cells, right=(4, 6, 7))


@command.command("exclude")
@options.notebook
@frames_argument
@click.option("--reason", default="", metavar="TEXT", help="Why, kept beside the frame.")
@answered()
def exclude(notebook: Path, frames: tuple[str, ...], reason: str, answer: Answer) -> None:
    """Let FRAMEs (file names) not count; nothing is deleted."""
    from sidelight.desk.ledger_decisions import exclude_frames
    from sidelight.desk.open import open_notebook

    answer.give(exclude_frames(open_notebook(notebook), frames, reason), change_text)


@command.command("restore")
@options.notebook
@frames_argument
@answered()
def restore(notebook: Path, frames: tuple[str, ...], answer: Answer) -> None:
    """Let excluded FRAMEs count again."""
    from sidelight.desk.ledger_decisions import restore_frames
    from sidelight.desk.open import open_notebook

    answer.give(restore_frames(open_notebook(notebook), frames), change_text)


@command.command("assign")
@options.notebook
@options.target()
@frames_argument
@answered()
def assign(notebook: Path, target: str, frames: tuple[str, ...], answer: Answer) -> None:
    """Give FRAMEs to TARGET by hand ("-" for no target); that stays, whatever their headers say."""
    from sidelight.desk.ledger_decisions import assign_frames
    from sidelight.desk.open import open_notebook

    answer.give(assign_frames(open_notebook(notebook), None if target == "-" else target, frames), change_text)


@command.command("reject")
@options.notebook
@click.argument("listed", metavar="LIST", type=options.FILE_THERE)
@answered()
def reject(notebook: Path, listed: Path, answer: Answer) -> None:
    """Reject the frames whose file names stand in LIST, one a line; they do not count."""
    from sidelight.desk.ledger_decisions import reject_listed
    from sidelight.desk.open import open_notebook

    answer.give(reject_listed(open_notebook(notebook), listed), change_text)


@command.command("hours")
@options.notebook
@options.target(required=False)
@click.argument("hours_h", metavar="[HOURS]", type=HOURS, required=False)
@click.option("--filter", "filter_name", default="", metavar="NAME", help="The filter, as in light.toml.")
@options.day("--night", "The evening's date.")
@click.option(
    "--weight",
    type=options.Between(0, 10, "effective hours an hour", "0.7"),
    help="What an hour was worth beside one at a dark zenith, such as 0.7 under some Moon [1].",
)
@click.option("--note", default="", metavar="TEXT", help="Anything worth remembering.")
@click.option("--remove", type=int, metavar="NUMBER", help="Take these hours back instead (see the number in show).")
@answered()
def hours(
    notebook: Path,
    target: str | None,
    hours_h: float | None,
    filter_name: str,
    night: dt.date | None,
    weight: float | None,
    note: str,
    remove: int | None,
    answer: Answer,
) -> None:
    """Enter HOURS on TARGET for which there are no files."""
    from sidelight.desk.ledger_decisions import enter_hours, take_back_hours
    from sidelight.desk.open import open_notebook

    if options.standing_in(notebook, hours_h):
        notebook, target, hours_h = Path(), str(notebook), HOURS.convert(target, None, None) if target else None
    book = open_notebook(notebook)
    if remove is not None:
        answer.give(take_back_hours(book, remove), change_text)
        return
    if target is None or hours_h is None:
        raise click.UsageError("Name the target and the hours, or --remove NUMBER.")
    entered = enter_hours(book, target, hours_h, filter_name=filter_name, night=night, weight_ratio=weight, note=note)
    answer.give(entered, change_text)


def change_text(report: ChangeReport) -> str:
    """Say what a decision changed."""
    return report.sentence
