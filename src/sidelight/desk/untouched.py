"""Files of a notebook that still are as a new notebook has them: the program's guesses, not yet the person's."""

from collections.abc import Iterator
from pathlib import Path

from sidelight.desk.examined import Finding, note
from sidelight.notebook.files import Folder, as_text
from sidelight.notebook.new import horizon_text
from sidelight.notebook.schema.pages import HORIZON_FILE, page_of
from sidelight.notebook.template import page_text

GUESSES = {
    HORIZON_FILE: "a flat skyline; measure what hides stars",
    "light.toml": "darkness class 4 is a guess, and the filters are the usual ones",
    "campaign.toml": "every month has the same share of usable nights",
}
"""What each file says until somebody writes it, as a sentence ends."""


def untouched_findings(folder: Path) -> Iterator[Finding]:
    """Yield a hint for each file whose text is a new notebook's; a remark or a changed figure makes it one's own."""
    for file, guess in GUESSES.items():
        data = Folder(folder).read(file)
        if data is not None and as_text(file, data).replace("\r\n", "\n") == _new_text(file):
            yield note("notebook", file, f"Still as it was made: {guess}.")


def _new_text(file: str) -> str:
    """Return a file's text in a new notebook."""
    page = page_of(file)
    return horizon_text([(0.0, 0.0)]) if page is None else page_text(page)
