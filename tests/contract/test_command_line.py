"""The command's promises: help for every word, exit codes, nothing written on an error, a quick start."""

import json
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from sidelight.cli.main import COMMANDS, LazyGroup, sidelight


def run(*words: str, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run the command as a person would, in a process of its own, standing in a folder."""
    command = [sys.executable, "-m", "sidelight", *words]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False, cwd=folder)


@pytest.mark.parametrize("word", COMMANDS)
def test_every_word_explains_itself(word: str) -> None:
    """Each command has a sentence of help, and a line of help for each of its options."""
    command = LazyGroup().get_command(click.Context(sidelight), word)
    assert command is not None
    assert command.name == word
    assert (command.help or "").strip()
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, f"{word} {parameter.name}"
    answer = CliRunner().invoke(sidelight, [word, "--help"])
    assert answer.exit_code == 0
    assert "\\" not in answer.output


def test_help_loads_nothing_heavy() -> None:
    """The list of commands needs neither NumPy nor the catalogues."""
    code = (
        "import sys\nfrom click.testing import CliRunner\nfrom sidelight.cli.main import sidelight\n"
        "assert CliRunner().invoke(sidelight, ['--help']).exit_code == 0\n"
        "print(sorted(set(sys.modules) & {'numpy', 'erfa', 'scipy', 'astropy', 'fastapi', 'tomlkit'}))"
    )
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[]"


def test_a_word_that_is_none_is_answered_with_the_near_one() -> None:
    """A misspelt command exits with 2."""
    answer = run("nigth")
    assert answer.returncode == 2
    assert "nigth" in answer.stderr


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        ("site.toml", "latitude_deg = 47.42", "latitude_deg = nan", "latitude_deg"),
        ("site.toml", "latitude_deg = 47.42", "latitude_deg = 147.42", "from -90 to 90"),
        ("site.toml", "latitude_deg = 47.42", "lattitude_deg = 47.42", 'Did you mean "latitude_deg"'),
        ("site.toml", "Europe/Vienna", "Europe/Viena", 'Did you mean "Europe/Vienna"'),
        ("site.toml", "latitude_deg = 47.42", "latitude_deg = = 47.42", "line"),
        ("targets.toml", "NGC 2903", "NGC 29033", "There is no object"),
        ("rig.toml", "stem_radius_mm = 19", "stem_radius_mm = 5", "stem_radius_mm"),
        ("rig.toml", "width_px = 1936", "width_px = 0", "width_px"),
    ],
)
def test_a_wrong_value_names_file_and_cure(
    tmp_path: Path, demo_folder: Path, file: str, old: str, new: str, told: str
) -> None:
    """A wrong value exits with 2, names the file and what is expected, and nothing is written."""
    folder = tmp_path / "garden"
    folder.mkdir()
    for path in demo_folder.iterdir():
        text = path.read_text(encoding="utf-8")
        assert path.name != file or old in text
        (folder / path.name).write_text(text.replace(old, new) if path.name == file else text, encoding="utf-8")
    before = sorted(folder.iterdir())
    answer = run("setup", str(folder), "--date", "2027-03-06", "--pictures", str(folder / "pictures"))
    assert answer.returncode == 2, answer.stderr
    assert file in answer.stderr
    assert told in answer.stderr
    assert "Traceback" not in answer.stderr
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("horizon.txt", b"", "no points"),
        ("horizon.txt", b"10 5\n10 6\n", "10"),
        ("horizon.txt", b"10 five\n", "line 1"),
        ("site.toml", b"\x00\x01\x02", "not a text file"),
        ("rig.toml", b"\xff\xfe\x00", "UTF"),
        ("targets.toml", b"[[target]\n", "line 1"),
    ],
)
def test_files_that_are_not_what_they_say(
    tmp_path: Path, demo_folder: Path, name: str, content: bytes, told: str
) -> None:
    """An empty or repeated horizon, a file that is not text, and broken TOML each get a clear error."""
    folder = tmp_path / "garden"
    folder.mkdir()
    for path in demo_folder.iterdir():
        (folder / path.name).write_bytes(content if path.name == name else path.read_bytes())
    answer = run("season", str(folder), "--date", "2027-03-06")
    assert answer.returncode == 2, answer.stderr
    assert name in answer.stderr
    assert told in answer.stderr
    assert "Traceback" not in answer.stderr


def test_many_errors_at_once(tmp_path: Path, demo_folder: Path) -> None:
    """Errors in several files are all reported in one go."""
    folder = tmp_path / "garden"
    folder.mkdir()
    for path in demo_folder.iterdir():
        text = path.read_text(encoding="utf-8").replace("47.42", "999").replace("M 96", "M 996").replace("1624", "-1")
        (folder / path.name).write_text(text, encoding="utf-8")
    answer = run("season", str(folder))
    assert answer.returncode == 2
    assert all(file in answer.stderr for file in ("site.toml", "targets.toml", "rig.toml"))
    assert "things to mend; nothing was written" in answer.stderr


def test_a_notebook_is_never_overwritten(demo_folder: Path) -> None:
    """Demo and init refuse a folder that holds a notebook, before they ask anything."""
    before = {path.name: path.read_bytes() for path in demo_folder.iterdir()}
    for words in (("demo", str(demo_folder)), ("init", str(demo_folder), "--no-questions")):
        answer = run(*words)
        assert answer.returncode == 2
        assert "nothing is overwritten" in answer.stderr
    assert {path.name: path.read_bytes() for path in demo_folder.iterdir()} == before


def test_init_from_flags(tmp_path: Path) -> None:
    """A notebook from flags alone answers a question at once; every file it wrote is text with comments."""
    folder = tmp_path / "mine"
    answers = {
        "site.latitude_deg": "-34.6",
        "site.longitude_deg": "20.1",
        "site.elevation_m": "120",
        "site.time_zone": "Africa/Johannesburg",
        "rig.telescope.aperture_mm": "150",
        "rig.telescope.focal_length_mm": "900",
        "rig.camera.width_px": "4000",
        "rig.camera.height_px": "3000",
        "rig.camera.pixel_um": "3.8",
    }
    flags = [part for key, value in answers.items() for part in ("--set", f"{key}={value}")]
    made = run("init", str(folder), *flags, "--target", "NGC 253", "--no-questions")
    assert made.returncode == 0, made.stderr
    assert all("#" in path.read_text(encoding="utf-8") for path in folder.iterdir())
    answer = run("season", str(folder), "--date", "2027-08-01", "--json")
    assert answer.returncode == 0, answer.stderr
    assert json.loads(answer.stdout)["targets"][0]["target"] == "NGC 253"


def test_init_without_answers_says_all_that_is_missing(tmp_path: Path) -> None:
    """What flags do not give is named key by key, and nothing is written."""
    answer = run("init", str(tmp_path / "mine"), "--no-questions")
    assert answer.returncode == 2
    assert "--set site.latitude_deg=VALUE" in answer.stderr
    assert not (tmp_path / "mine").exists()


def test_wrong_words_are_answered_in_plain_ones(demo_folder: Path) -> None:
    """A misspelt command, a number that is none or out of reach, and an empty name say what is wanted instead."""
    notebook = str(demo_folder)
    told = {
        ("sesaon", notebook): 'Did you mean "season"?',
        ("setup", notebook, "--camera-angle", "abc"): "not a number of degrees, such as 57.2",
        ("season", notebook, "--nights", "9999"): "1 to 800 nights",
        ("setup", notebook, "--keep", ""): "needs a name",
        ("ledger", "hours", notebook, "M 81", "many"): "not a number of hours, such as 2.5",
    }
    for words, said in told.items():
        answer = run(*words)
        assert answer.returncode == 2, words
        assert said in answer.stderr, answer.stderr


def test_a_target_alone_is_enough_inside_the_notebook(demo_folder: Path) -> None:
    """Who stands in the notebook's folder may leave the folder out and name the target."""
    answer = run("exposure", "M 81", "--date", "2027-03-06", folder=demo_folder)
    assert answer.returncode == 0, answer.stderr
    assert ", M 81" in answer.stdout.splitlines()[0]
