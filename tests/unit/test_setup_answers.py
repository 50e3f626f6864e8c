"""What a set-up's answer says: outcomes, notes, sides, limits, refusals."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from tests.strategies.setup import FewStars, scattered, small_rig, want

from sidelight.ground.errors import BadInput
from sidelight.ground.plain import to_plain
from sidelight.rig.records import Tolerances
from sidelight.setup.records import Constraints, SideNeed, Want
from sidelight.setup.solve import describe_at, ready_task, solve
from sidelight.setup.task import reaches_for
from sidelight.setup.words import behind
from sidelight.targets.names import target_from_name
from sidelight.targets.records import Outline

PLACE = (80.0, 30.0)


def stars_about(*places: tuple[float, float], number: int = 150, seed: int = 5) -> FewStars:
    """Scatter stars about some places."""
    random = np.random.default_rng(seed)
    return FewStars(*np.concatenate([scattered(random, place, number, 1.2) for place in places], axis=1))


NO_STARS = FewStars(np.empty(0), np.empty(0), np.empty(0))


def test_a_german_mount_has_two_rings_and_a_fork_one() -> None:
    """Each target has an east and a west ring where the mount flips, and one ring where it never does."""
    stars = stars_about(PLACE)
    german = solve(small_rig(), [want("one", PLACE)], stars)
    fork = solve(small_rig(kind="fork"), [want("one", PLACE)], stars)
    assert [ring.side for ring in german.rings] == ["east", "west"]
    assert [ring.side for ring in fork.rings] == ["any"]
    assert fork.rings[0].needed
    assert fork.best is not None
    assert fork.best.rings_needed == 1


def test_a_side_that_is_not_used_is_not_required() -> None:
    """A side without need counts nowhere, is still drawn, and is named in the notes with its reason."""
    one = want("one", PLACE)
    half = Want(one.target, (SideNeed("east", False, "never up before the flip"), SideNeed("west")))
    solution = solve(small_rig(), [half], stars_about(PLACE))
    assert solution.best is not None
    assert solution.best.rings_needed == 1
    assert [(ring.side, ring.needed) for ring in solution.rings] == [("east", False), ("west", True)]
    assert solution.rings[0].arcs
    assert "one in the east is not needed: never up before the flip." in solution.notes


def test_a_want_without_a_need_asks_for_nothing() -> None:
    """With no side needed nothing is asked for, and the outcome says so."""
    idle = Want(want("one", PLACE).target, (SideNeed("east", False, "below the roof"),))
    solution = solve(small_rig(), [idle], stars_about(PLACE))
    assert solution.outcome == "nothing_asked"
    assert solution.best is None
    assert "one is not needed: below the roof." in solution.notes
    assert solve(small_rig(), [], stars_about(PLACE)).outcome == "nothing_asked"


def test_without_a_guider_only_frames_are_solved() -> None:
    """No guider angle and no rings; the camera angle stands in the middle of the widest common arc of frames."""
    rig = small_rig(guided=False)
    long = Outline("one", *PLACE, 19.0, 3.0, 40.0)
    solution = solve(rig, [want("one", PLACE, long)], NO_STARS)
    best = solution.best
    assert best is not None
    assert (best.guider_angle_deg, best.stem_offset_deg, solution.rings) == (None, None, ())
    assert best.frame_slack_deg == best.slack_deg
    assert best.recommended
    # a symmetrical outline fits as far to either side of its own long axis laid along the frame's
    assert min(abs((best.camera_angle_deg - 40.0 - turn + 90.0) % 180.0 - 90.0) for turn in (0.0, 90.0)) < 1e-4
    assert solution.share_of_angles == pytest.approx(4 * best.slack_deg / 360.0, abs=1e-9)


def test_a_target_larger_than_the_frame_is_a_stated_outcome() -> None:
    """What fits at no angle says so and by how much, what would hold it, and still gets its guide stars."""
    rig = small_rig()
    solution = solve(rig, [want("giant", PLACE, Outline("giant", *PLACE, 60.0, 30.0, 40.0))], stars_about(PLACE))
    assert not solution.frames[0].fits
    assert solution.frames[0].short_by_arcmin > 20
    assert "focal length of" in solution.frames[0].sentence
    assert [one.kind for one in solution.blocked] == ["never_framed"]
    assert solution.frames[0].sentence not in solution.notes
    assert [one.kind for one in solution.blocked] == ["never_framed"]
    assert solution.best is not None
    assert solution.best.rings_served == 2
    assert solution.best.targets[0].frame_waived
    # the promised focal length holds it, a hundredth more does not
    promised = int(solution.frames[0].sentence.split("focal length of ")[1].split(" mm")[0])
    for factor, fits in ((1.0, True), (1.01, False)):
        shorter = replace(rig, telescope=replace(rig.telescope, focal_length_mm=promised * factor))
        wide = solve(shorter, [want("giant", PLACE, Outline("giant", *PLACE, 60.0, 30.0, 40.0))], NO_STARS)
        assert wide.frames[0].fits == fits


def test_a_target_off_the_middle_says_which_shift_would_frame_it() -> None:
    """What would fit if the pointing moved says by how much, and with that shift granted it fits."""
    rig = small_rig(guided=False)
    aside = Outline("one", PLACE[0], PLACE[1] + 0.45, 8.0, 4.0, 0.0)
    solution = solve(rig, [want("one", PLACE, aside)], NO_STARS)
    assert not solution.frames[0].fits
    shift = float(solution.frames[0].sentence.split("moved by ")[1].split("′")[0])
    granted = solve(rig, [want("one", PLACE, aside)], NO_STARS, Constraints(grant_shift_arcmin=shift + 1.0))
    assert granted.best is not None
    assert granted.best.targets[0].framed
    assert granted.best.largest_shift_arcmin >= shift - 0.1


def test_unknown_sizes_are_said() -> None:
    """A target whose size the catalogue does not know is named in the notes."""
    solution = solve(small_rig(), [want("faint one", PLACE, sizes_known=False)], stars_about(PLACE))
    assert any("size of faint one is not known" in note for note in solution.notes)


@pytest.mark.parametrize(("limit", "said"), [(10.5, False), (11.0, False), (11.6, True), (None, True)])
def test_below_the_catalogue_s_depth_fainter_stars_may_exist(limit: float | None, said: bool) -> None:
    """A guider that sees deeper than the catalogue is complete gets a note; one that does not gets none."""
    solution = solve(small_rig(), [want("one", PLACE)], stars_about(PLACE), limit_mag=limit)
    assert any("fainter stars may exist" in note for note in solution.notes) == said
    assert all(ring.depth_mag == 11.0 for ring in solution.rings)


def test_where_no_known_star_helps_unknown_ones_may_exist() -> None:
    """With the limit at the catalogue's depth and a ring dark to its last star, the answer says what is not known."""
    solution = solve(small_rig(), [want("one", PLACE)], NO_STARS, limit_mag=10.0)
    assert not any(one.kind == "fainter_limit" for one in solution.help)
    assert any("No fainter star of" in note and "fainter stars may exist" in note for note in solution.notes)


