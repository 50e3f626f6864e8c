"""Lines of the command, each sound one spoilt: options with wild values, arguments that are none of ours."""

import contextlib
import io
import os
import random
import re
import shutil
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from unittest import mock

import click
from tests.spoilt.records import Spoiling, Try
from tests.spoilt.tiny import TARGETS, WHEN, held, put_back, tiny_notebook
from tests.strategies.served import series, solved_image

from sidelight.cli import main as command_line
from sidelight.desk.demo import DATE
from sidelight.desk.keeping import TurnedPose, keep_turned
from sidelight.desk.ledger import add_frames
from sidelight.desk.open import open_notebook

NASTY = (
    "", " ", "x", "-", "--", "-1", "0", "1e9", "1000000000", "9" * 400, "1e308", "-1e308", "5e-324", "nan", "-nan",
    "inf", "-inf",
    "1e999", "0x10", "1_000", "1,5", "٣٤", "０", "true", "None", "0000-00-00", "0001-01-01", "9999-12-31",
    "2027-02-30", "1899-12-31",
    "2200-01-01", "+2027-03-06", "2027-W10-6", "20270306", "2027-03-06T21:00", "today", "\x1b[31mred\x1b[0m",
    "\x1b]0;title\x07",
    "a\nb", "a\rb", "\t", "\x7f", "\x9b2J", "\ufeff", "\udcff", "🔭", "e\u0301", "\u202egnp", "İSTANBUL", "ß",
    "y" * 5000, "M 31", "m81",
    "NGC 99999", TARGETS[0], TARGETS[0].lower(), "../x", "a/b", "C:\\x", "CON", "nul", "*", "?", "~", "~nobody",
    "$HOME", "%s%n", "{}",
    "<b>", "';--", "=", "a=b", "site.latitude_deg=", "site.latitude_deg=nan", "rig.camera.width_px=1e9", "1,2",
    "1,2,3,4", "nan,nan",
    "300,200,400,99", "First", "L", "Ha", "day", "both", "east", "http://127.0.0.1:9/", "/night?date=9999-99-99",
    "//", "frame0.fits",
)  # fmt: skip
"""No address that begins at the root: as somebody who may write anywhere, a test must not."""
HARMLESS_CONTROL = re.compile(r"\x1b\[\?25[lh]|[\r\n\t]")
CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")

SOUND: tuple[tuple[str, ...], ...] = (
    ("season", "N", "--date", WHEN, "--nights", "3", "--only", TARGETS[0], "--each-night"),
    ("season", "N", "--date", WHEN, "--nights", "2", "--json"),
    ("light", "N", "--date", WHEN, "--nights", "2", "--only", TARGETS[0], "--filter", "L"),
    ("exposure", "N", TARGETS[0], "--date", WHEN, "--hours", "5", "--brightness", "22", "--snr", "10", "--share",
    "10", "--star", "9"),
    ("setup", "N", "--date", WHEN, "--nights", "2", "--camera-angle", "40", "--grant-shift", "1", "--leave-out",
    TARGETS[1]),
    ("setup", "N", "--date", WHEN, "--nights", "2", "--stem-offset", "17", "--keep", "Spring"),
    ("bench", "N", "--date", WHEN, "--setup", "First", "--card", "card.html", "--look", "print"),
    ("night", "N", "--date", WHEN, "--setup", "First", "--pictures", "drawn"),
    ("campaign", "N", "--date", WHEN, "--nights", "3", "--weathers", "100", "--seed", "1", "--quick", "--csv",
    "plan.csv"),
    ("campaign", "N", "--date", WHEN, "--nights", "2", "--weathers", "100", "--quick", "--calendar", "plan.ics"),
    ("suggest", "N", "--date", WHEN, "--nights", "2", "--count", "2"),
    ("serve", "N", "--get", f"/night?date={WHEN}"),
    ("ledger", "show", "N", "--nights", "--csv", "hours.csv"),
    ("ledger", "add", "N", "frames"),
    ("ledger", "list", "N", "--target", TARGETS[0], "--night", WHEN),
    ("ledger", "hours", "N", TARGETS[0], "2.5", "--filter", "L", "--night", WHEN, "--weight", "1", "--note",
    "by hand"),
    ("ledger", "exclude", "N", "frame0.fits", "--reason", "wind"),
    ("ledger", "restore", "N", "frame0.fits"),
    ("ledger", "assign", "N", TARGETS[1], "frame0.fits"),
    ("ledger", "reject", "N", "list.txt"),
    ("check", "N", "solved.fits", "--date", WHEN, "--side", "west", "--guide-star", "300,200", "--setup", "First"),
    ("stars", "show", "N"),
    ("stars", "fetch", "N", "--limit", "12", "--also", "M 51"),
    ("stars", "import", "N", "stars.csv", "--name", "Mine", "--ra", "ra", "--dec", "dec", "--mag", "mag",
    "--complete-to", "12"),
    ("doctor", "N"),
    ("demo", "other"),
    ("init", "new", "--set", "site.latitude_deg=47.4", "--set", "site.longitude_deg=15", "--set",
    "site.time_zone=Europe/Vienna",
     "--set", "rig.telescope.aperture_mm=200", "--set", "rig.telescope.focal_length_mm=1600", "--set",
     "rig.camera.width_px=6248",
     "--set", "rig.camera.height_px=4176", "--set", "rig.camera.pixel_um=3.76", "--target", "M 51", "--no-questions"),
)  # fmt: skip
SERVES = "serve"


