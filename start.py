"""Set up everything and run the demo, or set up everything and pass the tests.

    python3 start.py demo [FOLDER]   a private environment in .venv, then the demo notebook, made where you stand
    python3 start.py test [ARGS...]  the same with the test tools, then all checks and tests

Needs Python 3.11 or newer and, the first time, the network or a local store of packages.
"""

# This file alone must speak on any Python 3, to say which one is needed: no new syntax, no new annotations.

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
ENVIRONMENT = HERE / ".venv"
STAMP = "sidelight-installed.txt"
SIZE = "about 75 MB to fetch, 360 MB on the disk, a minute or so"
"""Measured on Linux without the test tools; scipy, astropy and numpy are most of it."""


def environment_python() -> Path:
    """Return where the interpreter of the private environment is, or will be."""
    return ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def ready_environment() -> Path:
    """Return the interpreter of the private environment, made on first use; a half-made one is not left behind."""
    python = environment_python()
    if not ENVIRONMENT.exists():
        print("Making a private environment in .venv ...", flush=True)
        try:
            import venv  # noqa: PLC0415 - some systems ship Python without it

            venv.create(str(ENVIRONMENT), with_pip=True)
        except (ImportError, subprocess.CalledProcessError):
            shutil.rmtree(str(ENVIRONMENT), ignore_errors=True)
            sys.exit(
                "Python's venv module is incomplete. On Debian/Ubuntu: sudo apt install python3-venv; "
                "then run this again."
            )
        except BaseException:
            shutil.rmtree(str(ENVIRONMENT), ignore_errors=True)
            raise
    elif not works(python, "-m", "pip", "--version"):
        sys.exit(
            f"The folder {ENVIRONMENT} holds no working Python with pip, perhaps since an interrupted run or a "
            "change of Python. Delete that folder and run this again."
        )
    return python


def works(*command: object) -> bool:
    """Return whether a command runs and succeeds, in silence."""
    words = [str(word) for word in command]
    try:
        return not subprocess.call(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    except OSError:
        return False


def run(*command: object, cwd: object = None) -> None:
    """Run one step, here unless said; stop with its exit code when it fails."""
    code = subprocess.call([str(word) for word in command], cwd=cwd and str(cwd))
    if code:
        sys.exit(code)


def fingerprint() -> str:
    """Return what an installation depends on: the project's needs and version, its place, and the Python."""
    whole = hashlib.sha256(str(HERE).encode("utf-8"))
    for path in (HERE / "pyproject.toml", HERE / "src/sidelight/__init__.py", ENVIRONMENT / "pyvenv.cfg"):
        whole.update(path.read_bytes() if path.exists() else b"none")
    return whole.hexdigest()


def installed(what: str) -> bool:
    """Return whether this very state was installed already; the test tools include all that the demo needs."""
    stamp = ENVIRONMENT / STAMP
    if not (stamp.exists() and environment_python().exists()):
        return False
    return stamp.read_text(encoding="utf-8").split() in ([fingerprint(), what], [fingerprint(), ".[dev]"])


def install(python: Path, what: str) -> None:
    """Install the project into the private environment, and remember that."""
    stamp = ENVIRONMENT / STAMP
    if stamp.exists():
        stamp.unlink()
    print("Installing Sidelight and what it needs (" + SIZE + ") ...", flush=True)
    code, said = run_with_a_clock(python, "-m", "pip", "install", "--disable-pip-version-check", "--editable", what)
    if code:
        print("\n".join(said.strip().splitlines()[-15:]), file=sys.stderr)
        sys.exit(
            "\nInstalling needs the network once (or a local store of packages: set PIP_FIND_LINKS). "
            "Nothing was lost; run the same command again."
        )
    stamp.write_text(fingerprint() + "\n" + what + "\n", encoding="utf-8")


def run_with_a_clock(*command: object) -> "tuple[int, str]":
    """Run a step whose words matter only if it fails, and count the seconds on a terminal; return code and words."""
    began, shows = time.time(), sys.stdout.isatty()
    with tempfile.TemporaryFile() as words:
        step = subprocess.Popen(
            [str(word) for word in command], cwd=str(HERE), stdout=words, stderr=subprocess.STDOUT
        )
        try:
            while step.poll() is None:
                if shows:
                    sys.stdout.write("\r  %3d s " % (time.time() - began))  # noqa: UP031
                    sys.stdout.flush()
                time.sleep(0.2)
        except BaseException:
            step.terminate()
            step.wait()
            raise
        if shows:
            sys.stdout.write("\r         \r")
        words.seek(0)
        return step.returncode, words.read().decode("utf-8", "replace")


def set_up(what: str) -> Path:
    """Return the interpreter of an environment in which all is installed; once that is so it takes no time."""
    if not installed(what):
        install(ready_environment(), what)
    return environment_python()


def main() -> None:
    """Do what the first word says."""
    if sys.version_info < (3, 11):
        sys.exit(
            "Sidelight needs Python 3.11 or newer; this is " + sys.version.split()[0] + ". "
            "If a newer one is installed, call it by its name, such as: python3.12 start.py demo"
        )
    what, rest = (sys.argv[1:] or ["help"])[0], sys.argv[2:]
    try:
        if what == "demo":
            run(set_up("."), "-m", "sidelight", "demo", *(rest or ["sidelight-demo"]))
        elif what == "test":
            python = set_up(".[dev]")
            run(python, "-m", "ruff", "check", ".", cwd=HERE)
            run(python, "-m", "ruff", "format", "--check", ".", cwd=HERE)
            run(python, "-m", "mypy", cwd=HERE)
            run(python, "-m", "pytest", "-n", "2", *rest, cwd=HERE)
        else:
            sys.exit(__doc__)
    except KeyboardInterrupt:
        sys.exit("\nStopped. Nothing was lost; run the same command again.")


if __name__ == "__main__":
    main()
