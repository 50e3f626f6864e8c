"""Changing a notebook: notes stay, wrong changes and lost updates are refused, files are replaced whole."""

import datetime as dt
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from tests.strategies.notebook import ANSWERS, GUIDER, RIG, SITE, TARGETS, on_disk

from sidelight.ground.errors import BadInput, OurFault
from sidelight.notebook import files
from sidelight.notebook.edit import (
    add_measured,
    add_row,
    add_target,
    keep_setup,
    path_of,
    remove_row,
    remove_target,
    set_horizon,
    set_value,
    set_values,
)
from sidelight.notebook.files import fingerprint, write_whole
from sidelight.notebook.new import write_new_notebook
from sidelight.notebook.read import read_notebook
from sidelight.notebook.settings import KeptPointing, KeptSetUp, Measured

on_posix = pytest.mark.skipif(os.name == "nt", reason="links and permissions are the other systems' own")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Return the small notebook on the disk."""
    return on_disk(tmp_path / "book")


@pytest.fixture
def fresh(tmp_path: Path) -> Path:
    """Return a notebook as it is made new."""
    write_new_notebook(tmp_path / "fresh", ANSWERS)
    return tmp_path / "fresh"


def text_of(folder: Path, file: str) -> str:
    """Return a file's text."""
    return (folder / file).read_bytes().decode()


def test_a_value_changes_and_nothing_else(book: Path) -> None:
    """Only the value's own signs change; the note behind it stays."""
    seen = read_notebook(book).fingerprints["targets.toml"]
    new = set_value(book, "targets.toml", "target.0.name", "ngc 4565", seen)
    assert text_of(book, "targets.toml") == TARGETS.replace('"NGC 4565"', '"ngc 4565"')
    assert new == fingerprint(book, "targets.toml") != seen


def test_a_goal_holds_its_target(book: Path) -> None:
    """A change that leaves another file pointing at nothing is refused with that file's line; nothing is written."""
    for change in (
        lambda: set_value(book, "targets.toml", "target.0.name", "NGC 898"),
        lambda: remove_target(book, "NGC 4565"),
    ):
        with pytest.raises(BadInput, match=r"campaign\.toml, line 6, goal 1, target"):
            change()
    assert text_of(book, "targets.toml") == TARGETS


def test_a_key_is_switched_on_where_its_note_stands(fresh: Path) -> None:
    """In a new notebook a key takes the place of the line that shows it switched off."""
    before = text_of(fresh, "campaign.toml")
    set_value(fresh, "campaign.toml", "nights.latest_bedtime", "02:15")
    assert text_of(fresh, "campaign.toml") == before.replace('# latest_bedtime = "01:30"', 'latest_bedtime = "02:15"')
    assert read_notebook(fresh).campaign.nights.latest_bedtime == dt.time(2, 15)


def test_a_key_is_switched_off_into_a_note(book: Path) -> None:
    """None turns a line into a note, so that the default holds, and setting it again turns it back."""
    set_value(book, "site.toml", "elevation_m", None)
    assert text_of(book, "site.toml") == SITE.replace("elevation_m = 180", "# elevation_m = 180")
    assert read_notebook(book).site.elevation_m == 0.0
    set_value(book, "site.toml", "elevation_m", 180)
    assert text_of(book, "site.toml") == SITE


def test_a_new_key_joins_its_table(book: Path) -> None:
    """A key without a line goes behind the last key of its table, before the notes of the next one."""
    set_value(book, "site.toml", "floor_deg", 25.5)
    set_value(book, "targets.toml", ("target", 0, "shift_allowed_arcmin"), 3)
    assert 'time_zone = "Europe/Vienna"\nfloor_deg = 25.5\n\n[horizon]' in text_of(book, "site.toml")
    assert "hours_wanted_h = 12\nshift_allowed_arcmin = 3\n\n# the big one\n" in text_of(book, "targets.toml")


def test_a_guider_is_added_whole(fresh: Path) -> None:
    """Keys that make sense together only are set together; their tables open where the notes show them."""
    changes = {key.removeprefix("rig."): value for key, value in GUIDER.items()}
    with pytest.raises(BadInput, match="missing"):
        set_value(fresh, "rig.toml", "guider.stem_radius_mm", 22)
    assert read_notebook(fresh).rig.guider is None
    set_values(fresh, "rig.toml", changes)
    guider = read_notebook(fresh).rig.guider
    assert guider is not None
    assert guider.sensor.pixel_um == 2.9
    text = text_of(fresh, "rig.toml")
    assert text.index("[camera]") < text.index("\n[guider]") < text.index("\n[guider.camera]") < text.index("[mount]")