def test_advice_below_the_depth_names_the_depth() -> None:
    """A fainter limit that goes below the catalogue's depth is given with that depth."""
    offset = math.degrees(math.atan(22.0 / 1600.0))
    stars = FewStars(np.array([80.0, 80.0]), 30.0 + np.array([offset, -offset]), np.array([11.7, 11.8]))
    solution = solve(small_rig(), [want("one", PLACE)], stars, limit_mag=10.0)
    advice = next(one for one in solution.help if one.kind == "fainter_limit")
    assert advice.faint_limit_mag == pytest.approx(11.8)
    assert advice.serves_all
    assert "complete to 11.0 mag only" in advice.sentence


def test_stars_outside_the_limits_are_not_used() -> None:
    """No arc carries a star brighter than the bright limit or fainter than the faint one."""
    rig = replace(small_rig(), guide_bright_mag=8.0, guide_limit_mag=10.0)
    solution = solve(rig, [want("one", PLACE)], stars_about(PLACE))
    mags = [arc.star.mag for ring in solution.rings for arc in ring.arcs]
    assert mags
    assert min(mags) >= 8.0
    assert max(mags) <= 10.0
    assert (solution.limit_mag, solution.bright_mag) == (10.0, 8.0)


def test_an_empty_sky_serves_nothing_but_frames() -> None:
    """With no star at all every needed ring is named as blocked, and the frames are still solved."""
    solution = solve(small_rig(), [want("one", PLACE)], NO_STARS)
    assert solution.outcome == "serves_none"
    assert [(one.target, one.side, one.kind) for one in solution.blocked] == [
        ("one", "east", "no_star"),
        ("one", "west", "no_star"),
    ]
    assert solution.share_of_angles == 0
    assert solution.smallest_cover == ()
    assert solution.cover_leaves_out == ("one, east", "one, west")
    assert solution.best is not None
    assert solution.best.targets[0].framed


def test_tolerances_that_eat_the_sensor_are_said() -> None:
    """A guiding box as large as the sensor leaves no star, and a note names the cause."""
    rig = replace(small_rig(), tolerances=Tolerances(guide_box_px=2000.0))
    solution = solve(rig, [want("one", PLACE)], stars_about(PLACE))
    assert solution.outcome == "serves_none"
    assert any("leave nothing of the guide sensor" in note for note in solution.notes)


