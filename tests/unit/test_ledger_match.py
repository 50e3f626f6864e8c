"""Frames meet their targets by place first and by name second."""

import re

from tests.strategies.ledger import frame

from sidelight.ledger.match import Match, TargetPlace, folded_name, match

ANDROMEDA = TargetPlace("M 31", 10.6847, 41.2687, 1.0, ("NGC 224", "Andromeda Galaxy"))
COMPANION = TargetPlace("M 110", 10.0917, 41.6853, 1.0, ("NGC 205",))
ORION = TargetPlace("M 42", 83.8221, -5.3911, 0.8)
TARGETS = (ANDROMEDA, COMPANION, ORION)


def one(**changes: object) -> Match:
    """Return the match of one frame."""
    return match([frame(**changes)], TARGETS)[0]


def test_the_place_decides() -> None:
    """A frame within reach of a target is its, whatever its header calls it."""
    assert one(ra_deg=83.9, dec_deg=-5.4, object_name="M 31").target_key == "M 42"
    assert one(ra_deg=83.9, dec_deg=-5.4, object_name="").by == "coordinates"


def test_of_two_within_reach_the_named_one_wins() -> None:
    """Between neighbours the header's name decides, else the nearest; the other is told."""
    between = {"ra_deg": 10.5, "dec_deg": 41.4}
    assert one(**between, object_name="NGC 205").target_key == "M 110"
    assert one(**between, object_name="something").target_key == "M 31"
    assert "M 110" in one(**between, object_name="something").reason


def test_what_points_elsewhere_is_set_aside() -> None:
    """A frame beyond every target's reach has none, and the reason names the distance."""
    away = one(ra_deg=10.6847, dec_deg=43.2687, object_name="a comet")
    assert away.target_key is None
    assert "1.64°" in away.reason
    named = one(ra_deg=10.6847, dec_deg=51.2687, object_name="M31")
    assert named.target_key is None
    assert "10.00° from M 31, which the header names" in named.reason


def test_without_a_place_the_name_decides() -> None:
    """Spaces, capitals, leading zeros and words after the name make no difference; other figures do."""
    nowhere = {"ra_deg": None, "dec_deg": None}
    for name in ("m31", "Messier 31", "NGC 0224", "andromeda_galaxy", "M 31 panel 2", "M-31"):
        assert one(**nowhere, object_name=name).target_key == "M 31", name
    for name in ("M 3", "M 311", "NGC 2240", "", "Andromeda"):
        assert one(**nowhere, object_name=name).target_key is None, name
    assert one(**nowhere, object_name="M 42").by == "name"
    assert "neither" in one(**nowhere, object_name="").reason


def test_no_targets_and_no_frames() -> None:
    """Without targets every frame is set aside; without frames there is nothing to match."""
    assert match([frame()], ())[0] == Match(None, "none", "There are no targets.")
    assert match([], TARGETS) == ()


def test_folded_names() -> None:
    """Letters and figures remain, zeros before figures do not, and the zeros inside do."""
    assert folded_name("Messier 031") == "m31"
    assert folded_name("NGC 7000") == "ngc7000"
    assert folded_name("Sh2-101") == "sh2101"
    assert folded_name("π¹ Gru") == folded_name("Π¹ gru")


def test_a_name_cut_short_counts_as_a_whole_only() -> None:
    """A short name leads to its target where nothing follows; a longer one that begins so is another object's."""
    owl = TargetPlace("M 97", 168.7, 55.02, 1.0, ("NGC 3587", "Owl Nebula"), ("owl",))
    short, longer = (
        match([frame(ra_deg=None, dec_deg=None, object_name=name)], [owl])[0] for name in ("Owl", "Owl Cluster")
    )
    assert (short.target_key, longer.target_key) == ("M 97", None)


def test_what_is_far_away_is_told_in_whole_degrees() -> None:
    """A reason does not pretend to hundredths of a degree on the other side of the sky."""
    away = re.search(r"Points (\S+)° from the nearest target", one(ra_deg=150.0, dec_deg=50.0, object_name="").reason)
    assert away is not None
    assert away[1].isdigit()


def test_from_twenty_degrees_on_a_distance_is_whole() -> None:
    """A frame due north of its target is 19.90° away, and from 20° on it is told in whole degrees."""
    for away_deg, told in ((19.9, "19.90°"), (20.1, "20°")):
        answer = one(ra_deg=ORION.ra_deg, dec_deg=ORION.dec_deg + away_deg, object_name="M 42")
        assert answer.target_key is None
        assert f"Points {told} from M 42" in answer.reason
