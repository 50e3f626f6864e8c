"""The ledger at the desk: frames find their target, night, side and weight; nothing counts twice; decisions stay."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest
from tests.strategies.frames import write_light

from sidelight.desk.collected import LEDGER_FILE, collected_hours, missing_hours
from sidelight.desk.demo import ANSWERS
from sidelight.desk.ledger import add_frames
from sidelight.desk.ledger_decisions import (
    assign_frames,
    enter_hours,
    exclude_frames,
    reject_listed,
    restore_frames,
    take_back_hours,
)
from sidelight.desk.ledger_show import FrameRow, frames_report, ledger_report
from sidelight.desk.light import hour_weight
from sidelight.desk.worth import worth_tonight
from sidelight.ground.errors import BadInput
from sidelight.notebook.new import write_new_notebook
from sidelight.notebook.read import Notebook, read_notebook
from sidelight.sky.altitude import altitude_azimuth
from sidelight.sky.time import mjd_from_datetime

EVENING = dt.date(2027, 3, 6)
START = dt.datetime(2027, 3, 6, 20, 0, tzinfo=dt.UTC)


@pytest.fixture
def book(garden: Path) -> Notebook:
    """Return a copy of the demo's notebook to write to."""
    return read_notebook(garden)


def place_of(book: Notebook, key: str) -> tuple[float, float]:
    """Return where a target is pointed at."""
    return next((one.ra_deg, one.dec_deg) for one in book.targets if one.key == key)


def series(book: Notebook, folder: Path, key: str, count: int, **more: str) -> Path:
    """Write frames on a target, half an hour apart, with the mount's place and no object's name."""
    for number in range(count):
        start = START + dt.timedelta(minutes=30 * number)
        write_light(folder / f"{key}_{number}.fits".replace(" ", ""), start, place_deg=place_of(book, key), **more)
    return folder


def rows_of(book: Notebook) -> tuple[FrameRow, ...]:
    """Return every frame of the ledger."""
    return frames_report(book).frames


def test_frames_get_target_night_side_altitude_and_weight(book: Notebook, tmp_path: Path) -> None:
    """A night's frames belong to the evening's date; the side follows the azimuth, away from the flip's minutes."""
    add_frames(book, [series(book, tmp_path / "lights", "M 96", 16)])
    ra, dec = place_of(book, "M 96")
    seen = set()
    target = next(one for one in book.targets if one.key == "M 96")
    filter_l = book.light.filter_named("L")
    assert filter_l is not None
    for row in rows_of(book):
        middle = mjd_from_datetime(row.start_utc) + row.exposure_s / 2 / 86400
        altitude, azimuth = altitude_azimuth(ra, dec, middle, book.site)
        assert (row.target, row.matched_by, row.night) == ("M 96", "coordinates", EVENING)
        assert row.altitude_deg == pytest.approx(float(altitude), abs=0.01)
        # M 96 culminates in the south; five minutes past the meridian it has moved less than 4° in azimuth
        if abs(float(azimuth) - 180.0) > 5.0:
            assert row.side == ("east" if azimuth < 180 else "west")
            seen.add(row.side)
        assert row.weight == pytest.approx(float(hour_weight(book, target, filter_l, middle)), abs=1e-6)
    assert seen == {"east", "west"}
    total = ledger_report(book).by_target[0]
    assert total.hours_h == pytest.approx(16 * 300 / 3600)
    assert total.effective_hours_h == pytest.approx(sum(row.weight or 0 for row in rows_of(book)) * 300 / 3600)


def test_names_match_when_there_are_no_coordinates(book: Notebook, tmp_path: Path) -> None:
    """A frame without a place goes by any name of the catalogue: M 96 is NGC 3368 too."""
    write_light(tmp_path / "a" / "one.fits", START, object_name="ngc3368")
    write_light(tmp_path / "a" / "two.fits", START + dt.timedelta(hours=1), object_name="M096")
    add_frames(book, [tmp_path / "a"])
    assert [(row.target, row.matched_by) for row in rows_of(book)] == [("M 96", "name")] * 2
    assert all(row.weight is not None and row.altitude_deg is not None for row in rows_of(book))


