"""start.py: it speaks on an old Python, leaves nothing half made, and installs only what changed."""

import ast
import os
import subprocess
import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from click.testing import CliRunner

from sidelight.cli.demo import how_it_is_called
from sidelight.cli.main import sidelight
from sidelight.ground.errors import BadInput

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "start.py").read_text(encoding="utf-8")


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """Return start.py as a module that believes to stand in an empty checkout."""
    spec = spec_from_file_location("start", ROOT / "start.py")
    assert spec
    assert spec.loader
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    here = tmp_path / "checkout"
    (here / "src/sidelight").mkdir(parents=True)
    (here / "pyproject.toml").write_text("one", encoding="utf-8")
    monkeypatch.setattr(module, "HERE", here)
    monkeypatch.setattr(module, "ENVIRONMENT", here / ".venv")
    return module


@pytest.fixture
def steps(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, ...]]:
    """Return the installations that start.py asks for; none is carried out, and the environment looks made."""
    python = start.environment_python()
    python.parent.mkdir(parents=True)
    python.write_text("", encoding="utf-8")
    asked: list[tuple[str, ...]] = []

    def pretend(*command: object) -> tuple[int, str]:
        asked.append(tuple(map(str, command)))
        return 0, ""

    monkeypatch.setattr(start, "run_with_a_clock", pretend)
    monkeypatch.setattr(start, "works", lambda *_: True)
    return asked


def test_its_syntax_is_old() -> None:
    """Python 3.6 can read it, and no annotation or import needs a newer one before it has said so."""
    tree = ast.parse(TEXT, feature_version=(3, 6))
    annotations = [
        note
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        for note in (node.returns, *(one.annotation for one in ast.walk(node.args) if isinstance(one, ast.arg)))
        if note is not None
    ]
    assert len(annotations) >= 10
    assert all(isinstance(note, ast.Name | ast.Constant) for note in annotations)
    assert "__future__" not in TEXT
    assert "removeprefix" not in TEXT


