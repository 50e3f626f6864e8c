"""The ledger's file: frames come in once, whatever happens to their files, and the file itself is never harmed."""

import datetime as dt
import gzip
import os
import shutil
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from tests.strategies.ledger import CAMERA, fits_bytes, frame_number, write_series

from sidelight.ground.errors import BadInput
from sidelight.ledger.adding import Added, add_folders
from sidelight.ledger.changes import (
    HandHours,
    add_hours,
    all_frames,
    assign,
    exclude,
    find_frames,
    hand_hours,
    remove_hours,
    restore,
)
from sidelight.ledger.files import NOTHING_REJECTED, Rejection, read_rejected_list
from sidelight.ledger.frames import Frame
from sidelight.ledger.kept import Computed
from sidelight.ledger.match import TargetPlace
from sidelight.ledger.migrations import STEPS, version_of
from sidelight.ledger.recording import rematch
from sidelight.ledger.store import Ledger, open_ledger
from sidelight.ledger.totals import by_target, totals

ANDROMEDA = TargetPlace("M 31", 10.6847, 41.2687, 1.0)
REJECTION = Rejection(("rejected",), frozenset({"light_0002"}))


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    """Open a new ledger."""
    with open_ledger(tmp_path / "ledger.sqlite") as opened:
        yield opened


@pytest.fixture
def lights(tmp_path: Path) -> Path:
    """Write five frames."""
    write_series(tmp_path / "lights", 5)
    return tmp_path / "lights"


def computed(frames: Sequence[Frame], target_keys: Sequence[str | None]) -> list[Computed]:
    """Stand in for what the desk works out."""
    return [
        Computed(dt.date(2027, 10, 3), "east", 60.0, 0.8) if key else Computed(dt.date(2027, 10, 3))
        for _, key in zip(frames, target_keys, strict=True)
    ]


def add(ledger: Ledger, *folders: Path, rejection: Rejection = NOTHING_REJECTED) -> Added:
    """Add folders with the one target."""
    return add_folders(ledger, folders, targets=[ANDROMEDA], compute=computed, rejection=rejection)


def hours(ledger: Ledger) -> float:
    """Return all hours that count, in twelfths, which are single frames."""
    return round(12 * sum(row.hours_h for row in by_target(totals(ledger))), 6)


def test_frames_come_in_with_all_that_is_known(ledger: Ledger, lights: Path) -> None:
    """A new frame is kept with its header's facts, its match and what was computed."""
    answer = add(ledger, lights)
    assert (answer.files_count, answer.known_count, answer.count("new")) == (5, 0, 5)
    kept = all_frames(ledger)
    assert [one.match.target_key for one in kept] == ["M 31"] * 5
    assert kept[0].computed == Computed(dt.date(2027, 10, 3), "east", 60.0, 0.8)
    assert kept[0].frame == answer.recorded[0].reading
    assert all(one.counts and one.present for one in kept)
    assert by_target(totals(ledger))[0].effective_hours_h == pytest.approx(0.8 * 5 / 12)


def test_adding_again_changes_nothing(ledger: Ledger, lights: Path) -> None:
    """The same folder again reads no file and leaves every table as it was."""
    add(ledger, lights)
    before = list(ledger.connection.iterdump())
    answer = add(ledger, lights, lights)
    assert (answer.known_count, answer.recorded, answer.gone_count) == (5, (), 0)
    assert list(ledger.connection.iterdump()) == before


@pytest.mark.parametrize("packed", [False, True])
def test_moved_and_renamed_frames_are_recognised(ledger: Ledger, lights: Path, tmp_path: Path, packed: bool) -> None:
    """A frame that was moved, renamed or gzipped is the same frame at another place."""
    add(ledger, lights)
    other = tmp_path / "archive" / "2027"
    other.mkdir(parents=True)
    for number, path in enumerate(sorted(lights.iterdir())):
        data = path.read_bytes()
        path.unlink()
        (other / f"{number}.fits{'.gz' if packed else ''}").write_bytes(gzip.compress(data) if packed else data)
    answer = add(ledger, lights, other)
    assert (answer.gone_count, answer.count("moved"), hours(ledger)) == (5, 5, 5)
    assert all(one.present and "archive" in one.frame.file.path for one in all_frames(ledger))


