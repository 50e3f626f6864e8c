"""Which set-up a night goes by, and what it gives targets that it was not made for."""

import datetime as dt
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from sidelight.desk.bench import bench_report
from sidelight.desk.kept import keep_setup, setup_in_use
from sidelight.desk.night import night_report
from sidelight.desk.night_records import NightReport
from sidelight.desk.open import open_notebook
from sidelight.desk.setup import SetupQuestion, SetupReport, setup_report, solve_wants
from sidelight.notebook.edit import add_target
from sidelight.notebook.read import Notebook
from sidelight.setup.records import SideNeed, Want
from sidelight.targets.names import target_from_name

DATE = dt.date(2027, 5, 6)
STRANGERS = ("M 51", "M 106", "NGC 4565", "NGC 6503")


@pytest.fixture(scope="module")
def kept(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Notebook:
    """Return the demo with a set-up kept for its five galaxies, and four more objects on the list since."""
    folder = tmp_path_factory.mktemp("kept") / "garden"
    shutil.copytree(demo_folder, folder)
    book = open_notebook(folder)
    keep_setup(book, setup_report(book, SetupQuestion(dt.date(2027, 3, 6))), "Spring", dt.date(2026, 11, 25))
    for name in STRANGERS:
        add_target(folder, name)
    return open_notebook(folder)


@pytest.fixture(scope="module")
def spring(kept: Notebook) -> SetupReport:
    """Return the set-up in use."""
    return setup_in_use(kept, DATE)


@pytest.fixture(scope="module")
def night(kept: Notebook, spring: SetupReport) -> NightReport:
    """Return a night of May."""
    return night_report(kept, DATE, spring)


def sides_at(book: Notebook, setup: SetupReport, name: str) -> set[str]:
    """Return the sides with a guide star when the solver is asked about one object at the kept angles."""
    want = Want(target_from_name(name), (SideNeed("east"), SideNeed("west")))
    question = SetupQuestion(DATE, camera_angle_deg=setup.camera_angle_deg, stem_offset_deg=setup.stem_offset_deg)
    best = solve_wants(book, (want,), question).best
    return {place.side for place in best.places if place.star is not None} if best else set()


def test_targets_beside_are_planned_only_where_the_kept_angles_guide_them(
    kept: Notebook, spring: SetupReport, night: NightReport
) -> None:
    """Asked one by one at the kept angles, the solver finds the same sides; no other one is planned."""
    found = {name: sides_at(kept, spring, name) for name in STRANGERS}
    assert {len(sides) for sides in found.values()} >= {0, 1}
    for name, sides in found.items():
        report = next(one for one in night.targets if one.target == name)
        assert {guide.side for guide in report.guides if guide.star} == sides
        alone = [replace(one, hours_wanted_h=900.0 if one.key == name else 0.0) for one in kept.targets]
        plan = night_report(replace(kept, targets=tuple(alone)), DATE, spring).plan
        assert {side for one in plan if one.target == name for side in one.sides} <= sides


def test_a_target_beside_is_named_with_what_to_ask(kept: Notebook, spring: SetupReport, night: NightReport) -> None:
    """A target without a guide star at the kept angles is named, with the question that finds one."""
    dark = next(name for name in STRANGERS if not sides_at(kept, spring, name))
    told = [note for note in night.notes if note.startswith(f"{dark} ")]
    assert len(told) == 1
    assert 'is not in the set-up "Spring"' in told[0]
    assert f"sidelight setup NOTEBOOK --only '{dark}'" in told[0]


def test_the_set_up_that_a_night_goes_by_is_named_first(
    demo_folder: Path, spring: SetupReport, night: NightReport
) -> None:
    """A kept set-up is named with its date; where none is kept, the best found is said to stand in."""
    assert night.notes[0] == night.set_up == 'Set-up "Spring", kept 2026-11-25.'
    assert {one.target for one in spring.targets}.isdisjoint(STRANGERS)
    book = open_notebook(demo_folder)
    found = night_report(book, DATE, setup_in_use(book, DATE))
    assert "the best found for 30 nights from 2027-05-06; none is kept." in found.notes[0]


def test_a_set_up_that_does_not_know_a_target_plans_nothing_on_it(kept: Notebook) -> None:
    """Without a ring for a target no guide star is known, so no hour of it is planned."""
    one = setup_report(kept, SetupQuestion(DATE, 5, only=("M 81",)))
    report = night_report(kept, DATE, one)
    assert {stretch.target for stretch in report.plan} == {"M 81"}
    assert "NGC 5907 is not in this set-up, so nothing is planned on it." in report.notes


def test_the_bench_names_its_set_up_and_the_targets_beside(kept: Notebook, spring: SetupReport) -> None:
    """The bench goes by the same set-up, and says of each target beside what its angles give it."""
    notes = bench_report(kept, spring).notes
    assert notes[0] == 'Set-up "Spring", kept 2026-11-25.'
    assert all(any(note.startswith(f"{name} is not in the set-up") for note in notes) for name in STRANGERS)


def test_without_a_guider_the_frame_alone_is_told(kept: Notebook) -> None:
    """A target beside that fits is said to fit, one too large for any angle is said to be that."""
    targets = (*kept.targets, target_from_name("M 31"))
    bare = replace(kept, rig=replace(kept.rig, guider=None), targets=targets)
    spring = replace(bare.setups[0], guider_angle_deg=None, stem_offset_deg=None)
    bare = replace(bare, setups=(spring,))
    notes = bench_report(bare, setup_in_use(bare, DATE)).notes
    assert 'M 106 is not in the set-up "Spring", but fits its frame.' in notes
    assert 'M 31 is not in the set-up "Spring" and is too large for the frame at any angle.' in notes
