"""The machine: a read-only folder, a full disk, two programs at once, other time zones, encodings and clocks."""

import datetime as dt
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.spoilt.tiny import TARGETS
from tests.strategies.frames import write_light
from tests.strategies.served import client_at, series

from sidelight.desk.ledger import add_frames
from sidelight.desk.ledger_show import frames_report
from sidelight.notebook.edit import add_target
from sidelight.notebook.read import read_notebook

DATE = ("--date", "2027-03-06")
ROOT = Path(__file__).resolve().parents[2]
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


def held(folder: Path) -> dict[str, bytes]:
    """Return every file in and below a folder."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


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


@pytest.fixture
def collected(garden: Path, tmp_path: Path) -> Path:
    """Return the notebook with one frame in its ledger; beside it lie further frames and a table of stars."""
    add_frames(read_notebook(garden), [series(tmp_path / "before", 1, TARGETS[0])])
    series(tmp_path / "frames", 4, TARGETS[1])
    rows = "".join(f"{140 + n / 100},{21 + n / 100},11.5\n" for n in range(500))
    (tmp_path / "stars.csv").write_text(f"ra,dec,mag\n{rows}", encoding="utf-8")
    return garden


def changes(folder: Path) -> tuple[tuple[str, ...], ...]:
    """Return commands that write into the ledger and the stars."""
    beside = folder.parent
    return (
        ("ledger", "add", str(folder), str(beside / "frames")),
        ("ledger", "hours", str(folder), TARGETS[0], "2"),
        ("ledger", "exclude", str(folder), "frame0.fits"),
        ("stars", "import", str(folder), str(beside / "stars.csv")),
    )


@POSIX
def test_a_full_disk_under_ledger_and_stars(collected: Path) -> None:
    """Frames, hours, exclusions, stars that cannot be written are refused; ledger and notebook stay as they were."""
    before = held(collected)
    for words in changes(collected):
        answer = run(*words, before=small_files)
        assert answer.returncode == 2, (words, answer.stderr)
        assert b"Traceback" not in answer.stderr
        assert answer.stderr.strip()
        assert held(collected) == before, words
    assert [one.target for one in frames_report(read_notebook(collected)).frames] == [TARGETS[0]]
    for words in changes(collected)[::3]:
        assert run(*words).returncode == 0, words


@POSIX
@pytest.mark.skipif(os.geteuid() == 0 and sys.platform != "linux", reason="the superuser writes everywhere")
def test_a_read_only_folder_under_ledger_and_stars(collected: Path) -> None:
    """What was collected is shown; what would be written is refused in a sentence, and nothing changes."""
    before = held(collected)
    for path in collected.iterdir():
        path.chmod(0o444)
    collected.chmod(0o555)
    try:
        shown = run("ledger", "show", str(collected), before=no_override)
        refused = [run(*words, before=no_override) for words in changes(collected)]
    finally:
        collected.chmod(0o755)
        for path in collected.iterdir():
            path.chmod(0o644)
    assert shown.returncode == 0, shown.stderr
    for answer in refused:
        assert answer.returncode == 2, answer.stderr
        assert b"Traceback" not in answer.stderr
        assert answer.stderr.strip()
    assert held(collected) == before


PAGE = """
import sys
from pathlib import Path
from tests.strategies.served import client_at
page = client_at(Path(sys.argv[1]))
for method, path, body in (
    ("POST", "/api/targets", {"name": "M 51"}),
    ("POST", "/api/ledger/hours", {"target": "M 81", "hours_h": 2.0}),
    ("PUT", "/api/notebook/skyline", {"points_deg": [[0, 10], [90, 20]]}),
    ("PUT", "/api/goals", {"goals": [{"target": "M 81", "hours_h": 3.0}]}),
):
    answer = page.ask(method, path, json=body)
    print(answer.status_code, answer.json()["kind"] if answer.status_code >= 400 else "fine")