def test_a_moved_folder_is_recognised_without_the_old_one(ledger: Ledger, lights: Path, tmp_path: Path) -> None:
    """It is enough to add the new place; the old one need not be named."""
    add(ledger, lights)
    lights.rename(tmp_path / "elsewhere")
    assert add(ledger, tmp_path / "elsewhere").count("moved") == 5
    assert hours(ledger) == 5


def test_a_second_copy_counts_once(ledger: Ledger, lights: Path, tmp_path: Path) -> None:
    """A copied folder adds nothing, and the frame stands on the copy when the first file goes."""
    add(ledger, lights)
    shutil.copytree(lights, tmp_path / "copy")
    assert add(ledger, tmp_path / "copy").count("again") == 5
    shutil.rmtree(lights)
    lights.mkdir()
    assert add(ledger, lights, tmp_path / "copy").gone_count == 5
    assert hours(ledger) == 5
    assert all(one.present for one in all_frames(ledger))


def test_deleted_files_keep_their_light(ledger: Ledger, lights: Path) -> None:
    """A frame whose file was deleted still counts, and is known to be gone."""
    add(ledger, lights)
    (lights / "light_0000.fits").unlink()
    assert add(ledger, lights).gone_count == 1
    assert hours(ledger) == 5
    assert [one.present for one in all_frames(ledger)] == [False, True, True, True, True]


def test_a_processed_copy_is_held_apart(ledger: Ledger, lights: Path, tmp_path: Path) -> None:
    """The same exposure with other pixels beside the first counts once, until a person says otherwise."""
    add(ledger, lights)
    (tmp_path / "calibrated").mkdir()
    begun = all_frames(ledger)[0].frame
    cards = {**CAMERA, "DATE-OBS": "2027-10-03T20:00:00.000"}
    (tmp_path / "calibrated" / "c.fits").write_bytes(fits_bytes(cards, seed=99))
    answer = add(ledger, tmp_path / "calibrated")
    assert answer.count("copy") == 1
    assert hours(ledger) == 5
    copy = next(one for one in all_frames(ledger) if one.copy_of)
    assert copy.copy_of == begun.identity
    assert "Another form" in copy.why_not
    assert restore(ledger, [copy.frame.identity]) == 1
    assert hours(ledger) == 6


def test_a_rewritten_file_is_the_same_frame(ledger: Ledger, lights: Path) -> None:
    """A file calibrated in its place is the frame it was, with what a person decided about it."""
    add(ledger, lights)
    path = lights / "light_0000.fits"
    exclude(ledger, [find_frames(ledger, path.name)[0].frame.identity], "clouds")
    path.write_bytes(fits_bytes({**CAMERA, "DATE-OBS": "2027-10-03T20:00:00.000", "FOCALLEN": 400}, seed=99))
    os.utime(path, ns=(1, 1))
    assert add(ledger, lights).count("changed") == 1
    kept = all_frames(ledger)
    assert len(kept) == 5
    assert kept[0].excluded_reason == "clouds"
    assert kept[0].frame.focal_length_mm == 400


def test_a_name_used_again_is_another_frame(ledger: Ledger, lights: Path) -> None:
    """A file overwritten by another exposure brings a new frame; the light of the old one was collected."""
    add(ledger, lights)
    (lights / "light_0000.fits").write_bytes(frame_number(77))
    os.utime(lights / "light_0000.fits", ns=(1, 1))
    assert add(ledger, lights).count("new") == 1
    assert hours(ledger) == 6


