"""Stars from files and by errand, and the folder that keeps them."""

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import pytest
from astropy.table import Table
from tests.vo_server.faulty import Behaviour, at_most, honest, raw, serving

from sidelight.ground.errors import BadInput
from sidelight.stars import cache
from sidelight.stars.asking import Asker
from sidelight.stars.errand import FILE_NAME, import_errand, write_errand
from sidelight.stars.fetching import fetch_stars
from sidelight.stars.importing import import_stars
from sidelight.stars.service import ColumnMap, Cone, ConeService, SkyField, no_stars

FIELD = SkyField("M 31", 10.6847, 41.269, 0.3, 0.5)


def star_file(folder: Path, ending: str) -> Path:
    """Write three stars as one of the formats."""
    table = Table({"ra": [10.0, 10.1, 10.2], "dec": [40.0, 40.1, 40.2], "vmag": [9.0, 12.0, 14.5]})
    table["ra"].unit = table["dec"].unit = "deg"
    path = folder / f"deep{ending}"
    kind = {".vot": "votable", ".xml": "votable", ".fits": "fits", ".ecsv": "ascii.ecsv", ".csv": "ascii.csv"}[ending]
    table.write(path, format=kind)
    return path


@pytest.mark.parametrize("ending", [".vot", ".xml", ".fits", ".ecsv", ".csv"])
def test_all_formats_give_the_same_stars(tmp_path: Path, ending: str) -> None:
    """VOTable, FITS, ECSV and CSV of the same table are imported alike."""
    report = import_stars(star_file(tmp_path, ending), tmp_path / "stars")
    piece = cache.load(report.path)
    assert piece is not None
    assert report.stars == 3
    np.testing.assert_allclose(piece.stars.ra_deg, [10.0, 10.1, 10.2])
    np.testing.assert_allclose(piece.stars.mag, [9.0, 12.0, 14.5])
    assert piece.covers == ()
    assert any("not known where" in note for note in report.notes)


@pytest.mark.parametrize("ending", [".vot", ".fits", ".ecsv"])
def test_a_file_is_known_by_its_content(tmp_path: Path, ending: str) -> None:
    """A file with an unknown ending is read by how it begins."""
    path = star_file(tmp_path, ending).rename(tmp_path / "deep.dat")
    assert import_stars(path, tmp_path / "stars").stars == 3


def test_a_promise_of_coverage_is_kept(tmp_path: Path) -> None:
    """Where the person says the table is complete, and how deep, is kept with it."""
    cone = Cone(10.1, 40.1, 0.5)
    path = star_file(tmp_path, ".csv")
    report = import_stars(path, tmp_path / "stars", name="My survey", covers=[cone], depth_mag=14.0)
    piece = cache.load(report.path)
    assert piece is not None
    assert (piece.catalogue, piece.covers, piece.depth_mag) == ("My survey", (cone,), 14.0)


def test_columns_by_flag(tmp_path: Path) -> None:
    """Columns with unusual names are taken as the person says."""
    path = tmp_path / "odd.csv"
    path.write_text("east,north,light\n10.0,40.0,9.0\n", encoding="utf-8")
    with pytest.raises(BadInput, match="no column for right ascension"):
        import_stars(path, tmp_path / "stars")
    report = import_stars(path, tmp_path / "stars", ColumnMap(ra="east", dec="north", mag="light"))
    assert report.stars == 1


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("missing.csv", None),
        ("picture.png", b"\x89PNG\r\n\x1a\n"),
        ("broken.fits", b"SIMPLE  =                    T"),
        ("broken.vot", b"<VOTABLE><RESOURCE>"),
        ("empty.csv", b""),
        ("header.csv", b"ra,dec,mag\n"),
        ("text.csv", b"ra,dec,mag\nhere,there,bright\n"),
    ],
)
def test_files_without_stars_are_refused(tmp_path: Path, name: str, content: bytes | None) -> None:
    """A file that is missing, damaged, empty or no table is refused by name, and nothing is written."""
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(BadInput):
        import_stars(path, tmp_path / "stars")
    assert not (tmp_path / "stars").exists()


def test_half_a_promise_is_refused(tmp_path: Path) -> None:
    """Coverage without depth, or depth without coverage, is refused."""
    with pytest.raises(BadInput, match="belong together"):
        import_stars(star_file(tmp_path, ".csv"), tmp_path / "stars", depth_mag=14.0)


def test_an_imported_table_replaces_itself(tmp_path: Path) -> None:
    """Importing the same file again makes no second copy."""
    path = star_file(tmp_path, ".csv")
    import_stars(path, tmp_path / "stars")
    import_stars(path, tmp_path / "stars")
    assert len(cache.piece_files(tmp_path / "stars")) == 1


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 half a zip", b"\x93NUMPY"])
def test_damaged_pieces_do_not_count(tmp_path: Path, content: bytes) -> None:
    """A file that is no piece is told from those that are, and breaks nothing."""
    (tmp_path / f"x{cache.ENDING}").write_bytes(content)
    pieces, damaged = cache.load_all(tmp_path)
    assert (len(pieces), len(damaged)) == (0, 1)