def test_what_does_not_match_is_set_aside_with_advice(book: Notebook, tmp_path: Path) -> None:
    """Unknown frames are listed by name with what to do; putting the object on the list or assigning mends it."""
    write_light(tmp_path / "a" / "far.fits", START, object_name="NGC 4244", place_deg=(184.374, 37.807))
    write_light(tmp_path / "a" / "bare.fits", START + dt.timedelta(hours=1))
    report = add_frames(book, [tmp_path / "a"])
    advice = {one.object_name: one.advice for one in report.without_target}
    assert 'Put "NGC 4244" on the list' in advice["NGC 4244"]
    assert "ledger assign" in advice[""]
    assert collected_hours(book) == {}
    assert assign_frames(book, "m 81", ["bare.fits"]).changed_count == 1
    assert collected_hours(book)["M 81", "L"] > 0
    text = (book.folder / "targets.toml").read_text(encoding="utf-8")
    (book.folder / "targets.toml").write_text(text + '\n[[target]]\nname = "NGC 4244"\n', encoding="utf-8")
    again = add_frames(read_notebook(book.folder), [tmp_path / "a"])
    assert (again.new_count, again.matched_count, again.without_target) == (0, 1, ())


def test_adding_again_changes_nothing(book: Notebook, tmp_path: Path) -> None:
    """The same folder added twice reads nothing, and the ledger is the same."""
    folder = series(book, tmp_path / "lights", "M 81", 5)
    first = add_frames(book, [folder])
    before, report = rows_of(book), ledger_report(book)
    second = add_frames(book, [folder])
    assert (first.new_count, second.new_count, second.known_count) == (5, 0, 5)
    assert rows_of(book) == before
    assert ledger_report(book) == report


def test_moved_and_renamed_files_are_recognised(book: Notebook, tmp_path: Path) -> None:
    """A folder renamed, and a file in it too, gives no new frame; what a person decided stays."""
    folder = series(book, tmp_path / "lights", "M 81", 4)
    add_frames(book, [folder])
    exclude_frames(book, ["M81_2.fits"], "a plane")
    folder.rename(tmp_path / "archive")
    (tmp_path / "archive" / "M81_0.fits").rename(tmp_path / "archive" / "first.fits")
    report = add_frames(book, [tmp_path / "archive"])
    assert report.new_count == 0
    assert len(rows_of(book)) == 4
    assert [row.why_not for row in rows_of(book) if not row.counts] == ["Excluded by hand. a plane"]


def test_excluded_and_restored(book: Notebook, tmp_path: Path) -> None:
    """An excluded frame's hours go and come back; an unknown name is refused and changes nothing."""
    add_frames(book, [series(book, tmp_path / "lights", "M 81", 3)])
    full = ledger_report(book).by_target[0].hours_h
    assert exclude_frames(book, ["M81_0.fits", "M81_1"]).changed_count == 2
    assert ledger_report(book).by_target[0].hours_h == pytest.approx(full / 3)
    assert restore_frames(book, ["M81_0.fits", "M81_1.fits"]).changed_count == 2
    assert ledger_report(book).by_target[0].hours_h == pytest.approx(full)
    with pytest.raises(BadInput, match="no frame"):
        exclude_frames(book, ["M81_2.fits", "nothing.fits"])
    assert ledger_report(book).by_target[0].hours_h == pytest.approx(full)


def test_rejected_by_list_and_by_folder(book: Notebook, tmp_path: Path) -> None:
    """Frames on the list or in the folder for rejected ones do not count, also after adding again; a list adds up."""
    folder = series(book, tmp_path / "lights", "M 81", 4)
    (folder / "rejected").mkdir()
    (folder / "M81_3.fits").rename(folder / "rejected" / "M81_3.fits")
    add_frames(book, [folder])
    (tmp_path / "bad.txt").write_text("# clouds\nM81_0.fits\nnot yet there.fits\n", encoding="utf-8")
    (tmp_path / "worse.txt").write_text("somewhere/M81_1\n", encoding="utf-8")
    assert reject_listed(book, tmp_path / "bad.txt").changed_count == 1
    assert reject_listed(book, tmp_path / "worse.txt").changed_count == 1
    assert reject_listed(book, tmp_path / "worse.txt").files == ()
    add_frames(book, [folder])
    assert {Path(row.file).name for row in rows_of(book) if row.counts} == {"M81_2.fits"}
    assert ledger_report(book).not_counted == {"rejected": 3}