def test_rejected_frames_do_not_count(ledger: Ledger, lights: Path) -> None:
    """Frames in the list or in the named folder do not count, and come back when they are taken out again."""
    add(ledger, lights)
    (lights / "Rejected").mkdir()
    (lights / "light_0000.fits").rename(lights / "Rejected" / "light_0000.fits")
    answer = add(ledger, lights, rejection=REJECTION)
    assert (answer.count("moved"), answer.rejection_changed_count, hours(ledger)) == (1, 1, 3)
    assert "Rejected" in next(one.why_not for one in all_frames(ledger) if one.rejected)
    (lights / "Rejected" / "light_0000.fits").rename(lights / "light_0000.fits")
    add(ledger, lights, rejection=REJECTION)
    assert hours(ledger) == 4
    add(ledger, lights)
    assert hours(ledger) == 5


def test_the_list_of_rejected_frames(tmp_path: Path) -> None:
    """Names stand one a line, with remarks and folders; what is no text is refused."""
    path = tmp_path / "rejected.txt"
    path.write_text("# remarks\nlights/light_0002.fits  # a satellite\n\nC:\\lights\\x.fit\n", encoding="utf-8")
    assert read_rejected_list(path) == {"light_0002.fits", "x.fit"}
    path.write_bytes(b"\xff\xfe\xfa")
    with pytest.raises(BadInput, match="UTF-8"):
        read_rejected_list(path)


def test_exclude_and_restore(ledger: Ledger, lights: Path) -> None:
    """An excluded frame does not count, with its reason, through later additions; restored, it counts."""
    add(ledger, lights)
    identity = find_frames(ledger, "LIGHT_0001")[0].frame.identity
    assert exclude(ledger, [identity], "Trailed.") == 1
    assert exclude(ledger, [identity, "unknown"]) == 0
    os.utime(lights / "light_0001.fits", ns=(1, 1))
    add(ledger, lights)
    assert hours(ledger) == 4
    assert find_frames(ledger, identity[:8])[0].why_not == "Excluded by hand. Trailed."
    assert restore(ledger, [identity]) == 1
    assert hours(ledger) == 5
    with pytest.raises(BadInput, match="no frame"):
        find_frames(ledger, "light_9")


def test_a_target_given_by_hand_stays(ledger: Ledger, lights: Path) -> None:
    """What a person says about a frame's target outlives matching, and can be that it has none."""
    add(ledger, lights)
    first, second = (one.frame.identity for one in all_frames(ledger)[:2])
    assert assign(ledger, [first, "unknown"], "M 110", computed) == 1
    assign(ledger, [second], None, computed)
    os.utime(lights / "light_0000.fits", ns=(1, 1))
    add(ledger, lights)
    rematch(ledger, [ANDROMEDA], computed, every=True)
    assert [one.match.target_key for one in all_frames(ledger)[:3]] == ["M 110", None, "M 31"]


def test_new_targets_take_frames_set_aside(ledger: Ledger, lights: Path) -> None:
    """Frames without a target are matched again when targets are added, without reading their files."""
    assert len(add_folders(ledger, [lights]).unmatched) == 5
    assert hours(ledger) == 0
    answer = add(ledger, lights)
    assert (answer.matched_count, answer.recorded, hours(ledger)) == (5, (), 5)
    assert all_frames(ledger)[0].computed.side == "east"


def test_a_changed_site_is_computed_anew(ledger: Ledger, lights: Path) -> None:
    """With `every`, weights and sides follow what is computed now."""
    add(ledger, lights)
    rematch(ledger, [ANDROMEDA], lambda frames, _: [Computed(weight=0.5)] * len(frames), every=True)
    assert {one.computed for one in all_frames(ledger)} == {Computed(weight=0.5)}


