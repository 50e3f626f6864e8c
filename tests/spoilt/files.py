"""Files that a person hands in, spoilt byte by byte or in their structure; what is accepted is also used."""

import contextlib
import datetime as dt
import io
import json
import random
import shutil
import zipfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import numpy as np
from tests.spoilt.records import Spoiling, Try
from tests.spoilt.tiny import PAST_NIGHTS, TARGETS, tiny_notebook
from tests.strategies.ledger import fits_bytes, frame_number
from tests.strategies.served import series, solved_image
from tests.strategies.spoiling import spoilt_bytes, spoilt_toml

from sidelight.campaign.weather import read_records
from sidelight.desk.demo import DATE
from sidelight.desk.first_image import check_images
from sidelight.desk.first_image_records import CheckQuestion
from sidelight.desk.keeping import TurnedPose, keep_turned
from sidelight.desk.ledger import add_frames
from sidelight.desk.ledger_show import frames_report, ledger_report
from sidelight.desk.season import season_report
from sidelight.desk.setup import SetupQuestion, setup_report
from sidelight.desk.sightings import spots_from_table
from sidelight.ground.errors import SidelightError
from sidelight.ground.plain import to_plain
from sidelight.ledger.files import read_rejected_list
from sidelight.ledger.headers import FitsHeader, read_header
from sidelight.notebook.files import Folder
from sidelight.notebook.read import problems_of, read_folder, read_notebook
from sidelight.notebook.schema.pages import FILES
from sidelight.stars import cache, errand
from sidelight.stars.importing import import_stars
from sidelight.stars.merged import catalogue_for
from sidelight.stars.service import ConeService

LONGEST_PROBLEM = 3000
HORIZONS = (
    b"# azimuth altitude\n0 14\n90 20.5\n180 8\n270 35\n",
    b"0;14\r\n90;20.5\r\n180;8\r\n270;35\r\n",
    b"\xef\xbb\xbf0,14\n90,20.5\n180,8\n270,35\n",
    "0° 14°\n90°\t20.5°\n180° −3°\n359.9 35 # lamp\n".encode(),
)
SPOTS = b"image,x_px,y_px,ra_deg,dec_deg\nsolved.fits,300,200,,\nsolved.fits,310.5,205.25,148.9,69.1\n"
LIST = "# frames that do not count\nframe0.fits\nnight 1\\frame1.fits\n/a/b/frame2.fit.fz # wind\nä.fits\n".encode()
SERVICE = ConeService("Mine", "http://127.0.0.1:9/cone?")
STARS = Path("stars")


def clear(refusal: SidelightError, file: str | None = None) -> None:
    """Check that a refusal is one of the person's, says something, and of which file."""
    assert refusal.exit_code in (1, 2), refusal
    assert refusal.problems
    for one in refusal.problems:
        assert one.message.strip()
        assert file is None or one.file == file, one
        assert len(str(one)) < LONGEST_PROBLEM, str(one)


def refused_or_used(use: Callable[[], object], file: str | None = None) -> bool:
    """Use what was handed in; a refusal must be clear."""
    try:
        to_plain(use())
    except SidelightError as refusal:
        clear(refusal, file)
        return False
    return True


# ── a notebook ──────────────────────────────────────────────────────────────────────────────────────────────────────


def notebook_contents(folder: Path) -> dict[str, bytes]:
    """Return a notebook's files, with a CSV of past nights that its campaign names, and a set-up that was kept."""
    pose = TurnedPose(TARGETS[0], 148.888, 69.065, 40.0)
    keep_turned(read_notebook(folder), "First", [pose], 17.2, DATE, True, None)
    held = {name: (folder / name).read_bytes() for name in FILES if (folder / name).exists()}
    held["campaign.toml"] = held["campaign.toml"].replace(b"# past_nights_file =", b"past_nights_file =")
    assert b'\npast_nights_file = "past-nights.csv"' in held["campaign.toml"]
    return {**held, "past-nights.csv": PAST_NIGHTS}


