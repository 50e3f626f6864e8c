"""Files that are not what their names say: pipes, folders, links, devices, other encodings, other names."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.spoilt.tiny import TARGETS, tiny_notebook
from tests.strategies.served import series

from sidelight.desk.demo import DATE
from sidelight.desk.first_image import check_images
from sidelight.desk.first_image_records import CheckQuestion
from sidelight.desk.ledger import add_frames
from sidelight.desk.ledger_decisions import reject_listed
from sidelight.desk.season import season_report
from sidelight.desk.sightings import spots_from_table
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.plain import to_plain
from sidelight.notebook.edit import add_target
from sidelight.notebook.files import Folder
from sidelight.notebook.read import problems_of, read_notebook
from sidelight.notebook.schema.pages import FILES
from sidelight.stars.importing import import_stars

POSIX = pytest.mark.skipif(os.name == "nt", reason="POSIX only: pipes with a name, devices, links for everybody")
WRITTEN = tuple(name for name in FILES if name not in ("setups.toml", "learned.toml"))
PAST = "past-nights.csv"


@pytest.fixture
def garden(tmp_path: Path) -> Path:
    """Return a tiny notebook with a table of past nights."""
    folder = tiny_notebook(tmp_path / "garden")
    campaign = folder / "campaign.toml"
    text = campaign.read_text(encoding="utf-8").replace("# past_nights_file =", "past_nights_file =")
    campaign.write_text(text, encoding="utf-8")
    (folder / PAST).write_text("date,clear\n2026-01-01,yes\n2026-01-02,no\n", encoding="utf-8")
    return folder


def refusals(garden: Path) -> tuple[Problem, ...]:
    """Return what is wrong with a notebook."""
    try:
        return tuple(problems_of(Folder(garden)))
    except BadInput as refusal:
        return refusal.problems


def pipe(path: Path) -> None:
    """Put a pipe there, which gives nothing for ever."""
    os.mkfifo(path)


def folder(path: Path) -> None:
    """Put a folder there."""
    path.mkdir()


def device(path: Path) -> None:
    """Put a link there to a device that never ends."""
    path.symlink_to("/dev/zero")


def circle(path: Path) -> None:
    """Put a link to itself there."""
    path.symlink_to(path.name)


def vast(path: Path) -> None:
    """Put a file there that is larger than any memory, and empty."""
    with path.open("wb") as file:
        file.truncate(1 << 40)


def utf_16(path: Path) -> None:
    """Put a text there in another encoding."""
    path.write_bytes("0 14\n90 20\n".encode("utf-16"))


IN_PLACE = (pipe, folder, device, circle, vast, utf_16)


@POSIX
@pytest.mark.parametrize("put", IN_PLACE, ids=lambda one: one.__name__)
def test_no_file_of_the_notebook_may_be_something_else(garden: Path, put: Callable[[Path], None]) -> None:
    """A pipe, folder, endless device, circle of links, vast file or UTF-16 in place of a file is refused by name."""
    for name in (*WRITTEN, PAST):
        path = garden / name
        kept = path.read_bytes()
        path.unlink()
        put(path)
        told = refusals(garden)
        assert any(one.file == name for one in told), (name, told)
        path.rmdir() if put is folder else path.unlink()
        path.write_bytes(kept)
    assert not problems_of(Folder(garden))


@POSIX
@pytest.mark.parametrize("put", IN_PLACE, ids=lambda one: one.__name__)
def test_no_table_or_image_may_be_something_else(garden: Path, tmp_path: Path, put: Callable[[Path], None]) -> None:
    """The same in place of a table of stars, places of guide stars, a list of frames, a solved image is refused."""
    book = read_notebook(garden)
    for name in ("x.xml", "x.fits", "x.ecsv", "x.csv"):
        put(tmp_path / name)
        with pytest.raises(BadInput):
            import_stars(tmp_path / name, tmp_path / "stars")
    with pytest.raises(BadInput):
        spots_from_table(tmp_path / "x.csv", [tmp_path / "x.fits"])
    if put is not utf_16:
        with pytest.raises(BadInput):
            reject_listed(book, tmp_path / "x.csv")
    with pytest.raises(BadInput):
        check_images(book, CheckQuestion((tmp_path / "x.fits",), DATE, None, ("west",), (), None))


@POSIX
def test_a_folder_of_frames_may_hold_anything(garden: Path, tmp_path: Path) -> None:
    """Beside two frames lie a pipe, a folder, a device, circles of links, a vast file: the frames are taken in."""
    frames = series(tmp_path / "frames", 2, TARGETS[0])
    for put in IN_PLACE:
        put(frames / f"{put.__name__}.fits")
    (frames / "round").symlink_to(frames)
    report = add_frames(read_notebook(garden), [frames])
    assert report.new_count == 2
    assert all(one.reason for one in report.aside)


@pytest.mark.parametrize(
    "name", ["ü ä.fits", "a%20b%2F.fits", "http:x.fits", "-x.fits", "#1 'q'.fits", "…" * 60 + ".fits", "星.fits"]
)
def test_a_frame_may_have_any_name(garden: Path, tmp_path: Path, name: str) -> None:
    """Foreign letters, escapes of addresses, dashes, very long names: the frame is taken in and named as it is."""
    frames = series(tmp_path / "frames", 1, TARGETS[0])
    (frames / "frame0.fits").rename(frames / name)
    book = read_notebook(garden)
    assert add_frames(book, [frames]).new_count == 1


@POSIX
@pytest.mark.parametrize("name", ["line\nline.fits", "\x1b[31m.fits", "\udcff.fits"])
def test_a_frame_whose_name_is_no_text(garden: Path, tmp_path: Path, name: str) -> None:
    """A line feed, a terminal's command, bytes that are no UTF-8: taken in or set aside, never a failure."""
    frames = series(tmp_path / "frames", 2, TARGETS[0])
    (frames / "frame0.fits").rename(frames / name)
    report = add_frames(read_notebook(garden), [frames])
    assert report.new_count + len(report.aside) + len(report.unread) == 2
    assert report.new_count >= 1