def test_a_guider_comes_off_and_on(book: Path) -> None:
    """A table switched off as a whole, with those inside it, is notes; its keys are switched on again there."""
    set_value(book, "rig.toml", "guider", None)
    assert read_notebook(book).rig.guider is None
    head, tail = RIG.split("[guider]", maxsplit=1)
    off = "".join(f"# {line}\n" if line else "\n" for line in f"[guider]{tail}".splitlines())
    assert text_of(book, "rig.toml") == head + off
    changes = {key.removeprefix("rig."): value for key, value in GUIDER.items()}
    set_values(book, "rig.toml", changes)
    assert text_of(book, "rig.toml") == RIG


def test_a_table_that_no_note_shows(book: Path) -> None:
    """A table that the file does not have is opened at its end."""
    set_value(book, "site.toml", "horizon.bearings", "true")
    assert text_of(book, "site.toml") == SITE
    set_value(book, "rig.toml", "mount.kind", "fork")
    assert text_of(book, "rig.toml") == RIG + '\n[mount]\nkind = "fork"\n'


def test_inside_curly_brackets(book: Path) -> None:
    """A number between curly brackets changes, is added and goes."""
    key = ("goal", 0, "filters_h", "L")
    set_value(book, "campaign.toml", key, 9.5)
    assert "filters_h = { L = 9.5, Ha = 4 }" in text_of(book, "campaign.toml")
    set_value(book, "campaign.toml", key, None)
    assert "filters_h = { Ha = 4 }" in text_of(book, "campaign.toml")


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("floor_deg", 95, "too large"),
        ("floor_deg", float("nan"), "nan"),
        ("floor_deg", True, "true is not a number"),
        ("floor_deg", "30", "not a number"),
        ("time_zone", "Mars", "no time zone"),
        ("latitude_deg", None, "missing"),
        ("flor_deg", 20, "floor_deg"),
        ("horizon.bearing", "true", "bearings"),
        ("name", "a\nb", "cannot be printed"),
        ("name", "\ud800", "no file can hold|cannot be printed"),
        ("name.first", "x", "no such place"),
        ("row.0.x", 1, "no such place"),
    ],
)
def test_a_wrong_value_is_refused(book: Path, key: str, value: object, said: str) -> None:
    """A change that the check refuses is not written."""
    with pytest.raises(BadInput, match=said):
        set_value(book, "site.toml", key, value)
    assert text_of(book, "site.toml") == SITE


def test_a_change_made_meanwhile_is_not_lost(book: Path) -> None:
    """A file that is not as the person saw it is left alone, and so is one that came or went."""
    seen = fingerprint(book, "site.toml")
    by_hand = SITE.replace("180", "190")
    (book / "site.toml").write_bytes(by_hand.encode())
    with pytest.raises(BadInput, match="changed meanwhile"):
        set_value(book, "site.toml", "floor_deg", 25, seen)
    assert text_of(book, "site.toml") == by_hand
    new = set_value(book, "site.toml", "floor_deg", 25, fingerprint(book, "site.toml"))
    assert new == fingerprint(book, "site.toml")
    absent = fingerprint(book, "stars.toml")
    (book / "stars.toml").write_text("", encoding="utf-8")
    with pytest.raises(BadInput, match="changed meanwhile"):
        set_value(book, "stars.toml", "service.pause_s", 2, absent)


def test_changes_at_the_same_time_all_count(book: Path) -> None:
    """Several windows of the page change different keys at once, and no change swallows another."""
    changes = {"floor_deg": 25, "twilight_deg": -15, "elevation_m": 300, "name": "Field", "longitude_deg": 17.5}
    with ThreadPoolExecutor(5) as pool:
        for done in [pool.submit(set_value, book, "site.toml", key, value) for key, value in changes.items()]:
            done.result()
    site = read_notebook(book).site
    assert {key: getattr(site, key) for key in changes} == changes


def test_old_problems_do_not_hinder(book: Path) -> None:
    """A notebook that is wrong elsewhere can still be mended piece by piece."""
    (book / "rig.toml").write_text(RIG.replace("3.76", "0"), encoding="utf-8")
    (book / "site.toml").write_text(SITE.replace("48.2", "98").replace("180", "1e9"), encoding="utf-8")
    set_value(book, "site.toml", "latitude_deg", 48.2)
    with pytest.raises(BadInput, match="longitude"):
        set_value(book, "site.toml", "longitude_deg", 999)
    set_value(book, "site.toml", "elevation_m", 180)
    set_value(book, "rig.toml", "camera.pixel_um", 3.76)
    assert read_notebook(book).site.latitude_deg == 48.2