def test_hours_by_hand(book: Notebook) -> None:
    """Hours without files count for their target and can be taken back; what the notebook lacks is refused."""
    enter_hours(book, "m 81", 3.5, filter_name="ha", night=EVENING, note="before the ledger")
    enter_hours(book, "M 81", 2.0, weight_ratio=0.5)
    assert collected_hours(book) == {("M 81", "Ha"): 3.5, ("M 81", ""): 1.0}
    take_back_hours(book, 1)
    assert collected_hours(book) == {("M 81", ""): 1.0}
    for target, filter_name in (("M 82", ""), ("M 81", "Purple")):
        with pytest.raises(BadInput):
            enter_hours(book, target, 1.0, filter_name=filter_name)
    with pytest.raises(BadInput, match="number 9"):
        take_back_hours(book, 9)


def test_missing_hours_by_goal(book: Notebook, tmp_path: Path) -> None:
    """A goal by filter misses hours by filter; written-out filter names count as the filter they mean."""
    goal = '\n[[goal]]\ntarget = "M 81"\nfilters_h = { L = 2.0, Ha = 1.0 }\n'
    path = book.folder / "campaign.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + goal, encoding="utf-8")
    book = read_notebook(book.folder)
    add_frames(book, [series(book, tmp_path / "lights", "M 81", 6, filter_name="Luminance")])
    lacking = {(row.target, row.filter): row for row in ledger_report(book).missing}
    light = sum(row.weight or 0 for row in rows_of(book)) * 300 / 3600
    assert lacking["M 81", "L"].missing_h == pytest.approx(2.0 - light)
    assert lacking["M 81", "Ha"].missing_h == 1.0
    assert ("M 81", "") not in lacking
    assert lacking["M 96", ""].missing_h == 20.0


def test_an_unknown_filter_counts_in_full_and_is_told(book: Notebook, tmp_path: Path) -> None:
    """Hours through a filter that light.toml lacks have no weight, and a note says so."""
    add_frames(book, [series(book, tmp_path / "lights", "M 81", 2, filter_name="Duo 7nm")])
    assert [row.weight for row in rows_of(book)] == [None, None]
    report = ledger_report(book)
    assert report.by_target[0].effective_hours_h == pytest.approx(report.by_target[0].hours_h)
    assert any("Duo 7nm" in note for note in report.notes)


def test_bad_files_are_told_and_the_rest_goes_on(book: Notebook, tmp_path: Path) -> None:
    """Empty, cut, foreign and absurd files are set aside one by one; the sound frame among them counts."""
    folder = series(book, tmp_path / "lights", "M 81", 1)
    whole = (folder / "M81_0.fits").read_bytes()
    (folder / "empty.fits").write_bytes(b"")
    (folder / "cut.fits").write_bytes(whole[:3000])
    (folder / "letter.fits").write_text("Dear camera", encoding="utf-8")
    (folder / "absurd.fits").write_bytes(whole.replace(b"'2027-03-06T", b"'9927-13-46T"))
    write_light(folder / "dark.fits", START, kind="Dark Frame")
    report = add_frames(book, [folder])
    assert report.new_count == 1
    assert {Path(one.file).name: one.kind for one in report.aside} == {
        "absurd.fits": "no_time",
        "cut.fits": "truncated",
        "dark.fits": "not_light",
        "empty.fits": "empty",
        "letter.fits": "not_fits",
    }
    assert all(one.reason for one in report.aside)


def test_asking_makes_no_ledger(book: Notebook) -> None:
    """Looking at a notebook without a ledger says so and writes nothing."""
    assert collected_hours(book) == {}
    assert "ledger add" in ledger_report(book).sentence
    assert not (book.folder / LEDGER_FILE).exists()


def test_a_missing_folder_is_refused(book: Notebook, tmp_path: Path) -> None:
    """A folder that is not there, or none at all, is a refusal; nothing is recorded."""
    for folders in ([tmp_path / "gone"], []):
        with pytest.raises(BadInput):
            add_frames(book, folders)
    assert rows_of(book) == ()


