"""Whatever stands in a file that a person hands in, it is used or refused in words; nothing else ever happens.

SIDELIGHT_FUZZ_CASES=5000 pytest tests/property/test_robustness_files.py runs more cases of each.
"""

import datetime as dt
import io
from pathlib import Path

import numpy as np
import pytest
from tests.strategies.ledger import fits_bytes
from tests.strategies.spoiling import CASES, spoilt_bytes, spoilt_toml

from sidelight.campaign.weather import read_records
from sidelight.desk.season import season_report
from sidelight.desk.setup import SetupQuestion, setup_report
from sidelight.ground.errors import BadInput, SidelightError, SkySaysNo
from sidelight.ground.plain import to_plain
from sidelight.ledger.headers import FitsHeader, Unreadable, read_header
from sidelight.notebook.files import Folder
from sidelight.notebook.read import problems_of, read_folder
from sidelight.notebook.schema.pages import FILES
from sidelight.stars.importing import import_stars

DATE = dt.date(2027, 3, 6)
PAST_NIGHTS = b"date,clear\n" + b"".join(f"2026-{m:02d}-{d:02d},yes\n".encode() for m in (1, 6) for d in range(1, 29))


def contents(folder: Path) -> dict[str, bytes]:
    """Return the demo's files, with a CSV of past nights that the campaign names."""
    held = {name: (folder / name).read_bytes() for name in FILES if (folder / name).exists()}
    held["campaign.toml"] = held["campaign.toml"].replace(b"# past_nights_file =", b"past_nights_file =")
    assert b'\npast_nights_file = "past-nights.csv"' in held["campaign.toml"]
    return {**held, "past-nights.csv": PAST_NIGHTS}


def clear(refusal: SidelightError, file: str | None = None) -> None:
    """Check that a refusal says something, and of which file."""
    assert refusal.problems
    assert all(one.message and (file is None or one.file == file) for one in refusal.problems)


def used_or_refused(planned: dict[str, bytes], seed: int) -> bool:
    """Read a notebook; what is accepted is also used, a season always and a set-up now and then."""
    folder = Folder(Path("garden"), planned)
    problems = problems_of(folder)
    for problem in problems:
        assert problem.file in planned, problem
        assert str(problem).strip()
        assert len(str(problem)) < 3000, problem
        assert problem.line is None or problem.line >= 1
    if problems:
        return False
    book = read_folder(folder)
    to_plain(season_report(book, DATE, 2))
    if seed % 5 == 0:
        try:
            to_plain(setup_report(book, SetupQuestion(DATE)))
        except (SkySaysNo, BadInput) as refusal:
            clear(refusal)
    return True


@pytest.mark.parametrize("how", ["bytes", "structure"])
def test_files_of_a_notebook(demo_folder: Path, how: str) -> None:
    """Every file of the notebook, spoilt: it is refused with its name, or accepted and can be worked with."""
    held = contents(demo_folder)
    names = sorted(held)
    accepted = 0
    for seed in range(CASES or 220):
        name = names[seed % len(names)]
        if how == "bytes" or not name.endswith(".toml"):
            spoilt = spoilt_bytes(held[name], seed)
        else:
            spoilt = spoilt_toml(held[name].decode(), seed).encode()
        try:
            accepted += used_or_refused({**held, name: spoilt}, seed)
        except Exception as error:
            raise AssertionError(f"{how} {name} seed {seed}: {type(error).__name__} {error}") from error
    assert 0 < accepted < (CASES or 220)


def test_past_nights_by_themselves() -> None:
    """A CSV of past nights gives nights or a refusal."""
    for seed in range(CASES or 400):
        text = spoilt_bytes(PAST_NIGHTS, seed).decode("utf-8", errors="replace")
        try:
            nights = read_records(text, "past-nights.csv")
        except BadInput as refusal:
            clear(refusal, "past-nights.csv")
        else:
            assert all(isinstance(day, dt.date) for day in nights)


def test_fits_headers(tmp_path: Path) -> None:
    """A FITS file gives a header or a reason, in every state."""
    path, sound = tmp_path / "frame.fits", fits_bytes()
    for seed in range(CASES or 400):
        path.write_bytes(spoilt_bytes(sound[:5760] if seed % 2 else sound, seed))
        answer = read_header(path)
        assert isinstance(answer, FitsHeader | Unreadable)
        assert not isinstance(answer, Unreadable) or answer.reason.endswith(".")


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


@pytest.mark.parametrize("suffix", [".xml", ".fits", ".ecsv", ".csv"])
def test_tables_of_stars(tmp_path: Path, suffix: str) -> None:
    """A table of stars is taken in whole and finite, or refused with its name."""
    sound = star_tables()[suffix]
    taken = 0
    for seed in range(CASES or 60):
        path = tmp_path / f"stars{suffix}"
        path.write_bytes(spoilt_bytes(sound, seed) if seed else sound)
        try:
            report = import_stars(path, tmp_path / "kept")
        except BadInput as refusal:
            clear(refusal)
        except Exception as error:
            raise AssertionError(f"{suffix} seed {seed}: {type(error).__name__} {error}") from error
        else:
            taken += 1
            assert report.stars > 0
    assert taken


def test_a_table_that_would_fill_the_memory(tmp_path: Path) -> None:
    """A FITS header that says it has more columns than the standard allows is refused before anything is read."""
    path = tmp_path / "stars.fits"
    sound = star_tables()[".fits"]
    card = b"TFIELDS =                    3"
    assert card in sound
    path.write_bytes(sound.replace(card, b"TFIELDS = " + b"9" * 20))
    with pytest.raises(BadInput, match="more than 999 columns"):
        import_stars(path, tmp_path / "kept")
