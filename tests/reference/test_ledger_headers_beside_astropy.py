"""Headers of real files, and the FITS standard's own examples, beside astropy's reading of them."""

import datetime as dt
import warnings
from pathlib import Path

import erfa
import numpy as np
import pytest
from astropy.io import fits
from tests.reference.test_ledger_wcs_published import astropy_folder
from tests.strategies.ledger import header_of

from sidelight.ledger.cards import split_cards
from sidelight.ledger.headers import FitsHeader, Unreadable, read_header
from sidelight.ledger.instants import start_of


def sample_files() -> list[Path]:
    """Return the FITS files that astropy ships with its tests: plain, compressed, gzipped, odd and broken ones."""
    folders = [("io", "fits", "tests", "data"), ("io", "fits", "tests", "data", "invalid"), ("wcs", "tests", "data")]
    files = [path for parts in folders for path in astropy_folder(*parts).iterdir()]
    return sorted(path for path in files if path.name.endswith((".fits", ".fits.gz")))


def first_image(path: Path) -> fits.Header | None:
    """Return the header of the first image as astropy sees it, tiles unpacked."""
    with fits.open(path) as parts:
        for part in parts:
            if part.is_image and part.header["NAXIS"] >= 2 and min(part.shape, default=0) > 0:
                return part.header
    return None


def test_sample_files_are_read_as_astropy_reads_them() -> None:
    """Size and every value of every image that astropy opens are the same here; the others give a reason."""
    compared = 0
    for path in sample_files():
        ours = read_header(path)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                theirs = first_image(path)
            except (OSError, ValueError, TypeError, fits.VerifyError):
                continue
            if theirs is None:
                assert isinstance(ours, Unreadable), path.name
                continue
            if isinstance(ours, Unreadable):
                # astropy pads what ends early; here that is said
                assert ours.trouble == "truncated", (path.name, ours)
                continue
            assert (ours.width_px, ours.height_px) == (theirs["NAXIS1"], theirs["NAXIS2"]), path.name
            compared += same_values(ours, theirs, path.name)
    assert compared > 1000


def same_values(ours: FitsHeader, theirs: fits.Header, name: str) -> int:
    """Hold every value of an astropy header against ours and return how many there were."""
    compared = 0
    for card in theirs.cards:
        key = card.keyword
        if key not in ours.cards or theirs.count(key) > 1 or key in ("COMMENT", "HISTORY", "", "SIMPLE", "EXTEND"):
            continue
        if ours.compressed and key in (
            "XTENSION",
            "BITPIX",
            "NAXIS",
            "NAXIS1",
            "NAXIS2",
            "PCOUNT",
            "GCOUNT",
            "EXTNAME",
        ):
            continue
        try:
            value = None if isinstance(card.value, fits.card.Undefined) else card.value
        except fits.VerifyError:
            # astropy refuses the card; here it may be anything but an exception
            ours.cards.get(key)
            continue
        assert ours.cards.get(key) == value, (name, key)
        compared += 1
    return compared


def test_the_standards_long_text() -> None:
    """FITS 4.0, section 4.2.1.2 (its example as remembered): CONTINUE cards are put together."""
    lines = [
        "WEATHER = 'Partly cloudy during the evening f&'",
        "CONTINUE  'ollowed by cloudy skies overnight.&'",
        "CONTINUE  ' Low 21C. Winds NNE at 5 to 10 mph.'",
        "END",
    ]
    cards = split_cards("".join(line.ljust(80) for line in lines).encode())
    assert cards is not None
    text = "Partly cloudy during the evening followed by cloudy skies overnight. Low 21C. Winds NNE at 5 to 10 mph."
    assert cards.get("WEATHER") == text


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("KEYWORD1= ''                   / null string keyword", ""),
        ("KEYWORD2= '   '                / empty string keyword", ""),
        ("KEYWORD3=                      / undefined keyword", None),
        ("KEY     = 'O''HARA'", "O'HARA"),
        ("KEY     =             1.23D-05 / double", 1.23e-5),
        ("KEY     =                    T", True),
    ],
)
def test_the_standards_values(line: str, value: object) -> None:
    """FITS 4.0, section 4.2 (examples as remembered): empty text, no value, doubled quotes, D exponents, logicals."""
    cards = split_cards((line.ljust(80) + "END".ljust(80)).encode())
    assert cards is not None
    assert cards.get(line[:8].rstrip()) == value
    theirs = fits.Header.fromstring(line.ljust(80))[line[:8].rstrip()]
    assert theirs == value or (value is None and isinstance(theirs, fits.card.Undefined))


@pytest.mark.parametrize(
    ("cards", "mjd"),
    [
        ({"DATE-OBS": "2000-01-01T12:00:00"}, 51544.5),
        ({"DATE-OBS": "1858-11-17"}, None),
        ({"DATE-OBS": "31/12/99", "TIME-OBS": "23:59:59"}, 51543.0 + 86399 / 86400),
        ({"MJD-OBS": 51544.5}, 51544.5),
    ],
)
def test_dates_of_the_standard(cards: dict[str, object], mjd: float | None) -> None:
    """J2000 is MJD 51544.5; the form of before 1999 is of the twentieth century (FITS 4.0, section 9)."""
    assert start_of(header_of(cards).cards, 60.0).mjd == (mjd if mjd is None else pytest.approx(mjd, abs=1e-9))


def test_instants_beside_erfa() -> None:
    """A thousand dates of a century have the MJD that ERFA gives them, to a tenth of a millisecond."""
    random = np.random.default_rng(5)
    for seconds in random.uniform(0, 100 * 365.25 * 86400, 300):
        moment = dt.datetime(1985, 1, 1, tzinfo=dt.UTC) + dt.timedelta(seconds=float(seconds))
        text = moment.strftime("%Y-%m-%dT%H:%M:%S.%f")
        second = moment.second + moment.microsecond / 1e6
        with warnings.catch_warnings():
            # ERFA warns of years whose leap seconds nobody knows yet
            warnings.simplefilter("ignore", erfa.ErfaWarning)
            day, part = erfa.dtf2d("UTC", moment.year, moment.month, moment.day, moment.hour, moment.minute, second)
        ours = start_of(header_of({"DATE-OBS": text}).cards, 60.0).mjd
        assert ours == pytest.approx(day - 2400000.5 + part, abs=1e-9)
