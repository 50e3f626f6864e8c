"""The whole way of a new user, from an empty folder to the night, on a desk, on a phone, and by keys alone."""

from pathlib import Path

import pytest
from tests.browser.chrome import Tab
from tests.browser.conftest import DESK, PHONE, OpenTab, served
from tests.browser.test_web_pages import faults

from sidelight.desk.demo import DATE
from sidelight.desk.open import open_notebook

SITE = {
    "site-name": "The orchard",
    "site-latitude_deg": "47.42",
    "site-longitude_deg": "14.96",
    "site-time_zone": "Europe/Vienna",
}
RIG = {
    "rig-telescope-aperture_mm": "203",
    "rig-telescope-focal_length_mm": "1624",
    "rig-telescope-mirrors_count": "2",
    "rig-camera-width_px": "6248",
    "rig-camera-height_px": "4176",
    "rig-camera-pixel_um": "3.76",
    "rig-guider-stem_radius_mm": "19",
    "rig-guider-camera-width_px": "1936",
    "rig-guider-camera-height_px": "1216",
    "rig-guider-camera-pixel_um": "2.9",
}
MOUNT = "input[name=begin-rig-mount-kind]"
IN_FOCUS = "one.id === {!r}"


def answer_by_hand(tab: Tab, answers: dict[str, str]) -> None:
    """Click into each input and type."""
    for name, text in answers.items():
        tab.fill(f"#begin-{name}", text)


def shown(tab: Tab, part: str) -> None:
    """Wait for a part of the beginning."""
    tab.wait(f"document.querySelector('[data-part={part}]').hidden === false")


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_from_an_empty_folder_to_the_night(tmp_path: Path, open_tab: OpenTab, size: tuple[int, int]) -> None:
    """Site, rig, targets, set-up, bench card and night, each with what the one before has given."""
    folder = tmp_path / "orchard"
    with served(folder) as base:
        tab = open_tab(base, size)
        tab.go("/")
        tab.wait("location.pathname === '/begin'")
        shown(tab, "site")
        assert faults(tab) == []
        answer_by_hand(tab, SITE | {"site-time_zone": "Europe/Wien"})
        tab.click("[data-on]")
        tab.wait("document.querySelector('#begin-site-time_zone-wrong').innerText.includes('Europe/Vienna')")
        tab.errors.clear()  # a refused request is an error to the browser's own log
        tab.fill("#begin-site-time_zone", "Europe/Vienna")
        tab.click("[data-on]")
        shown(tab, "rig")
        tab.click("[data-has]")
        answer_by_hand(tab, RIG)
        tab.click(f"{MOUNT}[value=german]")
        tab.click("[data-on]")
        shown(tab, "targets")
        for name in ("M 81", "M 96"):
            tab.fill("#add-name", name)
            tab.key("Enter")
            tab.wait(f"document.querySelector('[data-chosen]').innerText.includes({name!r})")
        assert not folder.exists() or not list(folder.iterdir())
        tab.click("[data-on]")
        tab.wait("location.pathname === '/season'")
        assert [target.key for target in open_notebook(folder).targets] == ["M 81", "M 96"]
        on_to_the_night(tab, folder)


def on_to_the_night(tab: Tab, folder: Path) -> None:
    """From the season to a kept set-up, the bench and the night."""
    tab.go(f"/season?date={DATE}")
    assert tab.count("#season-table tbody tr") == 2
    tab.click(".next")
    tab.wait("document.querySelector('[data-desk]')?.dataset.ready === ''")
    assert "serve" in tab.text("[data-verdict]").lower()
    tab.fill("[data-keep-form] input[name=name]", "Spring")
    tab.click("[data-keep-form] button")
    tab.wait("document.querySelector('[data-kept-says]').innerText.includes('Kept as')")
    kept = open_notebook(folder).setup_in_use
    assert kept is not None
    assert kept.name == "Spring"
    tab.click(".next")
    tab.wait("location.pathname === '/bench' && document.querySelector('.steps')")
    tab.click(".steps input")
    assert tab.text("[data-done]").startswith("1 of ")
    tab.go(f"/cards/bench?date={DATE}")
    assert "Bench card" in tab.text("h1")
    tab.go(f"/night?date={DATE}")
    tab.wait("document.querySelector('#night-now') !== null")
    assert tab.count("#run-table tbody tr") >= 1
    assert tab.text("[data-now-what]") != "–"


def test_the_way_by_keys_alone(tmp_path: Path, open_tab: OpenTab) -> None:
    """Tab, Enter, Space, arrows and letters suffice from the empty folder to a kept set-up and a ticked step."""
    folder = tmp_path / "orchard"
    with served(folder) as base:
        tab = open_tab(base)
        tab.go("/")
        shown(tab, "site")
        for name, text in SITE.items():
            tab.tab_to(IN_FOCUS.format(f"begin-{name}"))
            tab.type(text)
        tab.key("Enter")
        shown(tab, "rig")
        for name, text in RIG.items():
            if name == "rig-guider-stem_radius_mm":
                tab.tab_to("one.matches('[data-has]')")
                tab.key(" ")
            tab.tab_to(IN_FOCUS.format(f"begin-{name}"))
            tab.type(text)
        tab.tab_to(f"one.matches('{MOUNT}')")
        tab.key(" ")
        tab.key("Enter")
        shown(tab, "targets")
        tab.tab_to(IN_FOCUS.format("add-name"))
        tab.type("Bode")
        tab.wait("!document.querySelector('#add-list').hidden")
        tab.key("ArrowDown")
        tab.key("Enter")
        tab.key("Enter")
        tab.wait("document.querySelectorAll('[data-chosen] li').length === 1")
        tab.tab_to("one.matches('[data-on]')")
        tab.key("Enter")
        tab.wait("location.pathname === '/season'")
        keys_in_the_set_up(tab)
        assert open_notebook(folder).setup_in_use is not None


def keys_in_the_set_up(tab: Tab) -> None:
    """Turn the needle, keep the set-up, tick a step of the bench and turn on the red light, by keys."""
    tab.tab_to("one.innerText === 'Set-up' || one.querySelector?.('.page-name')?.innerText === 'Set-up'")
    tab.key("Enter")
    tab.wait("document.querySelector('[data-desk]')?.dataset.ready === ''")
    tab.tab_to("one.dataset.handle === 'guider' && one.getAttribute('role') === 'slider'")
    before = tab.eval("document.activeElement.getAttribute('aria-valuenow')")
    tab.key("ArrowUp")
    tab.wait(f"document.activeElement.getAttribute('aria-valuenow') !== {before!r}")
    tab.tab_to("one.name === 'name'")
    tab.type("By keys")
    tab.key("Enter")
    tab.wait("document.querySelector('[data-kept-says]').innerText.includes('Kept as')")
    tab.tab_to("one.matches('.next')")
    tab.key("Enter")
    tab.wait("location.pathname === '/bench' && document.querySelector('.steps')")
    tab.tab_to("one.closest('.steps')")
    tab.key(" ")
    assert tab.text("[data-done]").startswith("1 of ")
    tab.eval("document.activeElement.blur(); scrollTo(0, 0)")
    tab.tab_to("one.matches('[data-look-switch]')")
    tab.key("Enter")
    tab.wait("document.documentElement.dataset.look === 'night'")