print(page.get("/api/season?date=2027-03-06&nights=3").status_code, "fine")
"""


@POSIX
@pytest.mark.skipif(os.geteuid() == 0 and sys.platform != "linux", reason="the superuser writes everywhere")
@pytest.mark.parametrize("trouble", ["full", "read-only"])
def test_a_page_whose_folder_takes_nothing(garden: Path, trouble: str) -> None:
    """On a full disk and in a read-only folder the page shows and refuses to change, in the shape of refusals."""
    before = held(garden)
    if trouble == "read-only":
        garden.chmod(0o555)
    try:
        prepare = small_files if trouble == "full" else no_override
        answer = run(str(garden), before=prepare, code=PAGE, env={"PYTHONPATH": str(ROOT)})
    finally:
        garden.chmod(0o755)
    assert answer.stdout.decode().split("\n")[:-1] == [*["422 bad_input"] * 4, "200 fine"], answer.stderr
    assert held(garden) == before


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


def test_programs_that_add_to_one_ledger_at_once(garden: Path, tmp_path: Path) -> None:
    """Three programs take frames in at once, one of them the same as another: each frame is there, and once."""
    for folder in (0, 1):
        for number in range(8):
            start = dt.datetime(2027, 3, 6, 20, number, tzinfo=dt.UTC)
            path = tmp_path / f"frames {folder}" / f"{number}.fits"
            write_light(path, start, object_name=TARGETS[folder], seed=8 * folder + number)
    folders = [tmp_path / f"frames {number}" for number in (0, 1, 1)]
    started = [
        subprocess.Popen(
            [sys.executable, "-m", "sidelight", "ledger", "add", str(garden), str(one)], stdout=-1, stderr=-1
        )
        for one in folders
    ]
    told = [one.communicate(timeout=120) for one in started]
    assert [one.returncode for one in started] == [0, 0, 0], told
    assert len(frames_report(read_notebook(garden)).frames) == 16


def test_page_and_command_at_once(garden: Path) -> None:
    """While a program adds targets and hours, the page does: nothing that either reported is lost."""
    code = (
        "import sys\nfrom pathlib import Path\nfrom sidelight.notebook.edit import add_target\n"
        "from sidelight.desk.ledger_decisions import enter_hours\nfrom sidelight.notebook.read import read_notebook\n"
        "folder = Path(sys.argv[1])\n"
        "for n in range(6):\n"
        "    add_target(folder, {'name': f'Theirs {n}', 'ra_deg': n / 10, 'dec_deg': 40.0, 'major_arcmin': 5.0})\n"
        "    enter_hours(read_notebook(folder), 'M 81', 1.0)\n"
    )
    other = subprocess.Popen([sys.executable, "-c", code, str(garden)], stdout=-1, stderr=-1)
    page = client_at(garden)
    names = ("M 51", "M 63", "M 94", "M 106", "M 101", "M 109")
    done = [page.post("/api/targets", json={"name": name}).status_code for name in names]
    done += [page.post("/api/ledger/hours", json={"target": "M 81", "hours_h": 1.0}).status_code for _ in names]
    out, err = other.communicate(timeout=120)
    assert other.returncode == 0, (out, err)
    assert done == [200] * 12
    keys = {target.key for target in read_notebook(garden).targets}
    assert {*names, *(f"Theirs {n}" for n in range(6))} <= keys
    assert len(page.get("/api/ledger").json()["by_hand"]) == 12


@POSIX
def test_a_program_that_does_not_finish_is_told(garden: Path) -> None:
    """While another program holds the notebook a change waits, then is refused with a sentence."""
    from sidelight.ground.errors import BadInput
    from sidelight.notebook.turns import own_turn

    with own_turn(garden), pytest.raises(BadInput, match="Another program"), own_turn(garden, wait_s=0.05):
        pass
    add_target(garden, "M 65")


def answers(garden: Path, env: dict[str, str] | None = None, code: str = "") -> list[object]:
    """Return the JSON of the season and of a night with its set-up, read as by whoever set this environment."""
    got = []
    for word in ("season", "night"):
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
    """The JSON is the same on a machine of another time zone, locale and encoding."""
    assert answers(demo_folder, OTHERS[other]) == plain


STRANGE = {
    "Turkish": {"LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8", "LANGUAGE": "tr"},
    "German": {"LC_ALL": "de_DE.UTF-8", "LC_NUMERIC": "de_DE.UTF-8", "TZ": "Europe/Berlin"},
    "Arabic, its digits": {"LC_ALL": "ar_EG.UTF-8", "LANG": "ar_EG.UTF-8", "TZ": "Africa/Cairo"},
    "a locale that is none": {"LC_ALL": "xx_YY.NONE", "LANG": "\x01"},
    "zones that are none": {"TZ": ":::/nowhere"},
    "a zone of its own rules": {"TZ": "ABC-13:37DEF,J1,J365"},
    "no home, no path, no terminal": {"HOME": "/nowhere", "PATH": "", "TERM": "nonsense", "COLUMNS": "x"},
}
IN_ITS_LOCALE = """
import locale, sys
for name in ("", "C"):
    try:
        locale.setlocale(locale.LC_ALL, name)
        break
    except locale.Error:
        pass
sys.argv[0] = "sidelight"
from sidelight.cli.main import main
main()
"""
"""As a program would that follows the machine's locale; where the machine does not have it, in none."""


@pytest.fixture(scope="module")
def locales(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with locales made for these tests, where the system has what they are made from."""
    folder = tmp_path_factory.mktemp("locales")
    for name in ("tr_TR", "de_DE", "ar_EG"):
        if shutil.which("localedef"):
            words = ["localedef", "-i", name, "-f", "UTF-8", str(folder / f"{name}.UTF-8")]
            subprocess.run(words, check=False, capture_output=True)
    return folder


@pytest.mark.parametrize("strange", STRANGE)
def test_strange_surroundings_change_nothing(
    demo_folder: Path, plain: list[object], locales: Path, strange: str
) -> None:
    """Locales with other letters, commas and digits, ones that do not exist, absurd zones: the same JSON."""
    env = {"PYTHONUTF8": "1", "LOCPATH": str(locales), **STRANGE[strange]}
    answer = run("night", str(demo_folder), *DATE, "--json", code=IN_ITS_LOCALE, env=env)
    assert answer.returncode == 0, answer.stderr
    assert json.loads(answer.stdout) == plain[-1]


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
    page = run("serve", str(demo_folder), "--get", "/night", code=code)
    assert page.returncode in (0, 2), page.stderr
    assert b"Traceback" not in page.stderr
    told = run("doctor", code=code)
    assert (told.returncode == 1) == (seconds == 86400)
