"""Run the commands of docs/tutorial.md on the demo's notebook and write what they print into it.

python builders/build_tutorial.py

A block that begins with "$ sidelight" is run, in order, in one folder. The comment above it says what is shown of the
output: <!-- shown: FIRST … LAST --> from the line that begins with FIRST to the line before one that begins with LAST
(nothing: to the next empty line). A block after <!-- added to: FILE --> is added to that file.
"""

import os
import re
import shlex
import sys
import tempfile
from pathlib import Path

from click.testing import CliRunner

from sidelight.cli.main import sidelight

PAGE = Path(__file__).resolve().parents[1] / "docs" / "tutorial.md"
BLOCK = re.compile(
    r"<!-- shown: (?P<first>[^\n]*?) … (?P<last>[^\n]*?)-->\n\n```\n\$ sidelight (?P<command>[^\n]*)\n.*?```"
    r"|<!-- added to: (?P<file>[^\n]*) -->\n\n```\n(?P<added>.*?)```",
    re.DOTALL,
)


def run(words: str) -> str:
    """Run one command here and return what it prints; a refusal stops the builder."""
    # as on a machine where the program is on the path, so that the page names no folder of this one
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")])
    result = CliRunner(env={"PATH": path}).invoke(sidelight, shlex.split(words), terminal_width=100)
    if result.exit_code:
        raise SystemExit(f"sidelight {words}: {result.output}")
    return result.output


def excerpt(printed: str, first: str, last: str) -> str:
    """Return the lines that are shown, with dots where lines are left out."""
    lines = [line.rstrip() for line in printed.strip().split("\n")]
    begin = next(n for n, line in enumerate(lines) if line.startswith(first))
    end = begin + 1
    while end < len(lines) and not (lines[end].startswith(last) if last else not lines[end]):
        end += 1
    shown = [*([] if begin == 0 else ["..."]), *lines[begin:end]]
    while not shown[-1]:
        shown.pop()
    return "\n".join([*shown, *([] if end >= len(lines) else ["..."])])


def commands(text: str) -> list[str]:
    """Return the commands in their order."""
    return [found["command"] for found in BLOCK.finditer(text) if found["command"]]


def page(text: str) -> str:
    """Return the page with every command run anew, in an empty folder."""

    def again(found: re.Match[str]) -> str:
        if found["file"]:
            with Path(found["file"]).open("a", encoding="utf-8", newline="\n") as file:
                file.write("\n" + found["added"])
            return found[0]
        first, last = found["first"], found["last"].rstrip()
        shown = excerpt(run(found["command"]), first, last)
        head = f"<!-- shown: {first} … {last}{' ' if last else ''}-->"
        return f"{head}\n\n```\n$ sidelight {found['command']}\n{shown}\n```"

    home = Path.cwd()
    with tempfile.TemporaryDirectory() as scratch:
        os.chdir(scratch)
        try:
            return BLOCK.sub(again, text)
        finally:
            os.chdir(home)


def main() -> None:
    """Write the page."""
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