def test_line_ends_and_byte_order_mark_stay(book: Path) -> None:
    """A file that another system's editor wrote keeps its own manners."""
    (book / "site.toml").write_bytes(b"\xef\xbb\xbf" + SITE.replace("\n", "\r\n").encode())
    set_value(book, "site.toml", "floor_deg", 25)
    data = (book / "site.toml").read_bytes()
    assert data.startswith(b"\xef\xbb\xbfname")
    assert data.count(b"\r\n") == data.count(b"\n")
    assert b"floor_deg = 25\r\n" in data


def test_targets_come_and_go(book: Path) -> None:
    """A target is added behind the last, taken out with its own notes, found whatever its capitals."""
    add_target(book, "M 33")
    add_target(book, {"name": "Mine", "ra_deg": "02h 22m 33s", "dec_deg": "+42 20 57", "major_arcmin": 5})
    assert [target.key for target in read_notebook(book).targets] == ["NGC 4565", "Andromeda", "M 33", "Mine"]
    remove_target(book, "andromeda")
    remove_target(book, "m  33")
    remove_target(book, "Mine")
    assert text_of(book, "targets.toml") == TARGETS.split("# the big one")[0].rstrip("\n") + "\n"
    with pytest.raises(BadInput, match="not on this list"):
        remove_target(book, "M 33")


@pytest.mark.parametrize(
    ("add", "said"),
    [
        (lambda book: add_target(book, "M 999"), "Messier numbers"),
        (lambda book: add_target(book, "NGC 4565"), "stands on line 4 already"),
        (lambda book: add_target(book, ""), "empty"),
        (lambda book: add_target(book, {"name": "M 33", "hours": 3}), "hours_wanted_h|not a key"),
        (lambda book: add_row(book, "campaign.toml", "goal", {"target": "M 33"}), "not in targets.toml"),
        (lambda book: remove_row(book, "targets.toml", "target", 5), "no row 6"),
        (lambda book: set_value(book, "kitchen.toml", "a", 1), "no file of a notebook"),
        (lambda book: set_value(book, "../site.toml", "a", 1), "no file of a notebook"),
    ],
)
def test_rows_that_are_refused(book: Path, add: Callable[[Path], str], said: str) -> None:
    """A wrong row is refused in the words of the check, and nothing is written."""
    before = {path.name: path.read_bytes() for path in book.iterdir()}
    with pytest.raises(BadInput, match=said):
        add(book)
    assert {path.name: path.read_bytes() for path in book.iterdir()} == before


def test_a_table_that_does_not_exist_is_our_fault(book: Path) -> None:
    """A table's name never comes from a person, so a wrong one is the program's mistake."""
    with pytest.raises(OurFault):
        add_row(book, "targets.toml", "targets", {})


def test_a_row_behind_its_example(fresh: Path) -> None:
    """In a new notebook the first row goes behind the example that is switched off, not to the end of the file."""
    add_target(fresh, "NGC 4565")
    add_row(fresh, "campaign.toml", "goal", {"target": "NGC 4565", "filters_h": {"L": 8}})
    text = text_of(fresh, "campaign.toml")
    assert text.index("# [[goal]]") < text.index("\n[[goal]]") < text.index("[frames]")
    assert read_notebook(fresh).campaign.goals[0].filters_h == (("L", 8.0),)


def test_the_skyline_is_replaced(book: Path) -> None:
    """New points are written in order, remarks stay at theirs, wrong points are refused."""
    set_horizon(book, [(200, 5), (90, 30), (10, 8)])
    text = text_of(book, "horizon.txt")
    assert [line.split()[:2] for line in text.splitlines()[1:]] == [["10", "8"], ["90", "30"], ["200", "5"]]
    assert "# roof" in text
    for points, said in (
        ([], "no points"),
        ([(0, 95)], "altitude"),
        ([(1, 2), (1, 3)], "stands here"),
        ([(1,)], "two"),
    ):
        with pytest.raises(BadInput, match=said):
            set_horizon(book, points)  # type: ignore[arg-type]
    assert text_of(book, "horizon.txt") == text


