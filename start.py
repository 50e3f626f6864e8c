"""Set up everything and run the demo, or set up everything and pass the tests.

    python3 start.py demo [FOLDER]   a private environment in .venv, then the demo notebook
    python3 start.py test [ARGS...]  the same with the test tools, then all checks and tests

Needs Python 3.11 or newer and, the first time, the network or a local store of packages.
"""

import os
import subprocess
import sys
import venv
from pathlib import Path

HERE = Path(__file__).resolve().parent
ENVIRONMENT = HERE / ".venv"


def environment_python() -> Path:
    """Return the interpreter of the private environment, made on first use."""
    python = ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not python.exists():
        print("Making a private environment in .venv ...", flush=True)
        venv.create(ENVIRONMENT, with_pip=True)
    return python


def run(*command: str | Path) -> None:
    """Run one step; stop with its exit code when it fails."""
    code = subprocess.run([str(part) for part in command], cwd=HERE, check=False).returncode
    if code:
        sys.exit(code)


def install(python: Path, what: str) -> None:
    """Install the project into the private environment."""
    print("Installing Sidelight and what it needs ...", flush=True)
    run(python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--editable", what)


def main() -> None:
    """Do what the first word says."""
    if sys.version_info < (3, 11):
        sys.exit("Sidelight needs Python 3.11 or newer; this is " + sys.version.split()[0] + ".")
    what, *rest = sys.argv[1:] or ["help"]
    if what == "demo":
        python = environment_python()
        install(python, ".")
        run(python, "-m", "sidelight", "demo", *(rest or ["sidelight-demo"]))
    elif what == "test":
        python = environment_python()
        install(python, ".[dev]")
        run(python, "-m", "ruff", "check", ".")
        run(python, "-m", "ruff", "format", "--check", ".")
        run(python, "-m", "mypy")
        run(python, "-m", "pytest", "-n", "2", *rest)
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main()
