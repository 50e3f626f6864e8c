"""Write what the demo prints into README.md, and the pictures that the documents show.

python builders/build_readme.py
"""

import os
import re
import tempfile
from pathlib import Path

from click.testing import CliRunner

from sidelight.cli.main import sidelight

ROOT = Path(__file__).resolve().parents[1]
PICTURES = {
    "dial.svg": "dial.svg",
    "bench.svg": "bench.svg",
    "year-ngc-2903.svg": "year.svg",
    "night.svg": "night.svg",
}
"""The demo's pictures that the documents show, and their names there."""


def run_demo(folder: Path) -> str:
    """Run the demo inside a folder and return what it prints."""
    home = Path.cwd()
    os.chdir(folder)
    try:
        result = CliRunner().invoke(sidelight, ["demo"], terminal_width=100)
    finally:
        os.chdir(home)
    if result.exit_code:
        raise SystemExit(result.output)
    return result.stdout.lstrip()


def excerpt(printed: str) -> str:
    """Return the set-up and the beginning of the bench, which is what a stranger wants to see."""
    begin = printed.index("Set-up for")
    end = printed.index("1. Rest the tube")
    return re.sub(r"\n{3,}", "\n\n", printed[begin:end]).rstrip() + "\n..."


def readme(printed: str) -> str:
    """Return the README with the excerpt in its place."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    block = f"<!-- demo output -->\n\n```\n{excerpt(printed)}\n```\n\n<!-- end of demo output -->"
    return re.sub(r"<!-- demo output -->.*?(<!-- end of demo output -->|\n(?=\n## ))", block, text, flags=re.DOTALL)


def main() -> None:
    """Run the demo and write everything."""
    with tempfile.TemporaryDirectory() as scratch:
        printed = run_demo(Path(scratch))
        drawn = Path(scratch) / "sidelight-demo" / "pictures"
        for name, target in PICTURES.items():
            (ROOT / "docs" / "pictures").mkdir(parents=True, exist_ok=True)
            (ROOT / "docs" / "pictures" / target).write_bytes((drawn / name).read_bytes())
    (ROOT / "README.md").write_text(readme(printed), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
