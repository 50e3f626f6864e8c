"""README: its output is what the program prints, its pictures are what it draws, its commands work."""

import re
import shlex
import shutil
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.contract.test_reference_pages import builder

from sidelight.cli.main import COMMANDS, sidelight
from sidelight.desk.demo_image import first_image
from sidelight.notebook.read import read_notebook

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    """Run the demo as the README says; return what it printed and its folder."""
    folder = tmp_path_factory.mktemp("readme")
    return builder("build_readme").run_demo(folder), folder / "sidelight-demo"


def test_the_output_shown_is_what_the_demo_prints(demo: tuple[str, Path]) -> None:
    """README equals what its builder writes now (python builders/build_readme.py writes it)."""
    assert builder("build_readme").readme(demo[0]) == README


def test_the_pictures_shown_are_what_it_draws(demo: tuple[str, Path]) -> None:
    """Each picture in docs/pictures is byte for byte what the demo draws."""
    for name, shown in builder("build_readme").PICTURES.items():
        drawn = (demo[1] / "pictures" / name).read_bytes()
        assert drawn == (ROOT / "docs" / "pictures" / shown).read_bytes(), shown


def test_what_the_demo_says_to_open_is_there(demo: tuple[str, Path]) -> None:
    """Every path that the demo names exists."""
    named = re.findall(r"^  (sidelight-demo\S+)$", demo[0], flags=re.MULTILINE)
    assert len(named) >= 3
    assert all((demo[1].parent / path).is_file() for path in named)


def test_each_command_of_the_readme_runs(tmp_path: Path, demo_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each "sidelight WORD my-garden" line works on a notebook of that name, in the README's order."""
    shutil.copytree(demo_folder, tmp_path / "my-garden")
    monkeypatch.chdir(tmp_path)
    Path("frames").mkdir()
    Path("first-image.fits").write_bytes(first_image(read_notebook(Path("my-garden")).rig, 57.2))
    lines = re.findall(r"^sidelight (.+)$", README, flags=re.MULTILINE)
    assert len(lines) >= 12
    for line in lines:
        words = shlex.split(line)
        if words[0] == "init":
            assert CliRunner().invoke(sidelight, [words[0], "--help"]).exit_code == 0
            continue
        dated = [] if words[0] in ("stars", "ledger") else ["--date", "2027-03-06"]
        result = CliRunner().invoke(sidelight, [*words, *dated])
        assert result.exit_code == 0, f"{line}: {result.output}"


def test_every_command_is_named() -> None:
    """A stranger learns from the README of everything that the program can do."""
    assert all(f"sidelight {word}" in README or f"start.py {word}" in README for word in COMMANDS)


def test_every_page_is_linked_and_every_link_leads_somewhere() -> None:
    """Each page of docs can be reached from the README, and no link of README or docs is dead."""
    seen: set[Path] = set()
    ahead = [ROOT / "README.md"]
    while ahead:
        page = ahead.pop()
        seen.add(page)
        for link in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            if link.startswith(("https:", "http:")):
                continue
            there = (page.parent / link).resolve()
            if (ROOT / "builders" / f"build_{there.stem}.py").exists() and not there.exists():
                continue  # a page that is written by a run, and has a test of its own
            assert there.exists(), f"{page.name}: {link}"
            if there.suffix == ".md" and there not in seen:
                ahead.append(there)
    assert set((ROOT / "docs").rglob("*.md")) <= seen


def test_it_is_short() -> None:
    """Nobody reads a long README; the first screen holds the job, one command and the picture."""
    lines = README.splitlines()
    assert len(lines) <= 150
    assert any("start.py demo" in line for line in lines[:15])
    assert any("dial.svg" in line for line in lines[:20])


def test_the_python_floor_is_the_same_everywhere() -> None:
    """README, start.py and pyproject.toml ask for the same Python."""
    floor = re.search(r'requires-python = ">=(\d+\.\d+)"', (ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert floor is not None
    assert f"Python {floor[1]} or newer" in README
    assert f"Python {floor[1]} or newer" in (ROOT / "start.py").read_text(encoding="utf-8")
    assert sys.version_info >= tuple(map(int, floor[1].split(".")))
