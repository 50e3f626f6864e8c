"""The bench day in words: every step that the rig calls for, none that it does not have."""

from dataclasses import replace

import pytest

from sidelight.desk.bench import bench_report
from sidelight.desk.bench_records import BenchReport
from sidelight.desk.cautions import first_image_cautions, night_cautions
from sidelight.desk.demo import DATE
from sidelight.desk.kept import setup_in_use
from sidelight.notebook.read import Notebook
from sidelight.rig.records import Mount


def report_with(book: Notebook, **changes: object) -> BenchReport:
    """Return the bench of the demo with another rig."""
    changed = replace(book, rig=replace(book.rig, **changes))  # type: ignore[arg-type]
    return bench_report(changed, setup_in_use(changed, DATE))


def test_a_fork_lays_the_tube_level_on_the_meridian(book: Notebook) -> None:
    """The gauge holds with the tube level only, towards the south, and towards the north from a southern site."""
    north = report_with(book, mount=Mount("fork")).steps[0]
    assert "lay it level, towards the south horizon, drive base below; zero the gauge on a level surface" in north
    assert "At any other altitude the gauge does not hold" in north
    southern = replace(book, site=replace(book.site, latitude_deg=-34.0), rig=replace(book.rig, mount=Mount("fork")))
    assert "towards the north horizon" in bench_report(southern, setup_in_use(book, DATE)).steps[0]


def test_a_fork_is_told_of_no_flip_and_no_counterweight(book: Notebook) -> None:
    """Cautions and sentences of a fork speak of its range, not of flip, pier or counterweights."""
    report = report_with(book, mount=Mount("fork"))
    rig = replace(book.rig, mount=Mount("fork"))
    said = [*report.cautions, *report.steps, report.turns_together, report.view]
    for words in [*said, *night_cautions(rig), *first_image_cautions(rig)]:
        assert not any(word in words for word in ("flip", "ounterweight", "pier", "dovetail")), words
    for cautions in (report.cautions, night_cautions(rig), first_image_cautions(rig)):
        assert any("through its whole range" in words and "near the pole" in words for words in cautions)


def test_a_german_mount_keeps_its_cautions(book: Notebook) -> None:
    """The flip is walked through by hand, and the counterweights come off after the tube."""
    report = report_with(book)
    assert any("through the flip" in words for words in report.cautions)
    assert any("Counterweights go on before" in words for words in report.cautions)
    assert any("Be at the telescope when the mount flips" in words for words in night_cautions(book.rig))
    assert "At the flip" in report.turns_together


@pytest.mark.parametrize("mount", [Mount(), Mount("fork")])
def test_without_a_guider_nobody_speaks_of_one(book: Notebook, mount: Mount) -> None:
    """A rig without a guider has no word about guiding in steps, notes and cautions."""
    report = report_with(book, guider=None, mount=mount)
    rig = replace(book.rig, guider=None, mount=mount)
    said = [*report.steps, report.turns_together, *report.notes, *report.cautions, *night_cautions(rig)]
    assert [words for words in said if "guid" in words.casefold()] == []
    assert "changes nothing for the guider" in " ".join(report_with(book).notes)


def test_the_steps_lead_on_to_the_sky(book: Notebook) -> None:
    """What is loosened is held, what is set is marked, and focus, guiding and flats come after."""
    steps = report_with(book).steps
    assert "beyond the table's edge" in steps[0]
    assert "cannot roll or tip" in steps[0]
    assert all(step.startswith("Hold") for step in steps if "loosen" in step)
    assert [step.split()[0] for step in steps[-4:]] == ["Mark", "Focus", "Calibrate", "Take"]
    assert "never near the Sun" in steps[-3]
    assert any("A round camera" in step for step in steps)
    alone = report_with(book, guider=None).steps
    assert all(step.startswith("Hold") for step in alone if "loosen" in step)
    assert [step.split()[0] for step in alone[-2:]] == ["Mark", "Take"]


@pytest.mark.parametrize(("mount", "stands"), [(Mount(), "on the floor"), (Mount("fork"), "to the meridian")])
def test_an_upright_newtonian_is_covered(book: Notebook, mount: Mount, stands: str) -> None:
    """A tube that stands open end up is held, and its cover is on."""
    telescope = replace(book.rig.telescope, newtonian=True, focuser_position_deg=90.0)
    first = report_with(book, telescope=telescope, mount=mount).steps[0]
    assert stands in first
    assert "cover on: nothing may fall on the mirror" in first


def test_a_kept_set_up_is_named(book: Notebook) -> None:
    """The report names rig and set-up, and no set-up where these angles are kept under no name."""
    found = setup_in_use(book, DATE)
    assert bench_report(book, found).rig == "Eight-inch Cassegrain on the pier"
    assert bench_report(book, found).setup is None
    assert bench_report(book, replace(found, kept_as="Spring")).setup == "Spring"
