"""The dial in the browser against the solver in Python, and turning it by mouse, finger and keys."""

import dataclasses
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.browser.conftest import PHONE, OpenTab

from sidelight.desk.demo import DATE
from sidelight.desk.open import open_notebook
from sidelight.desk.setup import SetupQuestion
from sidelight.desk.sides import needed_sides
from sidelight.desk.starlight import guide_catalogue, guide_limits
from sidelight.setup.records import SetUp
from sidelight.setup.solve import describe_at, ready_task
from sidelight.setup.task import Task, reaches_for

ADDRESS = f"/setup?date={DATE}"
READY = "document.querySelector('[data-desk]')?.dataset.ready === ''"


@pytest.fixture(scope="module")
def task(demo_folder: Path) -> Task:
    """Return the solver's own task for the demo."""
    book = open_notebook(demo_folder)
    faint, bright = guide_limits(book)
    rig = dataclasses.replace(book.rig, guide_limit_mag=faint, guide_bright_mag=bright)
    wants, _ = needed_sides(book, book.targets, DATE, SetupQuestion(DATE).nights)
    from sidelight.setup.records import Constraints

    return ready_task(rig, wants, reaches_for(rig, wants, guide_catalogue(book, DATE)), Constraints(), faint)


def same(seen: dict[str, Any], known: SetUp) -> None:
    """Hold what the browser worked out against the solver's description."""
    assert (seen["served"], seen["needed"]) == (known.rings_served, known.rings_needed)
    assert seen["slack"] == pytest.approx(known.slack_deg, abs=2e-3)
    assert seen["frameSlack"] == pytest.approx(known.frame_slack_deg, abs=2e-3)
    assert seen["shadowSlack"] == pytest.approx(known.shadow_slack_deg, abs=2e-3)
    assert seen["recommended"] == known.recommended
    places = {(one.target, one.side): one for one in known.places}
    for mine in seen["places"]:
        place = places[mine["target"], mine["side"]]
        assert mine["slack"] == pytest.approx(place.slack_deg, abs=2e-3)
        assert (mine["star"] is None) == (place.star is None)
        if place.star is not None:
            assert mine["mag"] == pytest.approx(place.star.mag, abs=6e-3)
            assert np.allclose(mine["px"], place.place_on_sensor_px, atol=0.2)


def test_the_browser_agrees_with_the_solver(demo_base: str, open_tab: OpenTab, task: Task) -> None:
    """At many camera and guider angles rings, stars, places, slacks, frames and shadow are the solver's."""
    tab = open_tab(demo_base)
    tab.go(ADDRESS)
    tab.wait(READY)
    random = np.random.default_rng(7)
    pairs = [(0.0, 0.0), (57.236, 57.236), *random.uniform(0.0, 360.0, (60, 2)).tolist()]
    for camera, guider in pairs:
        same(tab.eval(f"window.sidelight.at({camera!r}, {guider!r})"), describe_at(task, camera, guider))


def test_shifted_pointings_agree(demo_base: str, open_tab: OpenTab) -> None:
    """A set-up that was solved with granted shifts serves in the browser what the solver says it serves."""
    tab = open_tab(demo_base)
    tab.go(ADDRESS)
    tab.wait(READY)
    tab.eval("document.querySelector('.conditions').open = true")
    tab.fill("input[name=grant_shift_arcmin]", "4")
    tab.fill("input[name=camera_angle_deg]", "20")
    tab.click("[data-solve]")
    tab.wait("window.sidelight.data().dial.sentence && !document.querySelector('[data-solve]').disabled", 60)
    answer = tab.eval(
        f"fetch('/api/solve?date={DATE}&grant_shift_arcmin=4&camera_angle_deg=20').then((one) => one.json())"
    )
    seen = tab.eval("window.sidelight.seen()")
    assert any(place["shift_arcmin"] > 0.01 for place in answer["targets"])
    assert seen["slack"] == pytest.approx(answer["slack_deg"], abs=2e-3)
    served = [ring for ring in answer["rings"] if ring["needed"] and ring["star"]]
    assert seen["served"] == len(served)


def needle(tab: Any) -> float:
    """Return the guider angle that the needle says."""
    return float(tab.eval("document.querySelector('[data-handle=guider]').getAttribute('aria-valuenow')"))


def test_keys_turn_by_tenths_and_degrees(demo_base: str, open_tab: OpenTab) -> None:
    """Arrow keys turn the needle by 0.1°, with Shift by 1°, and everything follows without the server."""
    tab = open_tab(demo_base)
    tab.go(ADDRESS)
    tab.wait(READY)
    tab.eval("document.querySelector('[data-handle=guider]').focus()")
    start, asked = needle(tab), len(tab.asked)
    tab.key("ArrowUp")
    tab.wait(f"Math.abs(window.sidelight.seen().targets[0].guider - {start + 0.1}) < 0.06")
    tab.key("ArrowUp", modifiers=8)
    tab.wait(f"Math.abs(window.sidelight.seen().targets[0].guider - {start + 1.1}) < 0.06")
    assert needle(tab) == pytest.approx(start + 1.1, abs=0.06)
    assert tab.text("#dial-reading text:nth-of-type(2)") == f"{needle(tab):.1f}°"
    assert [one for one in tab.asked[asked:] if "/api/notebook/state" not in one] == []


def dial_point(tab: Any, angle_deg: float, share: float = 0.93) -> tuple[float, float]:
    """Return the place on the screen of an angle on the dial, at a share of the border's radius."""
    x, y = tab.place("#dial-border circle")
    half = tab.eval("document.querySelector('#dial-border circle').getBoundingClientRect().width / 2") * share
    return x - half * math.sin(math.radians(angle_deg)), y - half * math.cos(math.radians(angle_deg))


def test_the_mouse_turns_the_needle(demo_base: str, open_tab: OpenTab) -> None:
    """The needle comes to where it is dragged, and slack and fields are those of the new angle."""
    tab = open_tab(demo_base)
    tab.go(ADDRESS)
    tab.wait(READY)
    tab.drag([dial_point(tab, angle) for angle in (57, 80, 120, 150)])
    tab.wait("Math.abs(window.sidelight.seen().targets[0].guider - 150) < 1.5")
    turned = tab.eval("document.querySelector('[data-fields] .moving g + g').getAttribute('transform')")
    assert float(turned.split("(-")[1].split()[0]) % 180 == pytest.approx(needle(tab) % 180, abs=0.2)


def test_a_finger_turns_the_needle_and_the_camera(demo_base: str, open_tab: OpenTab) -> None:
    """On a phone a finger turns the needle, and the camera's mark outside the border."""
    tab = open_tab(demo_base, PHONE)
    tab.go(ADDRESS)
    tab.wait(READY)
    tab.touch([dial_point(tab, angle) for angle in (57, 40, 10)])
    tab.wait("Math.abs(window.sidelight.seen().targets[0].guider - 10) < 2")
    tab.touch([dial_point(tab, angle, 1.1) for angle in (57, 70, 90)])
    tab.wait("Math.abs(window.sidelight.seen().targets[0].camera - 90) < 3")
