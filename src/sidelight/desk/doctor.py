"""What the program, its data, this computer and a notebook look like, and what of it is odd; nothing is changed."""

import datetime as dt
import platform
import shutil
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from sidelight import __version__
from sidelight.desk.clock import zone_label
from sidelight.desk.doctor_ledger import ledger_findings
from sidelight.desk.examined import Finding, fine, note, odd
from sidelight.desk.untouched import untouched_findings
from sidelight.ground.errors import BadInput, SidelightError, did_you_mean
from sidelight.notebook.read import Notebook, read_notebook
from sidelight.notebook.schema.pages import FILES
from sidelight.sky.site import site_doubts

WRITTEN_AFTER = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
"""No copy of this program existed before: a clock that says so is wrong."""
LAST_SENSIBLE = dt.datetime(2100, 1, 1, tzinfo=dt.UTC)
LEAST_FREE_BYTES = 200_000_000
AHEAD = dt.timedelta(days=1)
"""A file that much newer than now tells of a wrong clock, here or where the file was written."""


@dataclass(frozen=True)
class DoctorReport:
    """Everything looked at, in order. sound : nothing is odd. notebook : None when none was looked at."""

    version: str
    notebook: str | None
    sound: bool
    findings: tuple[Finding, ...]
    sentence: str


def doctor_report(folder: Path, *, named: bool, now: dt.datetime | None = None) -> DoctorReport:
    """Look at program, data, computer and notebook.

    named : the person named the folder; if not, a folder without a site.toml is no notebook and is left alone.
    now : the machine's own clock unless given. Raises nothing for what it finds.
    """
    moment = now or dt.datetime.now(dt.UTC)
    looked = named or (folder / "site.toml").exists()
    findings = [*_program(), *_data(), *_computer(moment)]
    if looked:
        findings += _notebook(folder, moment)
    else:
        findings.append(
            note("notebook", "folder", "Here is no notebook; name a notebook's folder to have it looked at.")
        )
    count = sum(one.state == "odd" for one in findings)
    sentence = "Nothing is odd." if not count else f"{count} thing{'s are' if count > 1 else ' is'} odd."
    return DoctorReport(__version__, str(folder) if looked else None, not count, tuple(findings), sentence)


def _program() -> Iterator[Finding]:
    """Look at Python and the libraries that the program asks for."""
    yield fine("program", "Sidelight", __version__)
    yield fine("program", "Python", f"{platform.python_version()}, {platform.system()} {platform.machine()}")
    from importlib.metadata import PackageNotFoundError, requires, version

    for name, least in _needed(requires("sidelight") or []):
        try:
            have = version(name)
        except PackageNotFoundError:
            yield odd("program", name, f'It is not installed. Run "pip install {name}" where Sidelight is installed.')
            continue
        if least and _figures(have) < _figures(least):
            yield odd("program", name, f'{have} is too old. Run "pip install --upgrade {name}"; {least} is needed.')
        else:
            yield fine("program", name, have)


def _needed(lines: list[str]) -> Iterator[tuple[str, str]]:
    """Yield the libraries needed at run time with their least versions, from the package's own record."""
    for line in lines:
        if "extra ==" not in line:
            name, _, least = line.partition(">=")
            yield name.strip(), least.split(",")[0].strip()


def _figures(version: str) -> tuple[int, ...]:
    """Return a version's leading numbers, such as (2, 0, 1)."""
    parts: list[int] = []
    for part in version.split("."):
        if not part.isdecimal():
            break
        parts.append(int(part))
    return tuple(parts)


def _data() -> Iterator[Finding]:
    """Look at the data that ship: stars, objects, time zones, leap seconds."""
    for name, look in (
        ("star catalogue", _stars),
        ("objects", _objects),
        ("time zones", _zones),
        ("leap seconds", _leap_seconds),
    ):
        yield _looked("data", name, look)


def _looked(part: Literal["data", "notebook"], name: str, look: Callable[[], str]) -> Finding:
    """Return what a look gives; a refusal or a broken library is something odd."""
    try:
        return fine(part, name, look())
    except SidelightError as error:
        return odd(part, name, str(error.problems[0]))
    except (ImportError, OSError, ValueError) as error:
        return odd(part, name, f"It cannot be read ({error}). Install Sidelight again.")


def _stars() -> str:
    """Check the whole file of the star catalogue against its checksum."""
    from sidelight.stars.catalogue import EMBEDDED_FILE
    from sidelight.stars.packed import PackedCatalogue

    catalogue = PackedCatalogue.open(EMBEDDED_FILE)
    catalogue.verify()
    return f"{catalogue.name}, {len(catalogue):,} stars to {catalogue.depth_mag:.1f} mag; its checksum is right."


