"""A header becomes a light frame, or says why not."""

import pytest
from tests.strategies.ledger import CAMERA, found, header_of

from sidelight.ground.angles import separation_deg
from sidelight.ledger.frames import Frame, SetAside, frame_of


def light(**changes: object) -> Frame:
    """Return the frame of the camera's usual header with changes; None takes a card away."""
    answer = read(**changes)
    assert isinstance(answer, Frame), answer
    return answer


def read(**changes: object) -> Frame | SetAside:
    """Return what a changed header gives."""
    cards = {**CAMERA, **{key.replace("__", "-"): value for key, value in changes.items()}}
    return frame_of(header_of({key: value for key, value in cards.items() if value is not None}), found())


def test_the_usual_header() -> None:
    """Everything that a camera writes arrives."""
    frame = light()
    assert (frame.object_name, frame.filter_name, frame.exposure_s) == ("M 31", "Ha", 300.0)
    assert (frame.camera, frame.temperature_c, frame.gain, frame.binning) == ("Camera One", -10.0, 100.0, 1)
    assert (frame.pixel_um, frame.focal_length_mm, frame.pointing) == (3.76, 530.0, "mount")
    assert (frame.ra_deg, frame.dec_deg) == (10.6847, 41.2687)
    assert frame.notes == ()
    assert (frame.middle_mjd - frame.start_mjd) * 86400 == pytest.approx(150.0, abs=1e-5)


@pytest.mark.parametrize(
    ("changes", "kind"),
    [
        ({"IMAGETYP": "Dark Frame"}, "not_light"),
        ({"IMAGETYP": "FLAT"}, "not_light"),
        ({"IMAGETYP": "Bias Frame"}, "not_light"),
        ({"IMAGETYP": "Master Light"}, "not_light"),
        ({"IMAGETYP": None, "FRAME": "Flat"}, "not_light"),
        ({"IMAGETYP": None, "OBJECT": "darks"}, "not_light"),
        ({"NCOMBINE": 12}, "stack"),
        ({"EXPTIME": None}, "no_exposure"),
        ({"EXPTIME": "long"}, "no_exposure"),
        ({"EXPTIME": 0.0}, "no_exposure"),
        ({"EXPTIME": -300.0}, "no_exposure"),
        ({"EXPTIME": 1e9}, "no_exposure"),
        ({"EXPTIME": True}, "no_exposure"),
        ({"DATE__OBS": None}, "no_time"),
        ({"DATE__OBS": "yesterday"}, "no_time"),
        ({"DATE__OBS": "0000-00-00T00:00:00"}, "no_time"),
        ({"DATE__OBS": "1970-01-01T00:00:00"}, "no_time"),
        ({"DATE__OBS": "9999-12-31T23:59:59"}, "no_time"),
        ({"DATE__OBS": "2027-02-30T21:00:00"}, "no_time"),
        ({"DATE__OBS": "2027-02-20T25:00:00"}, "no_time"),
        ({"DATE__OBS": "2027-02-20"}, "no_time"),
        ({"DATE__OBS": 20270220}, "no_time"),
    ],
    ids=str,
)
def test_what_is_set_aside(changes: dict[str, object], kind: str) -> None:
    """Calibration frames, stacks, and frames without a usable exposure or date are set aside by their kind."""
    answer = read(**changes)
    assert isinstance(answer, SetAside)
    assert answer.kind == kind
    assert answer.reason


def test_an_unknown_kind_counts_with_a_note() -> None:
    """A frame that says no kind, or an unknown one, is taken as a light frame, and that is noted."""
    assert "no kind" in light(IMAGETYP=None).notes[0]
    assert '"Tribute"' in light(IMAGETYP="Tribute").notes[0]
    assert light(IMAGETYP=None, OBJECT="Dark Shark").object_name == "Dark Shark"
    assert light(IMAGETYP="object").notes == ()


@pytest.mark.parametrize(
    ("changes", "second"),
    [
        ({"DATE__OBS": "2027-10-03T21:15:04"}, 4.0),
        ({"DATE__OBS": "2027-10-03T21:15:04Z"}, 4.0),
        ({"DATE__OBS": "2027-10-03T23:15:04+02:00"}, 4.0),
        ({"DATE__OBS": "2027-10-03 21:15"}, 0.0),
        ({"DATE__OBS": "2027-10-03", "TIME__OBS": "21:15:04.5"}, 4.5),
        ({"DATE__OBS": None, "DATE__BEG": "2027-10-03T21:15:04"}, 4.0),
        ({"DATE__OBS": None, "DATE__AVG": "2027-10-03T21:17:34"}, 4.0),
    ],
    ids=str,
)
def test_ways_to_write_the_time(changes: dict[str, object], second: float) -> None:
    """The beginning of the exposure is found in each way that it is written."""
    whole = light(DATE__OBS="2027-10-03T21:15:00").start_mjd
    assert (light(**changes).start_mjd - whole) * 86400 == pytest.approx(second, abs=1e-5)


