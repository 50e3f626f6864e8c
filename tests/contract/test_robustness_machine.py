"""The machine: a read-only folder, a full disk, two programs at once, other time zones, encodings and clocks."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from sidelight.notebook.edit import add_target
from sidelight.notebook.read import read_notebook

DATE = ("--date", "2027-03-06")
POSIX = pytest.mark.skipif(os.name == "nt", reason="POSIX only: file modes and limits of a process")
NO_OVERRIDE = 24, 1
"""prctl(2): drop from the bounding set; capability 1 lets the superuser write where nobody may."""


def run(
    *words: str, before: Callable[[], None] | None = None, code: str = "", env: dict[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run the command in a process of its own, after some code of another."""
    python = [sys.executable, *(["-c", code] if code else ["-m", "sidelight"])]
    return subprocess.run(
        [*python, *words], capture_output=True, check=False, preexec_fn=before, env={**os.environ, **(env or {})}
    )


@pytest.fixture
def garden(tmp_path: Path, demo_folder: Path) -> Path:
    """Return a copy of the demo's notebook."""
    folder = tmp_path / "garden"
    folder.mkdir()
    for path in demo_folder.iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    return folder


def held(folder: Path) -> dict[str, bytes]:
    """Return every file of a folder."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def no_override() -> None:
    """Make the superuser obey file modes, as everybody else does."""
    import ctypes

    ctypes.CDLL(None).prctl(*NO_OVERRIDE, 0, 0, 0)


@POSIX
@pytest.mark.skipif(os.geteuid() == 0 and sys.platform != "linux", reason="the superuser writes everywhere")
def test_a_read_only_folder(garden: Path) -> None:
    """Plans work; a change, a card, a picture, a new notebook inside are refused in a sentence; nothing changes."""
    before = held(garden)
    garden.chmod(0o555)
    try:
        asked = {
            "season": run("season", str(garden), *DATE, "--nights", "3", before=no_override),
            "keep": run("setup", str(garden), *DATE, "--keep", "Spring", before=no_override),
            "card": run("bench", str(garden), *DATE, "--card", str(garden / "card.html"), before=no_override),
            "pictures": run("night", str(garden), *DATE, "--pictures", str(garden / "drawn"), before=no_override),
            "demo": run("demo", str(garden / "demo"), before=no_override),
            "doctor": run("doctor", str(garden), before=no_override),
        }
    finally:
        garden.chmod(0o755)
    assert asked["season"].returncode == 0, asked["season"].stderr
    for word in ("keep", "card", "pictures", "demo"):
        assert asked[word].returncode == 2, (word, asked[word].stderr)
        assert b"Traceback" not in asked[word].stderr
        assert b"ermission denied" in asked[word].stderr
    assert asked["doctor"].returncode == 1
    assert b"cannot be written" in asked["doctor"].stdout
    assert held(garden) == before


def small_files() -> None:
    """Let no file grow beyond some bytes, as on a disk that is full."""
    import resource

    resource.setrlimit(resource.RLIMIT_FSIZE, (64, 64))


@POSIX
def test_a_full_disk(garden: Path, tmp_path: Path) -> None:
    """What cannot be written whole is not written at all, and that is said; what was there stays."""
    before = held(garden)
    for words in (
        ("setup", str(garden), *DATE, "--keep", "Spring"),
        ("bench", str(garden), *DATE, "--card", str(garden / "card.html")),
        ("night", str(garden), *DATE, "--pictures", str(garden)),
        ("demo", str(tmp_path / "demo")),
    ):
        answer = run(*words, before=small_files)
        assert answer.returncode == 2, (words, answer.stderr)
        assert b"Traceback" not in answer.stderr
        assert b"annot be written" in answer.stderr
        assert held(garden) == before
    assert not (tmp_path / "demo").exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_nowhere_to_print(garden: Path) -> None:
    """A report that cannot be printed ends with 2 and a sentence, not with a traceback."""
    with Path("/dev/full").open("wb") as full:
        answer = subprocess.run(
            [sys.executable, "-m", "sidelight", "season", str(garden), *DATE, "--nights", "3"],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert answer.returncode == 2
    assert answer.stderr.startswith(b"sidelight: No space left on device")
    assert b"Traceback" not in answer.stderr


def test_programs_that_change_one_notebook_at_once(garden: Path) -> None:
    """Four programs add targets to one list: every target that was reported as added is there at the end."""
    code = (
        "import sys\nfrom pathlib import Path\nfrom sidelight.notebook.edit import add_target\n"
        "folder, first = Path(sys.argv[1]), int(sys.argv[2])\n"
        "for n in range(first, first + 6):\n"
        "    add_target(folder, {'name': f'Mine {n}', 'ra_deg': n / 10, 'dec_deg': 40.0, 'major_arcmin': 5.0})\n"
        "    print(f'Mine {n}', flush=True)\n"
    )
    started = [
        subprocess.Popen([sys.executable, "-c", code, str(garden), str(first)], stdout=-1, stderr=-1, text=True)
        for first in (100, 200, 300, 400)
    ]
    told = [one.communicate(timeout=120) for one in started]
    assert [one.returncode for one in started] == [0, 0, 0, 0], told
    added = {name for out, _ in told for name in out.split("\n") if name}
    assert len(added) == 24
    assert added <= {target.key for target in read_notebook(garden).targets}
    assert sorted(path.name for path in garden.iterdir()) == sorted(held(garden))


@POSIX
def test_a_program_that_does_not_finish_is_told(garden: Path) -> None:
    """While another program holds the notebook a change waits, then is refused with a sentence."""
    from sidelight.ground.errors import BadInput
    from sidelight.notebook.turns import own_turn

    with own_turn(garden), pytest.raises(BadInput, match="Another program"), own_turn(garden, wait_s=0.05):
        pass
    add_target(garden, "M 65")


def answers(garden: Path, env: dict[str, str] | None = None, code: str = "") -> list[object]:
    """Return the JSON of the four questions, read as whoever set this environment would read it."""
    got = []
    for word in ("season", "setup", "bench", "night"):
        short = ("--nights", "20") if word == "season" else ()
        answer = run(word, str(garden), *DATE, *short, "--json", env=env, code=code)
        assert answer.returncode == 0, answer.stderr
        encoding = (env or {}).get("PYTHONIOENCODING", "utf-8").split(":")[0]
        got.append(json.loads(answer.stdout.decode(encoding)))
    return got


OTHERS = {
    "zone ahead": {"TZ": "Pacific/Auckland"},
    "zone behind, C": {"TZ": "America/Adak", "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    "cp1252": {"TZ": "UTC", "PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"},
    "ascii": {"PYTHONIOENCODING": "ascii", "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
}
CLOCK = """
import datetime, time, sys
class Wrong(datetime.datetime):
    @classmethod
    def now(cls, tz=None):
        return cls.fromtimestamp({seconds}, tz)
