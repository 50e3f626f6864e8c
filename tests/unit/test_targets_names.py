"""Names as people type them, resolved, refused or answered with near misses; targets with a person's wishes."""

import subprocess
import sys

import pytest

from sidelight.ground.errors import BadInput, OurFault
from sidelight.targets import catalogue
from sidelight.targets.names import find, suggest, target_from_coordinates, target_from_name
from sidelight.targets.records import Outline


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("NGC 224", "NGC 224"),
        ("ngc0224", "NGC 224"),
        ("N 224", "NGC 224"),
        ("m31", "NGC 224"),
        ("M 031", "NGC 224"),
        ("Messier 31", "NGC 224"),
        ("M-31", "NGC 224"),
        ("  andromeda   GALAXY ", "NGC 224"),
        ("Andromeda", "NGC 224"),
        ("M31 (Andromeda Galaxy)", "NGC 224"),
        ("PGC 2557", "NGC 224"),
        ("mcg +07-02-016", "NGC 224"),
        ("UGC454", "NGC 224"),
        ("IC0342", "IC 342"),
        ("ic 342", "IC 342"),
        ("Caldwell 5", "IC 342"),
        ("the witch head nebula", "NGC 1909"),
        ("cat’s eye nebula", "NGC 6543"),
        ("Barnard's Galaxy", "NGC 6822"),
        ("Barnard 33", "B 33"),
        ("horsehead", "B 33"),
        ("Melotte 22", "Mel 22"),
        ("M45", "Mel 22"),
        ("Hickson 92", "HCG 92"),
        ("Collinder 399", "Cl 399"),
        ("Sh2-155", "C 9"),
        ("IC 80 NED01", "IC 80 NED01"),
        ("ic80ned1", "IC 80 NED01"),
        ("Flame Nebula", "NGC 2024"),
        ("Double Cluster", "C 14"),
        ("M 40", "M 40"),
    ],
)
def test_spellings(typed: str, name: str) -> None:
    """Each way of writing a name finds its object."""
    assert find(typed).name == name


@pytest.mark.parametrize(
    ("typed", "name", "says"),
    [
        ("IC 11", "NGC 281", "IC 11 is a second entry for NGC 281."),
        ("M 102", "NGC 5457", "M 102 is a second entry for NGC 5457."),
        ("NGC 2478", "NGC 2422", "NGC 2478 is a second entry for NGC 2422."),
    ],
)
def test_duplicates_are_resolved_and_this_is_said(typed: str, name: str, says: str) -> None:
    """A second entry gives the real object with a note."""
    found = find(typed)
    assert found.name == name
    assert says in found.notes


def test_every_duplicate_leads_to_a_real_object() -> None:
    """None of the catalogue's second entries leads nowhere or to another second entry."""
    column = catalogue.entries().columns
    doubles = [name for name, kind in zip(column["name"], column["type"], strict=True) if kind == "Dup"]
    assert len(doubles) > 600
    assert all(find(name).kind not in ("Dup", "NonEx") for name in doubles)


@pytest.mark.parametrize("typed", ["IC 1064", "NGC 412", "ic1642"])
def test_objects_that_do_not_exist_are_refused_with_the_reason(typed: str) -> None:
    """Entries for which nothing is in the sky are refused, and this is the reason given."""
    with pytest.raises(BadInput, match="does not exist") as caught:
        find(typed)
    assert caught.value.problems[0].suggestion


@pytest.mark.parametrize(
    ("typed", "helps"),
    [
        ("Andromedra", '"Andromeda Galaxy"'),
        ("Whirpool galaxy", '"Whirlpool Galaxy"'),
        ("horshead", '"Horsehead Nebula"'),
        ("helix", '"Helix Galaxy" or "Helix Nebula"'),
        ("NGC 9999", "NGC numbers run from 1 to 7840"),
        ("M 111", "Messier numbers run from 1 to 110"),
        ("IC 0", "IC numbers run from 1 to 5386"),
    ],
)
def test_near_misses(typed: str, helps: str) -> None:
    """An unknown name is refused with what it may have meant."""
    with pytest.raises(BadInput, match="There is no object") as caught:
        find(typed)
    assert helps in (caught.value.problems[0].suggestion or "")


@pytest.mark.parametrize("typed", ["", "   ", "'", "xyzzyqq", "31", "∞", "NGC"])
def test_nonsense_is_refused(typed: str) -> None:
    """Text that is no name is refused with the ways that work."""
    with pytest.raises(BadInput) as caught:
        find(typed)
    assert "NGC 4565" in (caught.value.problems[0].expected or "")


def test_suggestions_while_typing() -> None:
    """What has been typed so far is completed, the shortest names first."""
    assert suggest("NGC 22", 3) == ["NGC 22", "NGC 220", "NGC 221"]
    assert suggest("androm") == ["Andromeda Galaxy"]
    assert "Western Veil" in suggest("veil")
    assert suggest("") == []
    assert len(suggest("m", 5)) == 5


