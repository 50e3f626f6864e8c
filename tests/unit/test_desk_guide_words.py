"""Words about guide stars: how the guide camera's picture stands, and which star is nearly too bright."""

from dataclasses import replace
from pathlib import Path

import pytest

from sidelight.desk.demo import DATE
from sidelight.desk.guide_words import bright_star_notes, guide_picture_words
from sidelight.desk.kept import setup_in_use
from sidelight.desk.open import open_notebook
from sidelight.notebook.read import Notebook


@pytest.fixture(scope="module")
def book(demo_folder: Path) -> Notebook:
    """Return the demo's notebook."""
    return open_notebook(demo_folder)


def test_what_the_prism_does_to_the_picture(book: Notebook) -> None:
    """An even number of mirrors gives a mirror image behind the prism, an odd one does not; unguided, no words."""
    rig = book.rig
    assert rig.guider is not None
    assert "The prism mirrors" in guide_picture_words(rig)
    assert "axis up." in guide_picture_words(rig)
    odd = guide_picture_words(replace(rig, telescope=replace(rig.telescope, mirrors=1)))
    assert "half a turn round" in odd
    assert "mirrors" not in odd
    assert "axis right." in guide_picture_words(replace(rig, guider=replace(rig.guider, long_side="along")))
    assert guide_picture_words(replace(rig, guider=None)) == ""
    known = guide_picture_words(replace(rig, guider=replace(rig.guider, picture="top_bottom")))
    assert "turned about top to bottom on the guide camera's picture, as rig.toml has it" in known
    assert "mirrors" not in known


def test_a_star_just_below_saturation_is_told(book: Notebook) -> None:
    """Within half a magnitude of the limit the note says what to do; beyond it, or with no limit, nothing."""
    setup = setup_in_use(book, DATE)
    assert setup.best is not None
    assert setup.guider is not None
    star = next(one for one in setup.best.places if one.needed and one.star)
    assert star.star is not None

    def said(limit_mag: float | None) -> str:
        guider = replace(setup.guider, saturates_mag=limit_mag)  # type: ignore[type-var]
        return " ".join(bright_star_notes(replace(setup, guider=guider)))

    words = f"The guide star of {star.target} {star.side} ({star.star.mag:.1f} mag) is close to saturation"
    assert words in said(star.star.mag - 0.4)
    assert words not in said(star.star.mag - 0.6)
    assert words not in said(star.star.mag + 0.1)  # saturates: that is said elsewhere
    assert said(None) == ""
