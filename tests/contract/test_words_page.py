"""docs/words.md: sorted, short, and no word that a person never meets."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "words.md").read_text(encoding="utf-8")
ENTRIES = re.findall(r"^- \*\*(.+?)\*\*(.*?)(?=^- |\Z)", PAGE, flags=re.MULTILINE | re.DOTALL)


def test_every_word_is_used_somewhere() -> None:
    """Each word stands in another page of the documents, in the help, in the README or on the local page."""
    places = [path for path in (ROOT / "docs").rglob("*.md") if path.name != "words.md"]
    places += [ROOT / "README.md", *(ROOT / "src/sidelight/web/templates").glob("*.html")]
    used = re.sub(r"\s+", " ", " ".join(path.read_text(encoding="utf-8") for path in places)).casefold()
    words = [word for group in re.findall(r"\*\*(.+?)\*\*", PAGE) for word in group.split(", ")]
    assert len(words) >= 40
    unused = [word for word in words if not re.search(rf"\b{re.escape(word.casefold())}", used)]
    assert not unused


def test_they_are_sorted_and_short() -> None:
    """The words stand in the order of the alphabet, each once, in no more than three lines."""
    names = [name.casefold() for name, _ in ENTRIES]
    assert names == sorted(set(names))
    assert all(said.strip().count("\n") < 3 for _, said in ENTRIES)


def test_it_can_be_found() -> None:
    """README, tutorial and the page of the angles lead to it."""
    for page in ("README.md", "docs/tutorial.md", "docs/angles.md"):
        assert "words.md)" in (ROOT / page).read_text(encoding="utf-8"), page