def test_sizes_that_are_known() -> None:
    """The outline is half the catalogue's axes, at its position angle."""
    found = find("M 31")
    outline = target_from_name("M 31").outlines[0]
    assert outline.semi_major_arcmin * 2 == found.major_arcmin
    assert outline.semi_minor_arcmin * 2 == found.minor_arcmin
    assert outline.position_angle_deg == found.position_angle_deg


def test_absent_sizes_and_angles_are_said() -> None:
    """A target without size, with one axis only, or without a position angle says so."""
    point = target_from_name("IC 1318")
    assert not point.sizes_known
    assert any("size is not known" in note for note in point.notes)
    round_one = target_from_name("M 13")
    assert round_one.outlines[0].semi_major_arcmin == round_one.outlines[0].semi_minor_arcmin
    assert any("one axis" in note for note in round_one.notes)
    no_angle = target_from_name("NGC 7000")
    assert no_angle.outlines[0].position_angle_deg is None
    assert any("position angle is not known" in note for note in no_angle.notes)


def test_own_sizes_replace_the_catalogues() -> None:
    """Figures of the person's own win, and then nothing is missing."""
    target = target_from_name("IC 1318", major_arcmin=50, minor_arcmin=20, position_angle_deg=-30)
    assert target.outlines[0] == Outline("IC 1318", target.ra_deg, target.dec_deg, 25.0, 10.0, 150.0)
    assert target.sizes_known
    assert not any("not known" in note for note in target.notes)
    turned = target_from_name("M 31", position_angle_deg=40)
    assert turned.outlines[0].semi_major_arcmin == target_from_name("M 31").outlines[0].semi_major_arcmin
    assert turned.outlines[0].position_angle_deg == 40.0


@pytest.mark.parametrize(
    "size",
    [
        {"major_arcmin": 0.0},
        {"major_arcmin": -1.0},
        {"major_arcmin": float("nan")},
        {"major_arcmin": 5.0, "minor_arcmin": 6.0},
        {"minor_arcmin": 5.0},
    ],
)
def test_impossible_sizes_are_refused(size: dict[str, float]) -> None:
    """Axes that make no ellipse are refused, and a minor axis alone as well."""
    with pytest.raises(BadInput):
        target_from_name("IC 1318", **size)  # type: ignore[arg-type]


def test_neighbours_and_wishes() -> None:
    """Neighbours become outlines after the object's own, each by the name it was given; wishes are kept as given."""
    spot = Outline("own spot", 10.0, 41.0, 1.0, 1.0)
    target = target_from_name(
        "m31", key="big one", neighbours=("M 32", spot), hours_wanted_h=7, shift_allowed_arcmin=3
    )
    assert [outline.name for outline in target.outlines] == ["big one", "M 32", "own spot"]
    assert (target.key, target.hours_wanted_h, target.shift_allowed_arcmin) == ("big one", 7, 3)
    assert target.common_name == "Andromeda Galaxy"


def test_an_unknown_neighbour_is_refused() -> None:
    """A neighbour is looked up as strictly as a target."""
    with pytest.raises(BadInput, match="There is no object"):
        target_from_name("m31", neighbours=("M 320",))


def test_a_shift_moves_the_pointing_and_not_the_object() -> None:
    """A pointing shift to the east raises the pointing's right ascension; the outline stays."""
    target = target_from_name("m31", shift_east_arcmin=10.0)
    assert target.ra_deg > target.outlines[0].ra_deg
    assert target.outlines[0].ra_deg == find("m31").ra_deg


def test_targets_by_coordinates() -> None:
    """A place of the person's own is a target without a size until they give one."""
    bare = target_from_coordinates("dust", 360.0, -45.0)
    assert (bare.ra_deg, bare.dec_deg, bare.sizes_known) == (0.0, -45.0, False)
    sized = target_from_coordinates("dust", 12.0, -45.0, major_arcmin=30.0)
    assert sized.outlines[0].semi_minor_arcmin == 15.0
    assert sized.notes == ()


@pytest.mark.parametrize(("ra_deg", "dec_deg"), [(-1.0, 0.0), (361.0, 0.0), (0.0, 91.0), (float("nan"), 0.0)])
def test_impossible_coordinates_are_refused(ra_deg: float, dec_deg: float) -> None:
    """Coordinates off the sphere are refused."""
    with pytest.raises(BadInput, match="no place"):
        target_from_coordinates("x", ra_deg, dec_deg)


def test_a_missing_catalogue_is_an_installation_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the data package the error says to install again."""
    monkeypatch.setattr(catalogue, "find_spec", lambda _name: None)
    with pytest.raises(OurFault, match="not installed"):
        catalogue.database_path()


def test_the_data_package_is_read_and_not_imported() -> None:
    """Reading the objects does not run the data package's own code."""
    code = (
        "import sys; from sidelight.targets.catalogue import objects; "
        "assert len(objects()); sys.exit('pyongc' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
