"""The questions of ``sidelight init``: what matters is asked, wrong answers are asked again, nothing is guessed."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sidelight.cli.main import sidelight
from sidelight.desk.beginning import NO_GUESS, asked_parts, check_part
from sidelight.desk.open import open_notebook

PLACE = ["Orchard", "-33.9", "18.4", "", "Africa/Johannesburg"]
CAMERA = ["6248", "4176", "3.76"]


def answered(folder: Path, lines: list[str]) -> Result:
    """Run init with a line for each answer."""
    return CliRunner().invoke(sidelight, ["init", str(folder)], input="\n".join(lines) + "\n")


def test_a_newtonian_on_a_german_mount(tmp_path: Path) -> None:
    """Its build, the focuser's place, the secondary, the guider and the flip are asked and written."""
    telescope = ["", "200", "1000", "", "2", "yes", "90", "63"]
    guider = ["y", "19", "along", "", "", "1936", "1096", "2.9"]
    result = answered(tmp_path / "a", [*PLACE, *telescope, *CAMERA, *guider, "german", "5", "M 83", ""])
    assert result.exit_code == 0, result.output
    book = open_notebook(tmp_path / "a")
    assert (book.rig.telescope.newtonian, book.rig.telescope.mirrors) == (True, 2)
    assert book.rig.telescope.focuser_position_deg == 90.0
    assert book.rig.mount.kind == "german"
    assert book.rig.mount.flip_past_meridian_min == 5.0
    assert book.rig.guider is not None
    assert book.rig.guider.long_side == "along"
    assert [target.key for target in book.targets] == ["M 83"]


def test_a_fork_without_a_guider(tmp_path: Path) -> None:
    """A fork is asked for no flip, a refractor for no secondary; without a guider none of its numbers are asked."""
    result = answered(tmp_path / "a", [*PLACE, "", "80", "480", "0.8", "0", *CAMERA, "n", "fork", ""])
    assert result.exit_code == 0, result.output
    assert "Flip" not in result.output
    assert "Obstruction" not in result.output
    book = open_notebook(tmp_path / "a")
    assert book.rig.guider is None
    assert (book.rig.mount.kind, book.rig.telescope.mirrors) == ("fork", 0)


def test_wrong_answers_are_asked_again(tmp_path: Path) -> None:
    """A number that is none, an empty answer, an unknown zone, an unknown and a repeated target lose nothing."""
    place = ["Orchard", "", "abc", "-33.9", "18.4", "", "Africa/Johanesburg", "Africa/Johannesburg"]
    targets = ["M 51", "Blub", "NGC 5194", "M 83", ""]
    result = answered(tmp_path / "a", [*place, "", "80", "480", "", "0", *CAMERA, "n", "", "german", "", *targets])
    assert result.exit_code == 0, result.output
    for words in ("This one is needed.", '"abc"', "Did you mean", 'no object "Blub"', "on the list already, as M 51"):
        assert words in result.output
    assert [target.key for target in open_notebook(tmp_path / "a").targets] == ["M 51", "M 83"]


def test_stopping_writes_nothing(tmp_path: Path) -> None:
    """When the answers end early no file is there."""
    assert answered(tmp_path / "a", PLACE).exit_code == 1
    assert not (tmp_path / "a").exists()


@pytest.mark.parametrize("key", NO_GUESS)
def test_what_no_one_can_guess_is_needed(key: str) -> None:
    """Mirrors and mount are asked without a usual answer, in the terminal and on the page."""
    forms = {form.path: form for part in asked_parts() for table in part.tables for form in table.keys}
    assert forms[key].required
    assert forms[key].usual == ""
    assert key in {problem.key for problem in check_part("rig", {"rig.telescope.aperture_mm": "200"}, [])}