def test_what_was_measured_is_used(book: Path) -> None:
    """The newest figure that counts replaces the file's, and a sentence says so; one that does not count is kept."""
    add_measured(book, Measured(dt.date(2027, 3, 6), camera_offset_deg=-1.4, stem_radius_mm=21.8))
    add_measured(book, Measured(dt.date(2027, 4, 1), focal_length_mm=1588.0, note="second light"))
    add_measured(book, Measured(dt.date(2027, 5, 1), used=False, camera_offset_deg=90.0))
    book_now = read_notebook(book)
    assert book_now.rig.guider is not None
    assert book_now.rig_as_written.guider is not None
    assert (book_now.rig.guider.stem_radius_mm, book_now.rig_as_written.guider.stem_radius_mm) == (21.8, 22.0)
    assert book_now.rig.telescope.effective_focal_length_mm == pytest.approx(1588.0, rel=1e-12)
    assert (book_now.learned.camera_offset_deg, book_now.learned.guider_offset_deg) == (-1.4, -1.4)
    assert len(book_now.learned.entries) == 3
    assert len([note for note in book_now.notes if "as measured on" in note]) == 2


def test_set_ups_are_kept_by_name(book: Path) -> None:
    """A set-up replaces the one of its name; of those in use there is one."""
    spring = KeptSetUp("Spring", dt.date(2027, 3, 6), True, 12.5, 101.3, 88.8, ("NGC 4565",), "first", ())
    keep_setup(book, spring)
    autumn = KeptSetUp("Autumn", in_use=True, pointings=(KeptPointing("NGC 4565", 189.1, 26.0),))
    keep_setup(book, autumn)
    assert read_notebook(book).setup_in_use == autumn
    keep_setup(book, KeptSetUp("spring", camera_angle_deg=3.0))
    assert [kept.name for kept in read_notebook(book).setups] == ["Autumn", "spring"]


@on_posix
def test_a_link_stays_a_link(book: Path, tmp_path: Path) -> None:
    """A file that lives elsewhere and is linked into the notebook is changed where it lives."""
    elsewhere = tmp_path / "shared-site.toml"
    (book / "site.toml").rename(elsewhere)
    (book / "site.toml").symlink_to(elsewhere)
    set_value(book, "site.toml", "floor_deg", 25)
    assert (book / "site.toml").is_symlink()
    assert "floor_deg = 25" in elsewhere.read_text(encoding="utf-8")


@on_posix
def test_permissions_stay(book: Path) -> None:
    """A file that only its owner may read stays so."""
    (book / "site.toml").chmod(0o600)
    set_value(book, "site.toml", "floor_deg", 25)
    assert (book / "site.toml").stat().st_mode & 0o777 == 0o600


def test_a_write_that_fails_leaves_the_old_file(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk refuses at the last moment the old contents stand and no scratch file is left."""

    def refuse(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(BadInput, match="No space left"):
        set_value(book, "site.toml", "floor_deg", 25)
    assert text_of(book, "site.toml") == SITE
    assert [path.name for path in book.iterdir() if path.name.endswith(".part")] == []


def test_contents_are_on_the_disk_before_the_name_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The scratch file is flushed to the disk before it takes the old file's name."""
    steps: list[str] = []
    flush, replace = os.fsync, Path.replace
    monkeypatch.setattr(files.os, "fsync", lambda handle: (steps.append("flush"), flush(handle))[1])
    monkeypatch.setattr(Path, "replace", lambda self, to: (steps.append("rename"), replace(self, to))[1])
    write_whole(tmp_path / "a.txt", b"new")
    assert steps[:2] == ["flush", "rename"]
    assert (tmp_path / "a.txt").read_bytes() == b"new"


def test_paths_in_words() -> None:
    """A key's text gives names and row numbers."""
    assert path_of("target.0.name") == ("target", 0, "name")
    assert path_of(("goal", 1)) == ("goal", 1)


def test_hand_written_manners(book: Path) -> None:
    """Dotted keys, lists of tables in one line and rows far apart are changed as well as they can be."""
    (book / "campaign.toml").write_text('nights.weekdays = ["friday"]\nrules.overhead_min = 5\n', encoding="utf-8")
    set_value(book, "campaign.toml", "rules.overhead_min", 7)
    set_value(book, "campaign.toml", "nights.planned_nights_count", 90)
    assert read_notebook(book).campaign.nights.planned_nights_count == 90
    (book / "targets.toml").write_text('target = [{ name = "M 33" }, { name = "M 31" }]\n', encoding="utf-8")
    set_value(book, "targets.toml", "target.1.name", "M 32")
    add_target(book, "M 110")
    remove_target(book, "M 33")
    assert [target.key for target in read_notebook(book).targets] == ["M 32", "M 110"]


def test_a_target_that_stands_under_another_name_is_not_added(book: Path) -> None:
    """Adding an object of the list by its other name is refused, and the file stays."""
    before = text_of(book, "targets.toml")
    with pytest.raises(BadInput, match='"NGC 224" is M 31, which stands as "Andromeda" on line'):
        add_target(book, "NGC 224")
    assert text_of(book, "targets.toml") == before