@pytest.mark.parametrize("how", ["CRLF", "BOM", "both"])
def test_what_another_editor_writes_means_the_same(garden: Path, how: str) -> None:
    """Foreign line ends and a byte order mark in every file change no answer, and stay when a target is added."""
    plain = to_plain(season_report(read_notebook(garden), DATE, 3))
    for name in (*WRITTEN, PAST):
        data = (garden / name).read_bytes()
        data = data if how == "BOM" else data.replace(b"\n", b"\r\n")
        (garden / name).write_bytes(data if how == "CRLF" else b"\xef\xbb\xbf" + data)
    assert to_plain(season_report(read_notebook(garden), DATE, 3)) == plain
    add_target(garden, "M 51")
    data = (garden / "targets.toml").read_bytes()
    assert data.startswith(b"\xef\xbb\xbf") == (how != "CRLF")
    assert (data.count(b"\r\n") == data.count(b"\n")) == (how != "BOM")


@POSIX
def test_links_are_followed_and_stay(garden: Path, tmp_path: Path) -> None:
    """A notebook behind a link, of files that are links, is read; a change goes where the link leads."""
    elsewhere = tmp_path / "kept elsewhere"
    elsewhere.mkdir()
    for name in WRITTEN:
        (garden / name).rename(elsewhere / name)
        (garden / name).symlink_to(elsewhere / name)
    (tmp_path / "link").symlink_to(garden)
    add_target(tmp_path / "link", "M 51")
    assert (garden / "targets.toml").is_symlink()
    assert "M 51" in (elsewhere / "targets.toml").read_text(encoding="utf-8")
    assert [one.key for one in read_notebook(tmp_path / "link").targets] == [*TARGETS, "M 51"]


@POSIX
@pytest.mark.parametrize("name", ["site.toml", "campaign.toml"])
def test_a_link_to_nowhere_is_no_missing_file(garden: Path, name: str) -> None:
    """A link whose file is gone is said to be one, even where the file may be left out."""
    (garden / name).unlink()
    (garden / name).symlink_to("gone.toml")
    assert [(one.file, "leads nowhere" in one.message) for one in refusals(garden)] == [(name, True)]