def test_a_tolerance_that_nothing_reaches_is_tight_not_impossible() -> None:
    """When all is served but with less slack than asked for, the outcome is its own and the figure is named."""
    rig = small_rig(tolerance_deg=40.0)
    solution = solve(rig, [want("one", PLACE)], stars_about(PLACE))
    assert solution.outcome == "serves_all_tightly"
    assert solution.best is not None
    assert not solution.best.recommended
    assert f"{solution.best.slack_deg:.2f}°" in solution.sentence


def test_a_stem_clamped_into_the_light_is_said() -> None:
    """A fixed stem offset at which the prism throws a shadow is used, not recommended, and noted."""
    rig = small_rig(stem_radius_mm=16.0)
    solution = solve(rig, [want("one", PLACE)], stars_about(PLACE), Constraints(stem_offset_deg=90.0))
    assert solution.best is not None
    assert solution.best.shadow_slack_deg == 0.0
    assert not solution.best.recommended
    assert any("shadow" in note for note in solution.notes)


def test_a_target_left_out_is_neither_served_nor_missed() -> None:
    """Leaving out a target removes its rings from the need and says so."""
    other = (200.0, -20.0)
    wants = [want("one", PLACE), want("two", other)]
    solution = solve(small_rig(), wants, stars_about(PLACE, other), Constraints(leave_out=("two",)))
    assert solution.best is not None
    assert solution.best.rings_needed == 2
    assert not any(ring.needed for ring in solution.rings if ring.target == "two")
    assert any(note.startswith("two is not needed: left out") for note in solution.notes)


def test_the_brightest_star_that_stands_the_tolerance_is_chosen() -> None:
    """Of two stars on the sensor the brighter one is named unless it is about to fall off."""
    focal = 1600.0
    offsets = np.degrees(np.arctan(np.array([22.0, 21.5]) / focal))
    stars = FewStars(np.array([80.0, 80.0]), 30.0 + offsets, np.array([9.0, 7.0]))
    rig = small_rig()
    wants = [want("one", PLACE, sides="west")]
    task = ready_task(rig, wants, reaches_for(rig, wants, stars), Constraints(), None)
    place = next(one for one in describe_at(task, 0.0, 0.0).places if one.side == "west")
    assert place.star is not None
    assert place.star.mag == 7.0
    assert place.place_on_sensor_px == pytest.approx((0.0, -0.5 / 0.00375), abs=0.01)
    assert next(one for one in describe_at(task, 0.0, 180.0).places if one.side == "east").star == place.star


@pytest.mark.parametrize(
    ("keys", "constraints", "message"),
    [
        (("one", "one"), Constraints(), "wanted twice"),
        (("one", "two"), Constraints(leave_out=("tow",)), 'Did you mean "two"'),
        (("one",), Constraints(camera_angle_deg=math.nan), "camera_angle_deg"),
        (("one",), Constraints(stem_offset_deg=math.inf), "stem_offset_deg"),
        (("one",), Constraints(grant_shift_arcmin=-1.0), "negative"),
    ],
)
def test_questions_that_cannot_be_meant_are_refused(
    keys: tuple[str, ...], constraints: Constraints, message: str
) -> None:
    """Names used twice, names unknown and numbers that are none are refused with what to do about them."""
    with pytest.raises(BadInput, match=message) as refusal:
        solve(small_rig(), [want(key, PLACE) for key in keys], NO_STARS, constraints)
    assert refusal.value.exit_code == 2


def test_answers_become_json() -> None:
    """A solution turns into plain values with the promised names, and arrays for drawing are left out."""
    solution = solve(small_rig(), [want("one", PLACE)], stars_about(PLACE))
    plain = json.loads(json.dumps(to_plain(solution), allow_nan=False))
    assert {"best", "rings", "share_of_angles", "notes", "help", "blocked", "smallest_cover"} <= set(plain)
    assert {"camera_angle_deg", "guider_angle_deg", "stem_offset_deg", "slack_deg", "places"} <= set(plain["best"])
    ring = plain["rings"][0]
    assert {"target", "side", "needed", "pointing_ra_deg", "pointing_dec_deg", "arcs"} <= set(ring)
    assert "lit" not in ring
    assert set(ring["arcs"][0]) == {"from_deg", "to_deg", "star"}
    assert {"ra_deg", "dec_deg", "mag"} <= set(ring["arcs"][0]["star"])