def test_hostile_files_do_not_stop_the_rest(ledger: Ledger, lights: Path) -> None:
    """Broken, foreign and calibration files are reported one by one, once; the rest is counted."""
    (lights / "empty.fits").write_bytes(b"")
    (lights / "text.fit").write_bytes(b"hello" * 1000)
    (lights / "cut.fits").write_bytes(frame_number(50)[:3000])
    (lights / "dark.fits").write_bytes(frame_number(51, IMAGETYP="Dark"))
    (lights / "huge.fits").write_bytes(frame_number(52, EXPTIME=1e300, OBJECT="x" * 60))
    (lights / "notes.txt").write_text("not an image", encoding="utf-8")
    answer = add(ledger, lights)
    kinds = {Path(one.file.path).name: one.kind for one in answer.set_aside}
    assert kinds == {
        "empty.fits": "empty",
        "text.fit": "not_fits",
        "cut.fits": "truncated",
        "dark.fits": "not_light",
        "huge.fits": "no_exposure",
    }
    assert (answer.count("new"), answer.others_count, hours(ledger)) == (5, 1, 5)
    assert add(ledger, lights).recorded == ()
    (lights / "cut.fits").write_bytes(frame_number(50))
    assert add(ledger, lights).count("new") == 1


def test_odd_folders(ledger: Ledger, lights: Path, tmp_path: Path) -> None:
    """A missing folder is refused before anything is done; links in a circle do no harm; a file may be named."""
    with pytest.raises(BadInput, match="no such folder") as refusal:
        add(ledger, lights, tmp_path / "gone", tmp_path / "away")
    assert len(refusal.value.problems) == 2
    assert all_frames(ledger) == ()
    try:
        (lights / "circle").symlink_to(lights, target_is_directory=True)
    except OSError:
        pytest.skip("this system lets nobody make links")
    assert add(ledger, lights).count("new") == 5
    assert add(ledger, lights / "light_0000.fits").known_count == 1
    assert hours(ledger) == 5


def test_progress_counts_files(ledger: Ledger, lights: Path) -> None:
    """Progress is told after each batch, up to the whole."""
    told: list[tuple[int, int]] = []
    add_folders(ledger, [lights], progress=lambda done, of: told.append((done, of)), batch=2)
    assert told == [(2, 5), (4, 5), (5, 5)]


def test_hours_by_hand(ledger: Ledger) -> None:
    """Hours without files are entered, counted, listed and taken back; what cannot be is refused."""
    number = add_hours(ledger, HandHours("M 31", "Ha", 2.5, dt.date(2026, 9, 1), 0.9, "from the old camera"))
    add_hours(ledger, HandHours("M 31", "R", 1.0))
    assert hours(ledger) == 42
    assert hand_hours(ledger)[0] == HandHours(
        "M 31", "Ha", 2.5, dt.date(2026, 9, 1), 0.9, "from the old camera", number
    )
    assert remove_hours(ledger, number).hours_h == 2.5
    assert hours(ledger) == 12
    for wrong in (HandHours("M 31", "", 0.0), HandHours("M 31", "", float("nan")), HandHours("", "", 1.0)):
        with pytest.raises(BadInput):
            add_hours(ledger, wrong)
    with pytest.raises(BadInput, match="weight"):
        add_hours(ledger, HandHours("M 31", "", 1.0, weight=-1.0))
    with pytest.raises(BadInput, match="number 99"):
        remove_hours(ledger, 99)


def test_reading_makes_no_file(tmp_path: Path) -> None:
    """A ledger that is only read is empty when it is not there, and is not made."""
    with open_ledger(tmp_path / "ledger.sqlite", create=False) as ledger:
        assert all_frames(ledger) == ()
        assert totals(ledger) == ()
    assert list(tmp_path.iterdir()) == []


def filled(path: Path, lights: Path) -> bytes:
    """Make a ledger with frames and return its bytes."""
    with open_ledger(path) as ledger:
        add(ledger, lights)
    return path.read_bytes()


