"""A new notebook: from the fewest answers, right at once, over nothing that exists, all or nothing."""

from pathlib import Path
from typing import Any

import pytest
from tests.strategies.notebook import ANSWERS, GUIDER

from sidelight.ground.errors import BadInput
from sidelight.notebook import new as new_room
from sidelight.notebook.files import write_whole
from sidelight.notebook.new import questions, write_new_notebook
from sidelight.notebook.read import read_notebook
from sidelight.notebook.schema.pages import FILES, PAGES


def test_the_fewest_answers_make_a_notebook_that_is_right(tmp_path: Path) -> None:
    """What is written from the answers to the questions alone passes its own check."""
    needed = [one.key for one in questions() if not one.optional_table]
    assert set(needed) == set(ANSWERS)
    written = write_new_notebook(tmp_path / "new" / "book", ANSWERS)
    hand_written = {page.file for page in PAGES if not page.written_by_program} | {"horizon.txt"}
    assert {path.name for path in written} == hand_written
    book = read_notebook(tmp_path / "new" / "book")
    assert (book.site.latitude_deg, book.rig.telescope.focal_length_mm) == (48.2, 1600.0)
    assert book.rig.guider is None
    assert book.targets == ()


def test_answers_of_every_kind(tmp_path: Path) -> None:
    """Guider, targets by name and by keys, skyline and optional keys arrive where they belong."""
    answers: dict[str, Any] = {
        **ANSWERS,
        **GUIDER,
        "rig.mount.kind": "fork",
        "horizon": [(0, 12.5), (180, 4)],
        "targets": ["NGC 4565", {"name": "Mine", "ra_deg": 35.0, "dec_deg": 42.0, "major_arcmin": 9.0}],
    }
    write_new_notebook(tmp_path / "book", answers)
    book = read_notebook(tmp_path / "book")
    assert book.rig.guider is not None
    assert book.rig.guider.sensor.width_px == 1936
    assert not book.rig.mount.flips
    assert [target.key for target in book.targets] == ["NGC 4565", "Mine"]
    assert book.targets[1].outlines[0].semi_major_arcmin == 4.5
    assert book.site.horizon.altitude_deg.tolist() == [12.5, 4.0]


@pytest.mark.parametrize("name", FILES)
def test_nothing_is_overwritten(tmp_path: Path, name: str) -> None:
    """A folder that holds any file of a notebook is refused, and the file stays as it was."""
    (tmp_path / name).write_text("mine", encoding="utf-8")
    with pytest.raises(BadInput, match="already; nothing is overwritten"):
        write_new_notebook(tmp_path, ANSWERS)
    assert [(path.name, path.read_text(encoding="utf-8")) for path in tmp_path.iterdir()] == [(name, "mine")]


def test_a_folder_with_a_notebook_is_refused_in_one_sentence(tmp_path: Path) -> None:
    """A second notebook in the same folder is one problem, however many files it has."""
    write_new_notebook(tmp_path / "garden", ANSWERS)
    with pytest.raises(BadInput) as refused:
        write_new_notebook(tmp_path / "garden", ANSWERS)
    assert len(refused.value.problems) == 1
    assert "garden: It holds a notebook already; nothing is overwritten. Name a folder" in str(refused.value)


def test_other_files_do_not_hinder(tmp_path: Path) -> None:
    """A folder with other things in it takes a notebook, and they stay."""
    (tmp_path / "letter.txt").write_text("dear", encoding="utf-8")
    write_new_notebook(tmp_path, ANSWERS)
    assert (tmp_path / "letter.txt").read_text(encoding="utf-8") == "dear"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"site.latitude_deg": 98}, r"site\.toml.*latitude_deg.*too large"),
        ({"site.latitude_deg": None}, "site.latitude_deg: .*cannot do without.*from -90 to 90"),
        ({"site.time_zone": "Vienna"}, "Europe/Vienna"),
        ({"site.lattitude_deg": 3}, "no key of a notebook.*site.latitude_deg"),
        ({"kitchen.sink": 3}, "no key of a notebook"),
        ({"site": 3}, "no key of a notebook"),
        ({"targets": ["M 999"]}, "no object"),
        ({"horizon": [(0, 95)]}, "altitude"),
        ({"rig.guider.stem_radius_mm": 22}, r"rig\.guider\.camera\.width_px: .*cannot do without"),
        ({"rig.guider.camera.width_px": 2000}, r"rig\.guider\.stem_radius_mm: .*cannot do without"),
    ],
)
def test_a_wrong_answer_writes_nothing(tmp_path: Path, change: dict[str, Any], said: str) -> None:
    """A refused answer leaves no folder behind."""
    with pytest.raises(BadInput, match=said):
        write_new_notebook(tmp_path / "book", {**ANSWERS, **change})
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the third file cannot be written, the first two and the folders made for them go as well."""
    done: list[Path] = []

    def fails_at_third(path: Path, data: bytes) -> None:
        if len(done) == 2:
            raise BadInput("The disk is full.")
        write_whole(path, data)
        done.append(path)

    monkeypatch.setattr(new_room, "write_whole", fails_at_third)
    with pytest.raises(BadInput, match="disk is full"):
        write_new_notebook(tmp_path / "a" / "book", ANSWERS)
    assert len(done) == 2
    assert list(tmp_path.iterdir()) == []