def test_afresh_follows_a_change_of_the_site(book: Notebook, tmp_path: Path) -> None:
    """After the site moved, afresh works out altitudes anew, without reading a file."""
    add_frames(book, [series(book, tmp_path / "lights", "M 81", 2)])
    before = [row.altitude_deg for row in rows_of(book)]
    path = book.folder / "site.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("47.42", "57.42"), encoding="utf-8")
    moved = read_notebook(book.folder)
    add_frames(moved, [], afresh=True)
    after = [row.altitude_deg for row in rows_of(moved)]
    assert np.all(np.abs(np.array(after, dtype=float) - np.array(before, dtype=float)) > 0.5)


def test_what_is_collected_is_worth_nothing_more(book: Notebook) -> None:
    """Hours in the ledger lower a target's worth tonight; one that has all it wants is worth nothing."""
    before = worth_tonight(book, EVENING)
    enter_hours(book, "M 81", 20.0)
    enter_hours(book, "M 96", 12.0)
    after = worth_tonight(book, EVENING)
    assert missing_hours(book)["M 96"] == pytest.approx(8.0)
    assert (after["M 81"].value_per_h, after["M 81"].most_h) == (0.0, 0.0)
    assert after["M 96"].urgency == pytest.approx(before["M 96"].urgency * 8 / 20)
    # the others' urgency is their own; what an hour on them is worth falls as less competes for the same nights
    assert after["NGC 2903"].urgency == before["NGC 2903"].urgency
    assert 0.0 < after["NGC 2903"].value_per_h <= before["NGC 2903"].value_per_h


def test_a_fork_has_no_sides(tmp_path: Path) -> None:
    """On a mount that never flips every frame is on side "any"; its hours are neither east nor west."""
    write_new_notebook(tmp_path / "garden", {**ANSWERS, "rig.mount.kind": "fork"})
    book = read_notebook(tmp_path / "garden")
    add_frames(book, [series(book, tmp_path / "lights", "M 81", 2)])
    assert {row.side for row in rows_of(book)} == {"any"}
    total = ledger_report(book).by_target[0]
    assert (total.east_h, total.west_h) == (0.0, 0.0)


def test_another_name_of_a_target_leads_to_it(book: Notebook, tmp_path: Path) -> None:
    """Frames without a place go to the target that their object's other name, or its short name, means."""
    for number, name in enumerate(("Bodes", "NGC 3031", "Bode's Galaxy")):
        write_light(tmp_path / "new" / f"{number}.fits", START, object_name=name, seed=number)
    report = add_frames(book, [tmp_path / "new"])
    assert report.without_target == ()
    assert {row.target for row in rows_of(book)} == {"M 81"}


def test_a_target_is_not_advised_a_second_time(book: Notebook, tmp_path: Path) -> None:
    """Frames of a target on the list that point elsewhere are said to be its; a new object gets its usual name."""
    write_light(tmp_path / "new" / "a.fits", START, object_name="PGC 028630", seed=1)
    write_light(tmp_path / "new" / "b.fits", START, object_name="NGC 1976", seed=2)
    advice = {one.object_name: one.advice for one in add_frames(book, [tmp_path / "new"]).without_target}
    assert advice["PGC 028630"].startswith('"PGC 028630" is M 81 on your list; "sidelight ledger assign" gives them')
    assert 'Put "M 42" on the list' in advice["NGC 1976"]


def test_a_folder_without_fits_files_says_what_lies_there(book: Notebook, tmp_path: Path) -> None:
    """Files of other kinds are counted with their endings, and the way to enter their hours is told."""
    folder = tmp_path / "raw"
    folder.mkdir()
    for name in ("a.CR2", "b.cr2", "c.xisf"):
        (folder / name).write_bytes(b"x")
    assert add_frames(book, [folder]).sentence == (
        "No FITS files lie there. 3 files of other kinds (.cr2, .xisf) are not read; hours go in with "
        '"sidelight ledger hours".'
    )
    (tmp_path / "bare").mkdir()
    assert add_frames(book, [tmp_path / "bare"]).sentence == "No FITS files lie there."