def _objects() -> str:
    """Read the whole table of objects."""
    from importlib.metadata import version

    from sidelight.targets.catalogue import objects

    return f"OpenNGC (pyongc {version('pyongc')}), {len(objects()):,} objects."


def _zones() -> str:
    """Count the time zones and read one."""
    from importlib.metadata import version
    from zoneinfo import ZoneInfo, available_timezones

    ZoneInfo("Europe/Vienna")
    return f"{len(available_timezones())} zones (tzdata {version('tzdata')})."


def _leap_seconds() -> str:
    """Say up to when leap seconds are known; none is ever fetched."""
    import erfa

    last = erfa.leap_seconds.get()[-1]
    return f"The last one known is of {int(last['year'])}-{int(last['month']):02d} (TAI−UTC {last['tai_utc']:.0f} s)."


def _computer(now: dt.datetime) -> Iterator[Finding]:
    """Look at the machine's clock and say its zone."""
    offset = now.astimezone().strftime("%z")
    said = f"{now.astimezone(dt.UTC):%Y-%m-%d %H:%M} UTC; this computer's own zone is UTC{offset[:3]}:{offset[3:5]}."
    if now < WRITTEN_AFTER or now > LAST_SENSIBLE:
        yield odd("computer", "clock", f"{said} It is wrong: set it, or give every command its --date.")
    else:
        yield fine("computer", "clock", said)


def _notebook(folder: Path, now: dt.datetime) -> Iterator[Finding]:
    """Look at a folder: its files, what they say, whether they can be changed."""
    try:
        book = read_notebook(folder)
    except BadInput as error:
        for problem in error.problems:
            yield odd("notebook", problem.file or "folder", str(replace(problem, file=None)))
        book = None
    if not folder.is_dir():
        return
    if book is not None:
        yield from _contents(book, now)
    yield from _folder(folder, now)
    yield _deeper_stars(folder)
    yield from ledger_findings(folder)


def _contents(book: Notebook, now: dt.datetime) -> Iterator[Finding]:
    """Say what a sound notebook holds, and what is possible but often a slip."""
    targets = len(book.targets)
    yield fine("notebook", "files", f"All are in order; {targets} target{'' if targets == 1 else 's'} on the list.")
    yield note("notebook", "site", f"{book.site.name}: {zone_label(book.site, now)}.")
    for doubt in site_doubts(book.site):
        yield odd("notebook", "site.toml", doubt)
    for doubt in book.notes:
        yield odd("notebook", "rig.toml", doubt)
    yield from untouched_findings(book.folder)
    kept = book.setup_in_use
    gone = [key for key in kept.targets if key not in {target.key for target in book.targets}] if kept else []
    if kept and gone:
        names = ", ".join(gone)
        yield odd("notebook", "setups.toml", f'"{kept.name}" is in use and names {names}, no longer on the list.')


def _folder(folder: Path, now: dt.datetime) -> Iterator[Finding]:
    """Look at the folder as the disk has it: can it be written, is there room, what lies about in it."""
    try:
        with tempfile.TemporaryFile(dir=folder):
            yield fine("notebook", "folder", "It can be written.")
    except OSError as error:
        yield odd("notebook", "folder", f"It cannot be written ({error.strerror}): plans work, changes do not.")
    free = shutil.disk_usage(folder).free
    room = f"{free / 1e9:.1f} GB free."
    yield fine("notebook", "disk", room) if free >= LEAST_FREE_BYTES else odd("notebook", "disk", f"Only {room}")
    for path in sorted(folder.iterdir()):
        yield from _lying_about(path)
        newer = path.stat().st_mtime - now.timestamp() if path.name in FILES else 0.0
        if newer > AHEAD.total_seconds():
            yield odd("notebook", path.name, "It was changed in the future: this computer's clock is wrong, or was.")


def _lying_about(path: Path) -> Iterator[Finding]:
    """Notice a file whose name is nearly one of a notebook's, and what an interrupted writing left."""
    if path.name.endswith(".part"):
        yield odd("notebook", path.name, "An interrupted writing left it; it can be deleted.")
    elif path.suffix.casefold() in (".toml", ".txt") and path.name not in FILES:
        near = did_you_mean(path.name, FILES)
        if near:
            yield odd("notebook", path.name, f"It is not read. {near}")


def _deeper_stars(folder: Path) -> Finding:
    """Look at the deeper stars that were fetched or taken in."""
    from sidelight.stars.cache import load_all

    pieces, damaged = load_all(folder / "stars")
    if damaged:
        names = ", ".join(path.name for path in damaged)
        return odd("notebook", "stars", f'{names}: damaged. Delete it, then run "sidelight stars fetch" again.')
    if not pieces:
        return note("notebook", "stars", "None but the shipped catalogue.")
    return fine("notebook", "stars", f"{len(pieces)} deeper field{'s' if len(pieces) > 1 else ''} on the disk.")
