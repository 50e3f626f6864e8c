"""What solved images say together: cases that can be done in the head, and what must be said when they cannot."""

import numpy as np
import pytest
from scipy.stats import chi2
from tests.strategies.ledger import header_of

from sidelight.ground.errors import BadInput
from sidelight.ledger.calibration import MeasuredAngle, MeasuredPointing, flip_pointing, rotation_offset
from sidelight.ledger.estimate import Estimate, fit_linear
from sidelight.ledger.stem_fit import GuideSighting, fit_stem
from sidelight.ledger.turns import Side
from sidelight.ledger.wcs import find_solution, px_of_sky, solution_of, solved_image

SOLVED = {
    "CTYPE1": "RA---TAN",
    "CTYPE2": "DEC--TAN",
    "CRVAL1": 10.0,
    "CRVAL2": 40.0,
    "CRPIX1": 256.5,
    "CRPIX2": 256.5,
    "CD1_1": -0.001,
    "CD1_2": 0.0,
    "CD2_1": 0.0,
    "CD2_2": 0.001,
}


def test_an_offset_from_both_sides() -> None:
    """Images of both sides are brought to the west and averaged; the circle is no obstacle."""
    angles = [MeasuredAngle(358.0, 0.0), MeasuredAngle(179.0, 0.0, "east"), MeasuredAngle(88.5, 90.0)]
    answer = rotation_offset(angles)
    assert answer.offset_deg.value == pytest.approx(-1.5)
    assert answer.offset_deg.error == pytest.approx(0.5 / np.sqrt(3))
    assert answer.offset_deg.degrees_of_freedom == 2
    assert answer.flip_deg is not None
    assert answer.flip_deg.value == pytest.approx(-1.75 + 1.0)
    assert answer.notes == ()


def test_weights_of_an_offset() -> None:
    """A better image counts more, and errors that are given make the error of the mean."""
    answer = rotation_offset([MeasuredAngle(1.0, 0.0, error_deg=0.1), MeasuredAngle(2.0, 0.0, error_deg=1e6)])
    assert answer.offset_deg.value == pytest.approx(1.0)
    assert answer.offset_deg.error == pytest.approx(0.1)
    assert answer.flip_deg is None


def test_what_an_offset_cannot_say_is_said() -> None:
    """One image has no error; images on their heads and images that disagree are pointed out."""
    one = rotation_offset([MeasuredAngle(181.0, 0.0)])
    assert one.offset_deg == Estimate(pytest.approx(-179.0), None)
    assert "One image" in one.notes[0]
    heads = rotation_offset([MeasuredAngle(1.0, 0.0), MeasuredAngle(181.0, 0.0), MeasuredAngle(1.2, 0.0)])
    assert "heads" in heads.notes[0]
    moved = rotation_offset([MeasuredAngle(1.0, 0.0, error_deg=0.1), MeasuredAngle(3.0, 0.0, error_deg=0.1)])
    assert "something turned" in moved.notes[0]
    with pytest.raises(BadInput, match="No solved image"):
        rotation_offset([])


@pytest.mark.parametrize("turn_deg", [-179.9, -90.0, 30.0, 60.0, 170.0])
@pytest.mark.parametrize(("apart_deg", "noted"), [(89.5, False), (90.5, True), (-89.5, False), (-90.5, True)])
def test_a_quarter_turn_is_the_bound_of_standing_on_the_head(turn_deg: float, apart_deg: float, noted: bool) -> None:
    """More than 90° from the first, an image is said to stand on its head, wherever on the circle that is."""
    answer = rotation_offset([MeasuredAngle(turn_deg + each, 0.0) for each in (0.0, apart_deg, 0.0)])
    assert ["heads" in note for note in answer.notes] == [True] * noted


@pytest.mark.parametrize("turn_deg", [-179.9, -90.0, 0.0, 30.0, 60.0, 170.0])
def test_a_mount_that_did_not_flip_shows_half_a_turn(turn_deg: float) -> None:
    """Sides half a turn apart are told as such, with the error of their scatter, though it crosses ±180°."""
    scatter: dict[Side, tuple[float, ...]] = {"west": (0.2, -0.2, 0.0), "east": (0.3, -0.3, 0.0)}
    angles = [MeasuredAngle(turn_deg + each, 0.0, side) for side, its in scatter.items() for each in its]
    flip = rotation_offset(angles).flip_deg
    assert flip is not None
    assert abs(flip.value) == pytest.approx(180.0)
    # two means of three images each, with four degrees of freedom in common
    squares = sum(each**2 for its in scatter.values() for each in its)
    assert flip.error == pytest.approx(np.sqrt(squares / 4 * (1 / 3 + 1 / 3)))
    assert flip.degrees_of_freedom == 4


