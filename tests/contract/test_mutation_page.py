"""The page of disturbed physics: every spot tried, every one that no test notices explained, nothing out of date."""

import re
import tomllib
from pathlib import Path

from builders.mutation.subjects import modules

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "mutation.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| `(.+?)` \| (\d+) \| (\d+) \| (\d+) \| (\d+) \| \d+% \|$", PAGE, re.MULTILINE)


def test_every_module_stands_on_it_and_every_spot_was_tried() -> None:
    """Its rows are the modules that are disturbed, all their spots tried, and the head has their sums."""
    assert [f"{row[0]}.py" for row in ROWS] == modules()
    spots, tried, noticed, unnoticed = (sum(int(row[n]) for row in ROWS) for n in range(1, 5))
    assert spots == tried == noticed + unnoticed
    assert f"{tried} of {spots} spots were tried" in PAGE
    assert f"**{noticed} of them" in PAGE


def test_every_spot_that_no_test_notices_has_its_reason() -> None:
    """As many lines as the table counts, each with one of the reasons that are kept; no reason is kept in vain."""
    kept = (ROOT / "builders" / "mutation" / "survivors.toml").read_text(encoding="utf-8")
    reasons = {one["why"] for one in tomllib.loads(kept)["survivor"]}
    lines = re.findall(r"^- (.+)$", PAGE.partition("## Not noticed")[2], re.MULTILINE)
    assert len(lines) == sum(int(row[4]) for row in ROWS)
    assert [line for line in lines if not line.endswith(tuple(reasons))] == []
    assert [why for why in reasons if not any(line.endswith(why) for line in lines)] == []