def notebook_used(planned: dict[str, bytes], seed: int) -> bool:
    """Read a notebook; what is accepted is also used, a season always and a set-up now and then."""
    folder = Folder(Path("garden"), planned)
    problems = problems_of(folder)
    for problem in problems:
        assert problem.file in planned, problem
        assert str(problem).strip()
        assert len(str(problem)) < LONGEST_PROBLEM, problem
        assert problem.line is None or problem.line >= 1
    if problems:
        return False
    book = read_folder(folder)
    to_plain(season_report(book, DATE, 2))
    if seed % 5 == 0:
        refused_or_used(lambda: setup_report(book, SetupQuestion(DATE)))
    return True


@contextlib.contextmanager
def a_notebook(spoil: Callable[[bytes, int], bytes], scratch: Path) -> Iterator[Try]:
    """Spoil one file of a notebook after the other."""
    held = notebook_contents(tiny_notebook(scratch / "garden"))
    names = sorted(name for name in held if spoil is spoilt_bytes or name.endswith(".toml"))

    def attempt(seed: int) -> bool:
        name = names[seed % len(names)]
        return notebook_used({**held, name: spoil(held[name], seed)}, seed)

    yield attempt


def structure(data: bytes, seed: int) -> bytes:
    """Spoil keys and values."""
    return spoilt_toml(data.decode(), seed).encode()


@contextlib.contextmanager
def a_horizon(scratch: Path) -> Iterator[Try]:
    """Spoil a skyline in each of the ways to write one."""
    held = notebook_contents(tiny_notebook(scratch / "garden"))

    def attempt(seed: int) -> bool:
        sound = HORIZONS[seed % len(HORIZONS)]
        points = spoilt_bytes(sound, seed) if seed >= len(HORIZONS) else sound
        return notebook_used({**held, "horizon.txt": points}, seed)

    yield attempt


# ── tables and lists ────────────────────────────────────────────────────────────────────────────────────────────────


@contextlib.contextmanager
def past_nights(_scratch: Path) -> Iterator[Try]:
    """Spoil a CSV of past nights."""

    def attempt(seed: int) -> bool:
        text = spoilt_bytes(PAST_NIGHTS, seed).decode("utf-8", errors="replace")
        nights: list[dict[dt.date, bool]] = []
        used = refused_or_used(lambda: nights.append(dict(read_records(text, "past-nights.csv"))), "past-nights.csv")
        assert all(isinstance(day, dt.date) for one in nights for day in one)
        return used

    yield attempt


@contextlib.contextmanager
def a_small_file(name: str, sound: bytes, use: Callable[[Path], object], scratch: Path) -> Iterator[Try]:
    """Spoil a file that is read by itself."""
    path = scratch / name

    def attempt(seed: int) -> bool:
        path.write_bytes(spoilt_bytes(sound, seed) if seed else sound)
        return refused_or_used(lambda: use(path), str(path))

    yield attempt


def _spots(path: Path) -> object:
    return [vars(one) for one in spots_from_table(path, [path.parent / "solved.fits"])]


def _rejected(path: Path) -> object:
    return sorted(read_rejected_list(path))


# ── images ──────────────────────────────────────────────────────────────────────────────────────────────────────────


@contextlib.contextmanager
def fits_headers(scratch: Path) -> Iterator[Try]:
    """Spoil a FITS file and read its header: a header or a reason."""
    path, sound = scratch / "frame.fits", fits_bytes()

    def attempt(seed: int) -> bool:
        path.write_bytes(spoilt_bytes(sound[:5760] if seed % 2 else sound, seed))
        answer = read_header(path)
        if isinstance(answer, FitsHeader):
            return True
        assert answer.reason.endswith(".")
        return False

    yield attempt


@contextlib.contextmanager
def fits_frames(scratch: Path) -> Iterator[Try]:
    """Spoil a FITS frame and take it into a ledger: it counts, or is set aside with a reason."""
    folder = tiny_notebook(scratch / "garden")
    book = read_notebook(folder)
    frames = scratch / "frames"
    frames.mkdir()

    def attempt(seed: int) -> bool:
        (frames / "a.fits").write_bytes(spoilt_bytes(frame_number(seed % 7, OBJECT=TARGETS[0])[:5760], seed))
        try:
            report = add_frames(book, [frames])
            to_plain((report, ledger_report(book), frames_report(book, (), None, not_counted=False)))
        finally:
            for path in folder.glob("ledger*"):
                path.unlink()
        return report.new_count > 0

    yield attempt