class Terminal(io.BytesIO):
    """A terminal that keeps what is written, also when the stream over it is closed."""

    def isatty(self) -> bool:
        """Say that it is one, so that nothing is stripped."""
        return True

    def close(self) -> None:
        """Stay open."""

    def text(self) -> str:
        """Return what was written."""
        return self.getvalue().decode("utf-8")


def options_of(words: tuple[str, ...]) -> list[str]:
    """Return the options that a command has."""
    group: click.Command = command_line.sidelight
    with click.Context(group) as context:
        for word in words:
            if isinstance(group, click.Group) and (found := group.get_command(context, word)):
                group = found
    return [name for one in group.params if isinstance(one, click.Option) for name in one.opts if name != "--port"]


def spoilt_line(line: tuple[str, ...], chance: random.Random) -> list[str]:
    """Return a line with up to three words replaced, lost, repeated, put elsewhere, or options added."""
    words = list(line)
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3))):
        at = chance.randrange(1, len(words)) if len(words) > 1 else 0
        kind = chance.randrange(8)
        if kind < 4:
            values = [n for n in range(1, len(words)) if not words[n].startswith("--")] or [at]
            words[chance.choice(values)] = chance.choice(NASTY)
        elif kind == 4:
            words += [chance.choice([*options_of(line), "--none-of-ours"]), chance.choice(NASTY)]
        elif kind == 5:
            words.insert(at, chance.choice(NASTY))
        elif kind == 6 and len(words) > 1:
            del words[at]
        else:
            words.append(words[at])
    return words


def said(words: list[str]) -> tuple[int, str, str]:
    """Run the command here and return its exit code, and what both streams show."""
    out, err = Terminal(), Terminal()
    exits: list[int] = []

    def stop(code: int) -> None:
        exits.append(code)
        raise SystemExit(code)

    with (
        mock.patch.object(sys, "argv", ["sidelight", *words]),
        mock.patch.object(sys, "stdin", io.StringIO("")),
        mock.patch.object(sys, "stdout", io.TextIOWrapper(out, "utf-8")),
        mock.patch.object(sys, "stderr", io.TextIOWrapper(err, "utf-8")),
        mock.patch.object(os, "_exit", stop),
    ):
        try:
            command_line.main()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
        sys.stdout.flush()
        sys.stderr.flush()
    return code, out.text(), err.text()


def make_ready(scratch: Path) -> tuple[Path, dict[str, bytes]]:
    """Lay out what the sound lines name, deep enough that a path that climbs stays inside."""
    here = scratch / "a" / "b" / "c"
    here.mkdir(parents=True)
    folder = tiny_notebook(here / "N")
    series(here / "frames", 2, TARGETS[0])
    solved_image(here / "solved.fits", folder, 1.0)
    (here / "list.txt").write_text("frame1.fits\n", encoding="utf-8")
    (here / "stars.csv").write_text("ra,dec,mag\n148.9,69.1,11.0\n143.0,21.5,11.5\n", encoding="utf-8")
    pose = TurnedPose(TARGETS[0], 148.888, 69.065, 40.0)
    keep_turned(open_notebook(folder), "First", [pose], 17.2, DATE, True, None)
    add_frames(open_notebook(folder), [here / "frames"])
    return here, held(here)


def mended(here: Path, files: dict[str, bytes]) -> None:
    """Put everything back as it was."""
    put_back(here, files)
    for path in here.iterdir():
        if path.is_dir() and not any(name.startswith(f"{path.name}{os.sep}") for name in files):
            shutil.rmtree(path)


@contextlib.contextmanager
def at_the_terminal(lines: tuple[tuple[str, ...], ...], scratch: Path) -> Iterator[Try]:
    """Make a notebook ready; each try takes the next of the sound lines, and spoils it."""
    here, files = make_ready(scratch)
    notebook = {name: data for name, data in files.items() if name.startswith("N" + os.sep)}

    def attempt(seed: int) -> bool:
        words = spoilt_line(lines[seed % len(lines)], random.Random(seed))
        if words[:1] == [SERVES] and "--get" not in words:
            words += ["--get", "/night"]  # else it would serve until somebody ends it
        try:
            code, out, err = said(words)
            assert code in (0, 1, 2), (code, err[-1500:])
            assert "Traceback" not in err, err[-1500:]
            for shown in (out, err):
                assert not CONTROL.search(HARMLESS_CONTROL.sub("", shown)), repr(shown[:500])
            now = held(here)
            if code == 2:
                assert err.strip() or out.strip()
                assert {name: data for name, data in now.items() if name.startswith("N" + os.sep)} == notebook
        except Exception as error:
            raise AssertionError(f"seed {seed}: {str(words)[:700]}: {type(error).__name__} {error}") from error
        finally:
            mended(here, files)
        return code == 0

    with contextlib.chdir(here), mock.patch("sidelight.stars.asking.FIRST_PAUSE_S", 0.0):
        yield attempt


def command_spoilings() -> tuple[Spoiling, ...]:
    """Return every way in which lines of the command are spoilt."""
    spoil = partial(Spoiling, "commands")
    how = "options and arguments with wild dates, numbers, names, escapes; lost, repeated, added"
    planning = tuple(line for line in SOUND if line[0] in ("season", "light", "exposure", "setup", "bench", "night"))
    coming = tuple(line for line in SOUND if line[0] in ("campaign", "suggest", "serve"))
    keeping = tuple(line for line in SOUND if line not in planning and line not in coming)
    return (
        spoil("season, light, exposure, setup, bench, night", how, 90, partial(at_the_terminal, planning), 0.5),
        spoil("campaign, suggest, serve", how, 30, partial(at_the_terminal, coming), 0.3),
        spoil("ledger, check, stars, doctor, demo, init", how, 100, partial(at_the_terminal, keeping), 0.5),
    )
