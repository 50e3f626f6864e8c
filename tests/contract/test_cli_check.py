"""``check``: text and JSON, guide stars as words and as a table, pictures, and refusals that write nothing."""

import datetime as dt
import json
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.strategies.frames import write_light, write_solved

from sidelight.cli.check import command
from sidelight.cli.setup import command as setup_command
from sidelight.ground.errors import BadInput
from sidelight.notebook.read import read_notebook

M_81 = (148.88821, 69.06531)
EVENING = dt.datetime(2027, 3, 7, 1, 0, tzinfo=dt.UTC)


@dataclass(frozen=True)
class Shot:
    """A notebook with a kept set-up, and an image of M 81 in the west, 1.5° off its plan."""

    garden: Path
    image: Path
    planned_deg: float


@pytest.fixture(scope="module")
def shot(tmp_path_factory: pytest.TempPathFactory, demo_folder: Path) -> Shot:
    """Keep a set-up and take an image."""
    garden = tmp_path_factory.mktemp("check") / "garden"
    shutil.copytree(demo_folder, garden)
    CliRunner().invoke(
        setup_command, [str(garden), "--date", "2027-03-06", "--keep", "Spring"], catch_exceptions=False
    )
    book = read_notebook(garden)
    planned = book.setups[0].camera_angle_deg or 0.0
    camera = book.rig.camera
    image = write_solved(
        garden.parent / "first.fits",
        EVENING,
        M_81,
        planned + 1.5,
        sensor_px=(camera.width_px, camera.height_px),
        pixel_um=camera.pixel_um,
        focal_mm=1624.0,
    )
    return Shot(garden, image, planned)


def ask(*words: str | Path) -> str:
    """Run the command and return what it prints; a refusal is raised as it is."""
    answer = CliRunner().invoke(command, [str(word) for word in words], catch_exceptions=False)
    assert answer.exit_code == 0, answer.output
    return str(answer.stdout)


def test_json_holds_the_answer(shot: Shot) -> None:
    """The JSON answer has the difference, the turn, every ring and no lesson that was not asked for."""
    report = json.loads(ask(shot.garden, shot.image, "--json"))
    assert report["setup"] == "Spring"
    assert report["verdict"] in ("leave", "turn", "better_turned")
    assert report["images"][0]["side"] == "west"
    assert report["images"][0]["target"] == "M 81"
    assert report["difference_deg"] == pytest.approx(1.5, abs=0.3), "up to what the pole of date leaves over"
    assert {(one["target"], one["side"]) for one in report["places"]} >= {("M 81", "east"), ("M 81", "west")}
    assert report["turns"][0]["sense"] == "clockwise"
    assert report["learned_in"] is None
    assert not (shot.garden / "learned.toml").exists()


def test_text_says_turn_or_leave(shot: Shot) -> None:
    """The first line is the advice; cautions and the way to keep the lesson follow."""
    text = ask(shot.garden, shot.image)
    assert text.startswith(("Leave it", "Turn it", "Better turn it"))
    for part in ("Gauge to sky", "Stand behind the telescope", "--learn", "Take care"):
        assert part in text


def test_pictures_show_the_true_frame(shot: Shot) -> None:
    """The dial and a field for each target are drawn as the telescope now stands."""
    folder = shot.garden.parent / "pictures"
    ask(shot.garden, shot.image, "--pictures", folder)
    names = {path.name for path in folder.iterdir()}
    assert {"now-dial.svg", "now-field-m-81.svg"} <= names
    assert all(path.read_text(encoding="utf-8").lstrip().startswith("<svg") for path in folder.iterdir())


def test_guide_stars_as_words_and_as_a_table(shot: Shot, tmp_path: Path) -> None:
    """The same star given either way gives the same stem, where rig.toml says how the picture stands."""
    seen = "900,300,150.5,69.7"
    assert json.loads(ask(shot.garden, shot.image, "--guide-star", seen, "--json"))["stem"] is None
    garden = tmp_path / "garden"
    shutil.copytree(shot.garden, garden)
    rig = (garden / "rig.toml").read_text(encoding="utf-8")
    assert '# picture = "left_right"' in rig
    (garden / "rig.toml").write_text(rig.replace("# picture =", "picture ="), encoding="utf-8")
    words = json.loads(ask(garden, shot.image, "--guide-star", seen, "--json"))
    table = shot.garden.parent / "stars.csv"
    table.write_text("image,x_px,y_px,ra_deg,dec_deg\nfirst.fits,900,300,150.5,69.7\n", encoding="utf-8")
    rows = json.loads(ask(garden, shot.image, "--guide-stars", table, "--json"))
    assert words["stem"] == rows["stem"]
    assert words["guide_picture_stands"] == "left_right"
    assert words["stem"]["settled"] is False
    assert json.loads(ask(shot.garden, shot.image, "--guide-star", "-", "--json"))["stem"] is None


def test_learnt_once_and_shown(shot: Shot, tmp_path: Path) -> None:
    """With --learn the lesson stands in the notebook with its date."""
    garden = tmp_path / "garden"
    shutil.copytree(shot.garden, garden)
    report = json.loads(ask(garden, shot.image, "--learn", "--json"))
    assert Path(report["learned_in"]).name == "learned.toml"
    (entry,) = read_notebook(garden).learned.entries
    assert entry.date == dt.date(2027, 3, 6)
    assert entry.camera_offset_deg == pytest.approx(report["gauge_to_sky_deg"], abs=1e-3)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("gone.fits",), "no such file"),
        (("light.fits",), "not been solved"),
        (("letter.fits",), "not a FITS file"),
        (("first.fits", "--side", "east", "--side", "west"), "2 sides"),
        (("first.fits", "--guide-star", "12"), "no place of a guide star"),
        (("first.fits", "--guide-star", "1,nan"), "no place of a guide star"),
        (("first.fits", "--guide-star", "1,2", "--guide-star", "1,2"), "2 guide stars"),
        (("first.fits", "--guide-stars", "bad.csv"), "no column"),
        (("first.fits", "--guide-stars", "strange.csv"), "none of the images"),
        (("first.fits", "--setup", "Autumn"), "Autumn"),
    ],
)
def test_refusals_exit_with_2_and_write_nothing(shot: Shot, words: tuple[str, ...], told: str) -> None:
    """Every image or word that cannot be used is refused with a way on, also with --learn."""
    place = shot.garden.parent
    write_light(place / "light.fits", EVENING)
    (place / "letter.fits").write_text("Dear camera", encoding="utf-8")
    (place / "bad.csv").write_text("picture,x\n", encoding="utf-8")
    (place / "strange.csv").write_text("image,x_px,y_px\nother.fits,1,2\n", encoding="utf-8")
    named = [str(place / word) if word.endswith((".fits", ".csv")) else word for word in words]
    answer = CliRunner().invoke(command, [str(shot.garden), *named, "--learn"])
    refused = answer.exception
    assert isinstance(refused, BadInput), answer.output
    assert refused.exit_code == 2
    assert told in str(refused)
    assert not (shot.garden / "learned.toml").exists()


def test_each_bad_image_is_named(shot: Shot) -> None:
    """Several images that cannot be used are all named at once."""
    place = shot.garden.parent
    (place / "one.fits").write_bytes(b"")
    (place / "two.fits").write_text("no", encoding="utf-8")
    answer = CliRunner().invoke(
        command, [str(shot.garden), *(str(place / name) for name in ("one.fits", "two.fits"))]
    )
    assert isinstance(answer.exception, BadInput)
    assert [Path(problem.file or "").name for problem in answer.exception.problems] == ["one.fits", "two.fits"]
