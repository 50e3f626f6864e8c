"""Whatever stands in a file that a person hands in, it is used or refused in words; nothing else ever happens.

SIDELIGHT_FUZZ_CASES=5000 pytest tests/property/test_robustness_files.py runs more cases of each.
"""

from pathlib import Path

import pytest
from tests.spoilt.files import file_spoilings, star_tables
from tests.spoilt.records import Spoiling, many

from sidelight.ground.errors import BadInput
from sidelight.stars.importing import import_stars


@pytest.mark.parametrize("spoiling", file_spoilings(), ids=lambda one: one.what)
def test_a_spoilt_file_is_used_or_refused_in_words(tmp_path: Path, spoiling: Spoiling) -> None:
    """Every case ends in one of the two ways; some of both happen, so neither is for want of trying."""
    used, refused = many(spoiling, tmp_path)
    assert used
    assert refused


def test_a_table_that_would_fill_the_memory(tmp_path: Path) -> None:
    """A FITS header that says it has more columns than the standard allows is refused before anything is read."""
    path = tmp_path / "stars.fits"
    sound = star_tables()[".fits"]
    card = b"TFIELDS =                    3"
    assert card in sound
    path.write_bytes(sound.replace(card, b"TFIELDS = " + b"9" * 20))
    with pytest.raises(BadInput, match="more than 999 columns"):
        import_stars(path, tmp_path / "kept")