@pytest.mark.parametrize("harm", ["cut", "scribbled", "text", "other"])
def test_a_damaged_or_foreign_file_is_left_alone(tmp_path: Path, lights: Path, harm: str) -> None:
    """A damaged ledger, a text and another program's database are refused with a way on, and not a byte changes."""
    path = tmp_path / "ledger.sqlite"
    data = bytearray(filled(path, lights))
    if harm == "cut":
        path.write_bytes(data[: len(data) // 2])
    elif harm == "scribbled":
        data[4096:12288] = b"\xaa" * 8192
        path.write_bytes(data)
    elif harm == "text":
        path.write_text("my notes\n" * 500, encoding="utf-8")
    else:
        path.unlink()
        with sqlite3.connect(path) as other:
            other.execute("CREATE TABLE theirs (a)")
        other.close()
    before = path.read_bytes()
    with pytest.raises(BadInput, match="left as it is") as refusal:
        open_ledger(path)
    assert refusal.value.problems[0].suggestion
    assert path.read_bytes() == before
    assert sorted(one.name for one in tmp_path.iterdir()) == ["ledger.sqlite", "lights"]


NEXT = (*STEPS, "ALTER TABLE frames ADD COLUMN seeing_arcsec REAL; UPDATE frames SET seeing_arcsec = 2.0")


def test_an_older_ledger_is_copied_and_brought_up(tmp_path: Path, lights: Path) -> None:
    """Migration makes a whole copy of the old file first, keeps every frame, and happens once."""
    path = tmp_path / "ledger.sqlite"
    filled(path, lights)
    with open_ledger(path, steps=NEXT) as ledger:
        assert version_of(ledger.connection) == 2
        assert ledger.connection.execute("SELECT sum(seeing_arcsec) FROM frames").fetchone() == (10.0,)
        assert ledger.copied_to == tmp_path / "ledger.version-1.sqlite"
    with open_ledger(tmp_path / "ledger.version-1.sqlite") as copy:
        assert len(all_frames(copy)) == 5
    with open_ledger(path, steps=NEXT) as ledger:
        assert ledger.copied_to is None


def test_an_older_program_refuses_a_newer_ledger(tmp_path: Path, lights: Path) -> None:
    """A ledger of a version that this program does not know is refused politely and left alone."""
    path = tmp_path / "ledger.sqlite"
    filled(path, lights)
    open_ledger(path, steps=NEXT).close()
    before = path.read_bytes()
    with pytest.raises(BadInput, match="newer Sidelight") as refusal:
        open_ledger(path)
    assert "Update Sidelight" in str(refusal.value)
    assert path.read_bytes() == before


def test_a_migration_that_fails_leaves_the_old_file(tmp_path: Path, lights: Path) -> None:
    """A step that breaks half-way is taken back whole; the ledger opens as before."""
    path = tmp_path / "ledger.sqlite"
    filled(path, lights)
    with pytest.raises(BadInput):
        open_ledger(path, steps=(*STEPS, "ALTER TABLE frames ADD COLUMN more REAL; UPDATE nothing SET a = 1"))
    with open_ledger(path) as ledger:
        assert len(all_frames(ledger)) == 5
        assert "more" not in {row[1] for row in ledger.connection.execute("PRAGMA table_info(frames)")}


def test_a_ledger_in_use_is_said_to_be(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two writers at once: the second waits, and then is told."""
    monkeypatch.setattr("sidelight.ledger.store._WAIT_S", 0.05)
    path = tmp_path / "ledger.sqlite"
    with open_ledger(path) as one, open_ledger(path) as other:
        with one.writing(), pytest.raises(BadInput, match="in use"):
            add_hours(other, HandHours("M 31", "", 1.0))
        assert add_hours(other, HandHours("M 31", "", 1.0)) == 1


def test_no_folder_for_the_ledger(tmp_path: Path) -> None:
    """A ledger in a folder that is not there is refused."""
    with pytest.raises(BadInput, match="no such folder"):
        open_ledger(tmp_path / "gone" / "ledger.sqlite")


def test_a_change_that_breaks_off_is_not_there(ledger: Ledger, lights: Path) -> None:
    """An exception within a change leaves nothing of it, and the ledger goes on."""
    add(ledger, lights)

    def break_off() -> None:
        with ledger.writing() as connection:
            connection.execute("DELETE FROM files")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        break_off()
    assert add(ledger, lights).known_count == 5