def test_an_old_python_is_told_first(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """The version is refused before anything is made."""
    monkeypatch.setattr(sys, "version_info", (3, 9, 2))
    monkeypatch.setattr(sys, "argv", ["start.py", "demo"])
    with pytest.raises(SystemExit, match=r"needs Python 3\.11 or newer"):
        start.main()
    assert not start.ENVIRONMENT.exists()


@pytest.mark.parametrize("trouble", [subprocess.CalledProcessError(1, "ensurepip"), ImportError("venv")])
def test_an_incomplete_venv_is_no_trap(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, trouble: Exception
) -> None:
    """Without ensurepip the half-made folder goes, and the package to install is named."""

    def half(folder: str, **_: Any) -> None:
        Path(folder, "bin").mkdir(parents=True)
        raise trouble

    monkeypatch.setattr("venv.create", half)
    with pytest.raises(SystemExit, match="sudo apt install python3-venv"):
        start.ready_environment()
    assert not start.ENVIRONMENT.exists()


def test_an_interrupted_venv_is_no_trap(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl+C while the environment is made leaves none."""

    def half(folder: str, **_: Any) -> None:
        Path(folder).mkdir()
        raise KeyboardInterrupt

    monkeypatch.setattr("venv.create", half)
    monkeypatch.setattr(sys, "argv", ["start.py", "demo"])
    with pytest.raises(SystemExit, match="run the same command again"):
        start.main()
    assert not start.ENVIRONMENT.exists()


def test_an_environment_without_pip_is_told(start: ModuleType) -> None:
    """A .venv whose Python cannot run pip is named and left alone."""
    start.ENVIRONMENT.mkdir()
    with pytest.raises(SystemExit, match="Delete that folder and run this again"):
        start.ready_environment()
    assert start.ENVIRONMENT.is_dir()


def test_installed_once(start: ModuleType, steps: list[tuple[str, ...]]) -> None:
    """Nothing is installed again until needs, version or place change; the test tools contain the demo's needs."""
    start.set_up(".")
    start.set_up(".")
    assert len(steps) == 1
    start.set_up(".[dev]")
    start.set_up(".")
    assert [step[-1] for step in steps] == [".", ".[dev]"]
    (start.HERE / "pyproject.toml").write_text("two", encoding="utf-8")
    start.set_up(".")
    assert len(steps) == 3
    (start.HERE / "src/sidelight/__init__.py").write_text('__version__ = "2"', encoding="utf-8")
    start.set_up(".")
    assert len(steps) == 4


def test_no_network(
    start: ModuleType,
    steps: list[tuple[str, ...]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A failed installation shows what pip said and what to do, and the next run tries again."""
    monkeypatch.setattr(start, "run_with_a_clock", lambda *_: (1, "Collecting numpy\nERROR: no route"))
    with pytest.raises(SystemExit, match="needs the network once"):
        start.set_up(".")
    assert "ERROR: no route" in capsys.readouterr().err
    assert not start.installed(".")
    assert not steps


def test_the_clock_returns_code_and_words(start: ModuleType, capfd: pytest.CaptureFixture[str]) -> None:
    """A step's words are kept, not shown; its exit code is its own."""
    code, said = start.run_with_a_clock(sys.executable, "-c", "print('over'); raise SystemExit(7)")
    assert (code, said.strip()) == (7, "over")
    assert capfd.readouterr().out == ""


def test_the_demo_is_made_where_one_stands(
    start: ModuleType, steps: list[tuple[str, ...]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The demo runs in the caller's folder, not in the checkout; what it makes there is not git's."""
    ran: list[tuple[list[str], Any]] = []
    monkeypatch.setattr("subprocess.call", lambda words, cwd=None, **_: ran.append((words, cwd)) or 0)
    monkeypatch.setattr(sys, "argv", ["start.py", "demo"])
    monkeypatch.chdir(tmp_path)
    start.main()
    assert ran == [([str(start.environment_python()), "-m", "sidelight", "demo", "sidelight-demo"], None)]
    assert steps
    assert "sidelight-demo/" in (ROOT / ".gitignore").read_text(encoding="utf-8").split()


def test_the_demo_names_a_call_that_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The name alone only where the shell finds this very program by it; else the path, short where it is inside."""
    scripts = Path(sys.executable).parent
    name = "sidelight.exe" if os.name == "nt" else "sidelight"
    monkeypatch.setenv("PATH", str(scripts))
    assert how_it_is_called() == "sidelight"
    monkeypatch.setenv("PATH", str(tmp_path))
    assert Path(how_it_is_called().strip('"') + name.removeprefix("sidelight")).samefile(scripts / name)
    monkeypatch.chdir(scripts.parent)
    assert how_it_is_called() == str(Path(scripts.name, "sidelight"))


def test_a_second_demo_is_answered_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It says how to see the one that is there and how to make another; nothing is touched."""
    monkeypatch.chdir(tmp_path)
    Path("sidelight-demo").mkdir()
    Path("sidelight-demo/site.toml").write_text("mine", encoding="utf-8")
    answer = CliRunner().invoke(sidelight, ["demo"])
    assert isinstance(answer.exception, BadInput)
    (problem,) = answer.exception.problems
    assert "serve sidelight-demo" in str(problem)
    assert "demo OTHER" in str(problem)
    assert [path.name for path in Path("sidelight-demo").iterdir()] == ["site.toml"]


def test_the_demos_first_image_is_answered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The check that the demo names runs and gives its advice."""
    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(sidelight, ["demo"]).exit_code == 0
    answer = CliRunner().invoke(sidelight, ["check", "sidelight-demo", "sidelight-demo/first-image.fits"])
    assert answer.exit_code == 0, answer.output
    assert answer.stdout.startswith("Better turn it")