@contextlib.contextmanager
def solved_images(scratch: Path) -> Iterator[Try]:
    """Spoil the header of a solved image, and judge by it."""
    folder = tiny_notebook(scratch / "garden")
    notebook_contents(folder)
    book = read_notebook(folder)
    path = scratch / "solved.fits"
    sound = solved_image(path, folder, 1.0).read_bytes()
    end = sound.index(b"END" + b" " * 70)

    def attempt(seed: int) -> bool:
        path.write_bytes(spoilt_bytes(sound[: end + 80], seed).ljust(2880) + sound[2880:] if seed else sound)
        question = CheckQuestion((path,), DATE, "First", ("west",), (), None)
        return refused_or_used(lambda: check_images(book, question))

    yield attempt


# ── stars ───────────────────────────────────────────────────────────────────────────────────────────────────────────


def star_tables() -> dict[str, bytes]:
    """Return a small table of stars in each format that is taken in."""
    from astropy import units
    from astropy.table import Table

    chance = np.random.default_rng(3)
    table = Table(
        {
            "ra": chance.uniform(140, 142, 12) * units.deg,
            "dec": chance.uniform(20, 22, 12) * units.deg,
            "phot_g_mean_mag": chance.uniform(9, 15, 12) * units.mag,
        }
    )
    written = {}
    for suffix, kind in ((".xml", "votable"), (".fits", "fits"), (".ecsv", "ascii.ecsv"), (".csv", "ascii.csv")):
        stream: io.BytesIO | io.StringIO = io.StringIO() if kind.startswith("ascii") else io.BytesIO()
        table.write(stream, format=kind)
        got = stream.getvalue()
        written[suffix] = got.encode() if isinstance(got, str) else got
    return written


@contextlib.contextmanager
def a_table_of_stars(suffix: str, scratch: Path) -> Iterator[Try]:
    """Spoil a table of stars and take it in: whole and finite, or refused."""
    sound = star_tables()[suffix]
    path, kept = scratch / f"stars{suffix}", scratch / STARS

    def attempt(seed: int) -> bool:
        path.write_bytes(spoilt_bytes(sound, seed) if seed else sound)
        try:
            return refused_or_used(lambda: _taken_in(path, kept))
        finally:
            shutil.rmtree(kept, ignore_errors=True)

    yield attempt


def _taken_in(path: Path, kept: Path) -> None:
    """Import a table; what is kept must be read again."""
    report = import_stars(path, kept)
    piece = cache.load(report.path)
    assert piece is not None
    assert len(piece.stars) == report.stars > 0
    for values in (piece.stars.ra_deg, piece.stars.dec_deg, piece.stars.mag):
        assert np.all(np.isfinite(values))


@contextlib.contextmanager
def kept_stars(scratch: Path) -> Iterator[Try]:
    """Spoil a file of stars that was kept: it is used, or counts for nothing."""
    (scratch / "stars.csv").write_bytes(star_tables()[".csv"])
    path = import_stars(scratch / "stars.csv", scratch / STARS).path
    sound = path.read_bytes()

    def attempt(seed: int) -> bool:
        path.write_bytes(spoilt_bytes(sound, seed) if seed else sound)
        catalogue = catalogue_for(scratch / STARS)
        assert len(catalogue.cone(141.0, 21.0, 1.0).mag) > 0
        for made in (scratch / STARS).iterdir():
            if made != path:
                made.unlink()
        return cache.load(path) is not None

    yield attempt


def brought_back() -> bytes:
    """Return what an errand brings: its list and one answer."""
    circles = [{"field": TARGETS[0], "ra_deg": 141.0, "dec_deg": 21.0, "radius_deg": 1.5}]
    asked = {"service": SERVICE.name, "url": SERVICE.url, "limit_mag": 15.0, "pause_s": 0.0, "extra": {}}
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("errand.json", json.dumps({**asked, "circles": circles}))
        archive.writestr("0001.xml", star_tables()[".xml"])
    return stream.getvalue()


