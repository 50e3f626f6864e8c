"""Print the oldest versions that pyproject.toml allows, one a line, for pip's -r.

``python .ci/oldest.py dev`` also gives those that its tests need.
"""

import re
import sys
import tomllib
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent / "pyproject.toml"
NOT_TESTS = {"build", "ruff", "mypy", "scipy-stubs"}
"""They judge the source, or pack it; no test imports them."""


def oldest(*extras: str) -> list[str]:
    """Return the lower bound of each requirement, of the run and of the extras, as an exact version."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    wanted = list(project["dependencies"])
    for extra in extras:
        wanted += project["optional-dependencies"][extra]
    pinned = []
    for requirement in wanted:
        found = re.fullmatch(r"([A-Za-z0-9._-]+)>=([0-9][0-9A-Za-z.]*)", requirement)
        if not found:
            sys.exit(f"pyproject.toml: {requirement!r} has no plain lower bound.")
        if found[1] not in NOT_TESTS:
            pinned.append(f"{found[1]}=={found[2]}")
    return pinned


if __name__ == "__main__":
    print("\n".join(oldest(*sys.argv[1:])))