datetime.datetime = Wrong
time.time = lambda: {seconds}.0
sys.argv[0] = "sidelight"
from sidelight.cli.main import main
main()
"""


@pytest.fixture(scope="module")
def plain(demo_folder: Path) -> list[object]:
    """Return the answers of this machine as it is."""
    return answers(demo_folder, {"PYTHONUTF8": "1"})


@pytest.mark.parametrize("other", OTHERS)
def test_another_zone_and_locale_change_nothing(demo_folder: Path, plain: list[object], other: str) -> None:
    """The JSON of every question is the same on a machine of another time zone, locale and encoding."""
    assert answers(demo_folder, OTHERS[other]) == plain


@pytest.mark.parametrize("seconds", [86400, 4_000_000_000])
def test_a_wrong_clock_changes_nothing_when_the_date_is_given(
    demo_folder: Path, plain: list[object], seconds: int
) -> None:
    """In 1970 and in 2096 by the machine's clock, the same date gives the same JSON."""
    assert answers(demo_folder, {"PYTHONUTF8": "1"}, CLOCK.format(seconds=seconds)) == plain


@pytest.mark.parametrize("seconds", [86400, 4_000_000_000])
def test_a_wrong_clock_without_a_date_stops_nothing(demo_folder: Path, seconds: int) -> None:
    """With no date the night of the wrong clock is planned or refused, without a traceback; the doctor tells."""
    code = CLOCK.format(seconds=seconds)
    answer = run("night", str(demo_folder), code=code)
    assert answer.returncode in (0, 1), answer.stderr
    assert b"Traceback" not in answer.stderr
    told = run("doctor", code=code)
    assert (told.returncode == 1) == (seconds == 86400)