@pytest.mark.parametrize(("squares", "noted"), [(6.634, False), (6.636, True)])
def test_one_misfit_in_a_hundred_is_noted(squares: float, noted: bool) -> None:
    """Images that disagree as one pair in a hundred does are pointed out, of turn as of pointing.

    The 1 % point of chi-square with one degree of freedom is 6.635 (NIST/SEMATECH e-Handbook, table 1.3.6.7.4: value
    and number of the table from memory; SciPy has the same).
    Two values that are d apart, each with the error e, have the sum of squares d²/2e².
    """
    assert (squares > chi2.isf(0.01, 1)) == noted
    error = 0.1
    apart = error * np.sqrt(2 * squares)
    turned = rotation_offset([MeasuredAngle(each, 0.0, error_deg=error) for each in (0.0, apart)])
    assert [note.startswith("The images differ") for note in turned.notes] == [True] * noted
    sides: list[tuple[Side, float]] = [("west", 0.0), ("west", apart / 60), ("east", 0.0)]
    pointed = flip_pointing([MeasuredPointing(0.0, 0.0, 0.0, each, side, error) for side, each in sides])
    assert ["synchronised" in note for note in pointed.notes] == [True] * noted


def test_each_image_is_taken_from_its_own_asked_place() -> None:
    """Fields of other declinations on either side: 3′ north in the west and 5′ in the east are half of −2′."""
    images = [
        MeasuredPointing(10.0, 60.0, 10.0, 60.0 + 3 / 60, "west"),
        MeasuredPointing(200.0, -20.0, 200.0, -20.0 + 5 / 60, "east"),
    ]
    answer = flip_pointing(images)
    assert answer.declination_arcmin.value == pytest.approx(-1.0)
    assert answer.cone_arcmin.value == pytest.approx(0.0, abs=1e-12)


def test_cone_error_by_hand() -> None:
    """A field 6′ east of the asked place in the west and 2′ east of it in the east: cone error 2′, sync 4′."""
    at = 60.0
    images = [
        MeasuredPointing(10.0, at, 10.0 + 6 / 60 / 0.5, at + 1 / 60, "west"),
        MeasuredPointing(10.0, at, 10.0 + 2 / 60 / 0.5, at - 3 / 60, "east"),
    ]
    answer = flip_pointing(images)
    assert answer.cone_arcmin.value == pytest.approx(2.0)
    assert answer.declination_arcmin.value == pytest.approx(2.0)
    assert answer.cone_arcmin.error is None
    assert "third" in answer.notes[0]
    west = flip_pointing(images[:1] * 3)
    assert not west.cone_arcmin.determined
    assert "Both sides" in west.notes[0]
    with pytest.raises(BadInput):
        flip_pointing([])