def test_arcs_of_a_ring_are_wrapped_and_make_its_union() -> None:
    """Arcs start and end in [0, 360), run upwards across north where they must, and together are the lit set."""
    solution = solve(small_rig(), [want("one", PLACE)], stars_about(PLACE))
    angles = np.arange(0.05, 360.0, 0.1)
    for ring in solution.rings:
        assert all(0.0 <= end < 360.0 for arc in ring.arcs for end in (arc.from_deg, arc.to_deg))
        lit = np.any([np.mod(angles - arc.from_deg, 360.0) <= arc.length_deg for arc in ring.arcs], axis=0)
        share = float(np.mean(lit))
        assert share == pytest.approx(ring.share_of_angles, abs=0.002)
        assert len({arc.star for arc in ring.arcs}) == ring.stars_in_reach_count


def test_what_puts_a_set_up_behind_the_best_is_said() -> None:
    """Each next best says why: the first of rings, frame, room, sound stars, slack, shift that is worse."""
    solution = solve(small_rig(), [want("one", PLACE)], stars_about(PLACE))
    best = solution.best
    assert best is not None
    assert best.recommended
    assert best.behind == ""
    assert solution.next_best
    assert all(one.behind for one in solution.next_best)
    worse = {
        "serves 1 of 2 rings": replace(best, rings_served=1, slack_deg=best.slack_deg + 5),
        "the frame has only 0.40° of slack": replace(best, recommended=False, frame_slack_deg=0.4),
        "has something against 1 guide star, the best against 0": replace(
            best, doubtful_stars_count=1, slack_deg=best.slack_deg + 5
        ),
        "less slack": replace(best, slack_deg=best.slack_deg - 0.2),
        "moves a pointing by 2.0′, the best by 0.0′": replace(best, largest_shift_arcmin=2.0),
    }
    assert {words: behind(best, other) for words, other in worse.items()} == {words: words for words in worse}


def test_a_rig_without_a_guider_names_what_fits_at_no_angle() -> None:
    """The headline counts what fits, names what does not, and no sentence speaks of rings or guide stars."""
    wants = [want(key, PLACE, Outline(key, *PLACE, size, size / 2, 40.0)) for key, size in (("a", 8.0), ("b", 60.0))]
    solution = solve(small_rig(guided=False), wants, NO_STARS)
    assert solution.outcome == "serves_some"
    assert solution.sentence.startswith("1 of 2 targets fits the frame at ")
    assert solution.sentence.endswith("; b fits at none.")
    words = [solution.sentence, *solution.notes, *(one.sentence for one in (*solution.blocked, *solution.frames))]
    words += [one.sentence for one in solution.help] + [one.behind for one in solution.next_best]
    assert not any(word in text for text in words for word in ("ring", "guide", "star"))
    alone = solve(small_rig(guided=False), wants[1:], NO_STARS)
    assert (alone.outcome, alone.sentence) == (
        "serves_none",
        "No target fits the frame at any camera angle, so one angle is as good as another.",
    )


def test_what_does_not_fit_says_by_how_much_it_is_too_large_and_whose_size_that_is() -> None:
    """A circle is too large by its diameter less the frame's short side; only the catalogue's size is called so."""
    rig, size = small_rig(guided=False), 70.0
    solution = solve(rig, [want("disc", PLACE, Outline("disc", *PLACE, size, size, None))], NO_STARS)
    short_side_mm = min(rig.camera.width_mm, rig.camera.height_mm)
    frame_arcmin = 2 * 60 * np.degrees(np.arctan(short_side_mm / 2 / rig.telescope.effective_focal_length_mm))
    border_arcmin = rig.tolerances.frame_border_arcmin
    assert solution.frames[0].short_by_arcmin == pytest.approx(2 * (size + border_arcmin) - frame_arcmin, rel=0.01)
    assert "too large by" in solution.frames[0].sentence
    assert "catalogue" not in solution.frames[0].sentence
    known = target_from_name("M 31")
    sentence = solve(rig, [Want(known, ())], NO_STARS).frames[0].sentence
    assert "is the catalogue's; major_arcmin in targets.toml replaces it)" in sentence
    own = solve(rig, [Want(target_from_name("M 31", major_arcmin=190.0, minor_arcmin=60.0), ())], NO_STARS)
    assert "catalogue" not in own.frames[0].sentence


def test_angles_never_round_to_a_whole_turn_by_a_hair() -> None:
    """Camera, guider and stem angles of a solution are never a hair below 360 or 0."""
    wants = [want("a", PLACE, Outline("a", *PLACE, 8.0, 4.0, 40.0))]
    for held in (0.0, 47.3, 211.1):
        best = solve(
            small_rig(), wants, stars_about(PLACE), Constraints(camera_angle_deg=held, stem_offset_deg=0.0)
        ).best
        assert best is not None
        assert best.stem_offset_deg == 0.0
        assert best.camera_angle_deg is not None
        assert 0.0 <= best.camera_angle_deg < 360.0 - 1e-9