@contextlib.contextmanager
def an_errand(scratch: Path) -> Iterator[Try]:
    """Spoil what an errand brought back."""
    sound, path = brought_back(), scratch / "star-errand.zip"

    def attempt(seed: int) -> bool:
        data = spoilt_bytes(sound, seed)
        if seed % 2:
            data = _spoilt_member(sound, seed)
        path.write_bytes(data if seed else sound)
        try:
            return refused_or_used(lambda: vars(errand.import_errand(scratch / STARS, path, SERVICE)))
        finally:
            shutil.rmtree(scratch / STARS, ignore_errors=True)

    yield attempt


def _spoilt_member(sound: bytes, seed: int) -> bytes:
    """Return a sound archive, one member of which is spoilt."""
    from tests.spoilt.values import spoilt_json

    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(sound)) as old, zipfile.ZipFile(stream, "w") as new:
        listed, answer = old.read("errand.json"), old.read("0001.xml")
        if seed % 4 == 1:
            listed = spoilt_json(json.loads(listed), random.Random(seed))
        else:
            answer = spoilt_bytes(answer, seed)
        new.writestr("errand.json", listed)
        new.writestr("0001.xml", answer)
    return stream.getvalue()


# ── the ledger ──────────────────────────────────────────────────────────────────────────────────────────────────────


@contextlib.contextmanager
def a_ledger(scratch: Path) -> Iterator[Try]:
    """Spoil the ledger's own file: it is read, or refused and left as it is."""
    folder = tiny_notebook(scratch / "garden")
    book = read_notebook(folder)
    add_frames(book, [series(scratch / "frames", 2, TARGETS[0])])
    (path,) = folder.glob("ledger*")
    sound = path.read_bytes()

    def attempt(seed: int) -> bool:
        data = spoilt_bytes(sound, seed)
        path.write_bytes(data)
        used = refused_or_used(lambda: (ledger_report(book), frames_report(book, (), None, not_counted=False)))
        assert used or path.read_bytes() == data
        for made in folder.glob("ledger*"):
            made.unlink()
        return used

    yield attempt


def file_spoilings() -> tuple[Spoiling, ...]:
    """Return every way in which files are spoilt."""
    bits = "bytes lost, repeated, flipped, moved; foreign encodings, NUL, escapes, very long figures, cut short"
    keys = "keys, values, headers and lines lost, renamed, doubled, of the wrong kind, absurdly large"
    spoil = partial(Spoiling, "files")
    spots = partial(a_small_file, "spots.csv", SPOTS, _spots)
    rejected = partial(a_small_file, "rejected.txt", LIST, _rejected)
    return (
        spoil("a notebook's files (TOML, horizon, CSV)", bits, 160, partial(a_notebook, spoilt_bytes)),
        spoil("a notebook's TOML", keys, 160, partial(a_notebook, structure)),
        spoil("horizon, in each way of writing it", bits, 80, a_horizon),
        spoil("past nights (CSV)", bits, 400, past_nights),
        spoil("places of guide stars (CSV)", bits, 300, spots),
        spoil("list of rejected frames", bits, 300, rejected),
        spoil("FITS headers", bits, 400, fits_headers),
        spoil("FITS frames for the ledger", bits, 50, fits_frames, 0.5),
        spoil("solved FITS images", bits, 60, solved_images, 0.5),
        *[spoil(f"table of stars ({name})", bits, 60, partial(a_table_of_stars, suffix))
          for name, suffix in (("VOTable", ".xml"), ("FITS", ".fits"), ("ECSV", ".ecsv"), ("CSV", ".csv"))],
        spoil("stars that were kept (.npz)", bits, 60, kept_stars, 0.5),
        spoil("what an errand brought (ZIP)", f"{bits}; {keys}", 80, an_errand),
        spoil("the ledger's own file (SQLite)", bits, 80, a_ledger, 0.5),
    )  # fmt: skip