def test_what_a_linear_fit_settles() -> None:
    """A parameter that no measurement tells from another is not determined; one apart from them is."""
    design = np.array([[1.0, 1.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    fitted = fit_linear(design, np.array([2.0, 2.0, 5.0]), [0.1, 0.1, 0.2])
    assert fitted.determined == (False, False, True)
    assert fitted.estimate(0).error is None
    assert fitted.estimate(2).value == pytest.approx(5.0)
    assert fitted.estimate(2).error == pytest.approx(0.2)


def test_intervals() -> None:
    """1.960 errors cover 95 % (normal), 4.303 with two degrees of freedom (Student's table)."""
    low, high = Estimate(1.0, 0.5).interval() or (0.0, 0.0)
    assert (high - low) / 2 / 0.5 == pytest.approx(1.960, abs=5e-4)
    low, high = Estimate(1.0, 0.5, 2).interval() or (0.0, 0.0)
    assert (high - low) / 2 / 0.5 == pytest.approx(4.303, abs=5e-4)
    assert Estimate(1.0, None).interval() is None


def sighting(
    along_mm: float = 0.0, across_mm: float = 0.0, up_deg: float = 0.0, error_mm: float = 0.01
) -> GuideSighting:
    """Return a star due north of an image on the equator, 20 mm from its middle at 1000 mm focal length."""
    return GuideSighting(up_deg, 0.0, 0.0, 0.0, float(np.degrees(np.arctan(0.02))), along_mm, across_mm, error_mm)


def test_a_stem_by_hand() -> None:
    """A star 20 mm to the north, in the sensor's middle, with up at 30°: radius 20 mm, offset 330°."""
    answer = fit_stem([sighting(up_deg=30.0)], 1000.0)
    assert answer.stem_radius_mm.value == pytest.approx(20.0, abs=1e-9)
    assert answer.stem_offset_deg.value == pytest.approx(330.0, abs=1e-9)
    assert answer.stem_radius_mm.error == pytest.approx(0.01, rel=1e-6)
    assert answer.stem_offset_deg.error == pytest.approx(np.degrees(0.01 / 20), rel=1e-3)
    further = fit_stem([sighting(along_mm=1.0)], 1000.0)
    assert further.stem_radius_mm.value == pytest.approx(19.0, abs=1e-9)


def test_one_star_does_not_settle_the_stem() -> None:
    """From one star the fit says that it rests on the guide camera's seat, and which way up is open."""
    answer = fit_stem([sighting(along_mm=1.0, across_mm=1.0)], 1000.0)
    assert not answer.determined
    assert not answer.seating_settled
    assert not answer.stem_radius_mm.determined
    assert "not settled" in answer.notes[0]
    assert "assumed more than measured" in answer.notes[1]


def test_a_seating_that_is_known_leaves_none_open() -> None:
    """Told that the places are as the rig has them, the fit gives the same stem and doubts only the squareness."""
    open_fit = fit_stem([sighting(along_mm=1.0, across_mm=1.0)], 1000.0)
    known = fit_stem([sighting(along_mm=1.0, across_mm=1.0)], 1000.0, seating_known=True)
    assert known.stem_offset_deg.value == pytest.approx(open_fit.stem_offset_deg.value, abs=1e-9)
    assert known.seating_settled
    assert not known.determined
    assert ["assumed more than measured" in note for note in known.notes] == [True]


def test_stars_that_do_not_fit_are_pointed_out() -> None:
    """Two places on the sensor for one and the same star cannot both be right."""
    answer = fit_stem([sighting(), sighting(along_mm=1.0), sighting(across_mm=1.0)], 1000.0)
    assert any("do not fit" in note for note in answer.notes)


def test_a_stem_needs_stars_and_errors() -> None:
    """No star, an error of nothing and a star behind the telescope are refused."""
    with pytest.raises(BadInput, match="No guide star"):
        fit_stem([], 1000.0)
    with pytest.raises(BadInput, match="positive"):
        fit_stem([sighting(), sighting(error_mm=0.0)], 1000.0)
    with pytest.raises(BadInput, match="positive"):
        fit_stem([sighting()], 0.0)
    with pytest.raises(BadInput, match="positive"):
        fit_stem([sighting()], 1000.0, seat_deg=0.0)
    with pytest.raises(BadInput, match="positive"):
        fit_stem([sighting()], 1000.0, focal_error_mm=-1.0)
    with pytest.raises(BadInput, match="no guider reaches"):
        fit_stem([GuideSighting(0.0, 0.0, 0.0, 180.0, 0.0, 0.0, 0.0, 0.01)], 1000.0)


def test_a_guide_star_is_within_reach() -> None:
    """Up to 20° from the middle of its image a star is taken; beyond it, and in the very middle, none can be."""

    def star(dec_deg: float) -> GuideSighting:
        return GuideSighting(0.0, 0.0, 0.0, 0.0, dec_deg, 0.0, 0.0, 0.01)

    assert fit_stem([star(19.9)], 100.0).stem_radius_mm.value == pytest.approx(100.0 * np.tan(np.radians(19.9)))
    for dec_deg in (20.1, 0.0):
        with pytest.raises(BadInput, match="no guider reaches"):
            fit_stem([star(dec_deg)], 100.0)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"CTYPE1": None, "CTYPE2": None}, "not been solved"),
        ({"CTYPE1": "GLON-TAN", "CTYPE2": "GLAT-TAN"}, "not right ascension"),
        ({"CRVAL1": None}, "CRVAL1"),
        ({"CRPIX2": "middle"}, "CRPIX2"),
        ({"CRVAL2": 95.0}, "declination of 95"),
        ({"CD1_1": 0.0, "CD2_2": 0.0}, "no inverse"),
        ({"CD1_1": None, "CD1_2": None, "CD2_1": None, "CD2_2": None}, "neither CD1_1"),
        ({"CD1_1": "wide"}, "CD1_1 is no number"),
        ({"CUNIT1": "furlong"}, "furlong"),
    ],
    ids=str,
)
def test_what_is_no_solution_says_why(changes: dict[str, object], words: str) -> None:
    """An image without a usable solution is refused in words that say what is wrong and what to do."""
    header = header_of({key: value for key, value in (SOLVED | changes).items() if value is not None})
    with pytest.raises(BadInput, match=words) as refusal:
        solution_of(header)
    assert "plate solver" in str(refusal.value)
    assert isinstance(find_solution(header), str)


def test_contradictions_in_a_header_are_noted() -> None:
    """A CROTA2 that does not agree with the CD matrix is noted, one that agrees is not; CD counts."""
    camera = {"CDELT1": -0.001, "CDELT2": 0.001}
    image = solved_image(solution_of(header_of(SOLVED | camera | {"CROTA2": 5.0})))
    assert image.up_deg == pytest.approx(0.0, abs=1e-9)
    assert "−5.00°" in image.notes[0].replace("-", "−")
    assert solved_image(solution_of(header_of(SOLVED | camera | {"CROTA2": 0.0}))).notes == ()


def test_units_of_a_solution() -> None:
    """A matrix in arcseconds is the same as one in degrees."""
    arcsec = {"CD1_1": -3.6, "CD2_2": 3.6, "CUNIT1": "arcsec", "CUNIT2": "arcsec"}
    assert solved_image(solution_of(header_of(SOLVED | arcsec))) == solved_image(solution_of(header_of(SOLVED)))


def test_what_lies_behind_has_no_pixel() -> None:
    """A place on the other side of the sky is refused."""
    with pytest.raises(BadInput, match="90°"):
        px_of_sky(solution_of(header_of(SOLVED)), 190.0, -40.0)