def test_another_time_scale_is_noted() -> None:
    """A time that is not UTC is said to be taken as such."""
    assert "TAI" in light(TIMESYS="TAI").notes[0]
    assert "unknown" in light(TIMESYS="LOCAL").notes[0]
    assert light(TIMESYS="UTC").notes == ()


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({}, (10.6847, 41.2687)),
        ({"RA": None, "DEC": None, "OBJCTRA": "00 42 44.3", "OBJCTDEC": "+41 16 09"}, (10.684583, 41.269167)),
        ({"RA": "00:42:44.3", "DEC": "+41:16:09"}, (10.684583, 41.269167)),
        ({"RA": "10.6847", "DEC": "41.2687"}, (10.6847, 41.2687)),
        ({"RA": "x", "DEC": "y", "OBJCTRA": "00 42 44.3", "OBJCTDEC": "+41 16 09"}, (10.684583, 41.269167)),
        ({"RA": 0.0, "DEC": 0.0}, None),
        ({"RA": None}, None),
        ({"RA": 9999.0}, None),
        ({"DEC": 91.0}, None),
        ({"RA": True, "DEC": True}, None),
    ],
    ids=str,
)
def test_where_a_frame_points(changes: dict[str, object], place: tuple[float, float] | None) -> None:
    """Degrees and sexagesimal text are read; 0, 0 and nonsense are no place."""
    frame = light(**changes)
    if place is None:
        assert frame.ra_deg is None
        assert frame.pointing == "none"
    else:
        assert frame.ra_deg is not None
        assert frame.dec_deg is not None
        assert float(separation_deg(frame.ra_deg, frame.dec_deg, *place)) < 1e-5


def test_a_solution_counts_before_the_mount() -> None:
    """A celestial solution gives the middle of the picture, not its reference pixel and not what the mount said."""
    solved = {
        "CTYPE1": "RA---TAN",
        "CTYPE2": "DEC--TAN",
        "CRVAL1": 83.8,
        "CRVAL2": 0.0,
        "CRPIX1": 1.0,
        "CRPIX2": 256.5,
    }
    frame = light(**solved, CDELT1=-0.001, CDELT2=0.001)
    assert frame.pointing == "solution"
    assert frame.ra_deg == pytest.approx(83.8 - 0.2555, abs=1e-4)
    assert frame.dec_deg == pytest.approx(0.0, abs=1e-9)


def test_coordinates_of_date_are_brought_to_j2000() -> None:
    """EQUINOX 2027.5 moves the place by 27.5 years of precession: 50.3″ a year along the ecliptic (Lieske 1977)."""
    frame = light(RA=0.0, DEC=1e-9, EQUINOX=2027.5)
    assert frame.ra_deg is not None
    assert frame.dec_deg is not None
    assert float(separation_deg(0.0, 0.0, frame.ra_deg, frame.dec_deg)) == pytest.approx(
        27.5 * 50.29 / 3600, rel=1e-3
    )
    assert "2027.5" in frame.notes[0]
    assert light(EQUINOX="soon").ra_deg == 10.6847


@pytest.mark.parametrize(
    "changes",
    [
        {"GAIN": "high"},
        {"CCD__TEMP": -9999.0},
        {"XPIXSZ": -1.0},
        {"FOCALLEN": True},
        {"XBINNING": 0},
        {"GAIN": 10**60},
    ],
    ids=str,
)
def test_wrong_types_are_left_out_and_noted(changes: dict[str, object]) -> None:
    """A value that cannot be is left out, the frame counts all the same, and the card is named."""
    frame = light(**changes)
    assert frame.exposure_s == 300.0
    assert next(iter(changes)).replace("__", "-") in frame.notes[0]


def test_the_same_exposure_has_the_same_key() -> None:
    """Identity goes by start, exposure, size and pixels; the key for copies by start, exposure, camera, filter."""
    assert light().identity == light(OBJECT="another name", RA=1.0).identity
    assert light().identity != light(DATE__OBS="2027-10-03T21:15:04.251").identity
    assert light().exposure_key == light(GAIN=5).exposure_key
    assert light().exposure_key != light(FILTER="R").exposure_key
    assert light(INSTRUME=None).exposure_key is None
    assert light(EXPTIME=0.5).exposure_key is None


def test_huge_text_is_cut() -> None:
    """An object's name of endless length and with control signs is cut and cleaned."""
    frame = light(OBJECT="M\x0731" * 200)
    assert len(frame.object_name) <= 200
    assert frame.object_name.isprintable()