def test_a_piece_comes_back_as_it_was(tmp_path: Path) -> None:
    """Everything in a piece survives the disk, an empty table too."""
    cone = Cone(1.5, -2.5, 0.25)
    piece = cache.Piece(
        "Cat Ä", "http://x/?", (cone,), 13.0, 12.5, no_stars(), "2027-01-01T00:00:00Z", ("note",), cone
    )
    back = cache.load(cache.save(tmp_path, piece))
    assert back is not None
    assert {k: v for k, v in vars(back).items() if k != "stars"} == {
        k: v for k, v in vars(piece).items() if k != "stars"
    }
    assert len(back.stars) == 0


def run_errand(path: Path, folder: Path) -> subprocess.CompletedProcess[str]:
    """Carry the program to another folder and run it there, without waiting between attempts."""
    folder.mkdir(exist_ok=True)
    program = path.read_text(encoding="utf-8").replace("(2, 8, 30)", "(0, 0, 0)")
    (folder / FILE_NAME).write_text(program, encoding="utf-8")
    command = [sys.executable, "-I", str(folder / FILE_NAME)]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)


def service(url: str) -> ConeService:
    """Return a record of the test's server."""
    return ConeService("Test stars", url, pause_s=0.0, extra=(("Gmag", "<{limit_mag}"),))


def places(folder: Path) -> set[tuple[float, float]]:
    """Return the places of all stars in a folder."""
    tables = [piece.stars for piece in cache.load_all(folder)[0]]
    return {place for table in tables for place in zip(table.ra_deg, table.dec_deg, strict=True)}


def test_an_errand_there_and_back(tmp_path: Path) -> None:
    """The program runs by itself elsewhere, and what it brings is as good as a fetch."""
    with serving(honest) as server:
        path = write_errand(tmp_path / "stars", [FIELD], service(server.url), 12.0)
        assert path is not None
        assert run_errand(path, tmp_path / "elsewhere").returncode == 0
        asked = len(server.questions)
        assert {question.get("Gmag") for question in server.questions} == {"<12.00"}
        report = import_errand(tmp_path / "stars", tmp_path / "elsewhere" / "star-errand.zip", service(server.url))
        assert len(report.new) == asked
        assert write_errand(tmp_path / "stars", [FIELD], service(server.url), 12.0) is None
        client = Asker(service(server.url), 12.0, sleep=lambda _: None)
        fetch_stars(tmp_path / "direct", [FIELD], client.service, 12.0, asker=client)
    direct = places(tmp_path / "direct")
    assert direct
    assert direct <= places(tmp_path / "stars")


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        (at_most(10, flagged=True), "still missing"),
        (raw(b"<html>log in</html>"), "no VOTable"),
        (raw(b'<VOTABLE><INFO name="Error" value="not today"/></VOTABLE>'), "not today"),
    ],
)
def test_what_an_errand_could_not_bring_becomes_a_new_one(tmp_path: Path, fault: Behaviour, says: str) -> None:
    """Cut, damaged and refused answers are not taken for whole ones; a new errand asks for them again."""
    with serving(fault) as server:
        path = write_errand(tmp_path / "stars", [FIELD], service(server.url), 12.0)
        assert path is not None
        first = path.read_text(encoding="utf-8")
        run_errand(path, tmp_path / "elsewhere")
        report = import_errand(tmp_path / "stars", tmp_path / "elsewhere" / "star-errand.zip", service(server.url))
        assert any(says in note for note in report.notes)
        assert path.read_text(encoding="utf-8").count('"field"') >= first.count('"field"')


def test_an_errand_goes_on_where_it_stopped(tmp_path: Path) -> None:
    """Answers that are in the zip already are not asked for again, and a failure is told by the exit code."""
    with serving(honest, raw(b"busy", status=503)) as server:
        path = write_errand(tmp_path / "stars", [FIELD], service(server.url), 12.0)
        assert path is not None
        failed = run_errand(path, tmp_path / "elsewhere")
        assert failed.returncode != 0
        assert "missing" in failed.stderr
        server.behaviours[:] = [honest]
        before = len(server.questions)
        assert run_errand(path, tmp_path / "elsewhere").returncode == 0
        with zipfile.ZipFile(tmp_path / "elsewhere" / "star-errand.zip") as archive:
            circles = json.loads(archive.read("errand.json"))["circles"]
        assert len(server.questions) - before == len(circles) - 1


@pytest.mark.parametrize("content", [b"", b"no zip", b"PK\x05\x06" + b"\0" * 18])
def test_what_is_no_errand_is_refused(tmp_path: Path, content: bytes) -> None:
    """Another file is not taken for an errand's."""
    path = tmp_path / "star-errand.zip"
    path.write_bytes(content)
    with pytest.raises(BadInput, match="not what an errand brings"):
        import_errand(tmp_path / "stars", path)


def test_an_errand_for_another_service_is_refused(tmp_path: Path) -> None:
    """Answers of one service are not filed under another."""
    path = tmp_path / "star-errand.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("errand.json", json.dumps({"url": "http://other/?", "limit_mag": 12, "circles": []}))
    with pytest.raises(BadInput, match="another service"):
        import_errand(tmp_path / "stars", path)
