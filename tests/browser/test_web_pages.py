"""Every page at both sizes and in both displays: no fault, no request elsewhere, accessible, red where it is red."""

import numpy as np
import pytest
from tests.browser.chrome import Tab
from tests.browser.conftest import DESK, PHONE, OpenTab
from tests.browser.looking import SEE_EVERY_IMAGE, faults, show
from tests.browser.png import pixels

from sidelight.desk.demo import DATE

PAGES = ("season", "setup", "bench", "night", "notebook")
READY = {"setup": "document.querySelector('[data-desk]').dataset.ready === ''",
         "night": "document.querySelector('#night-now') !== null",
         "notebook": "document.querySelectorAll('.skyline .point').length > 3"}  # fmt: skip
LARGEST_PAGE_BYTES = 1_000_000


def opened(tab: Tab, page: str, look: str = "day") -> Tab:
    """Open a page in a display and wait for what its modules draw."""
    return show(tab, page, look, READY.get(page))


@pytest.mark.parametrize(("size", "look"), [(DESK, "day"), (PHONE, "night")], ids=["desk, day", "phone, red"])
@pytest.mark.parametrize("page", PAGES)
def test_axe_finds_no_serious_fault(
    demo_base: str, open_tab: OpenTab, page: str, size: tuple[int, int], look: str
) -> None:
    """axe-core's rules (WCAG 2 A and AA, best practice) find nothing serious, and the page fits its width."""
    tab = opened(open_tab(demo_base, size), page, look)
    assert faults(tab) == []
    assert tab.eval("document.documentElement.scrollWidth") <= size[0]


@pytest.mark.parametrize("page", PAGES)
def test_the_red_display_is_red_alone(demo_base: str, open_tab: OpenTab, page: str) -> None:
    """No pixel of a page in the red display holds green or blue: forms, pictures and focus rings included."""
    tab = opened(open_tab(demo_base, PHONE), page, "night")
    tab.eval("for (const one of document.querySelectorAll('details')) one.open = true")
    tab.eval(SEE_EVERY_IMAGE)
    tab.key("Tab")
    shown = pixels(tab.picture())
    assert shown[:, :, 0].max() > 150
    assert shown[:, :, 1:].max() <= 2
    light = np.asarray(shown[:, :, 0], dtype=np.float64).mean()
    assert light < 40  # mostly dark: no filled bright surface


def test_the_switch_is_remembered_and_covers_pictures(demo_base: str, open_tab: OpenTab) -> None:
    """The red light goes on without a reload, pictures change with it, and the next page has it too."""
    tab = opened(open_tab(demo_base), "season")
    tab.click("[data-look-switch]")
    tab.wait("document.documentElement.dataset.look === 'night'")
    assert tab.eval(
        "[...document.querySelectorAll('figure[data-picture] img')].every((i) => i.src.includes('look=night'))"
    )
    tab.wait("document.cookie !== undefined && performance.now() > 0")
    tab.go(f"/bench?date={DATE}")
    assert tab.eval("document.documentElement.dataset.look") == "night"


@pytest.mark.parametrize("page", PAGES)
def test_a_page_with_all_it_needs_is_small(demo_base: str, open_tab: OpenTab, page: str) -> None:
    """HTML, styles, modules, data and all pictures of a page are under a million bytes."""
    tab = opened(open_tab(demo_base), page)
    tab.eval(SEE_EVERY_IMAGE)
    total = tab.eval(
        "[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]"
        ".reduce((sum, one) => sum + one.transferSize, 0)"
    )
    assert 10_000 < total < LARGEST_PAGE_BYTES


def test_a_broken_notebook_is_told_everywhere(demo_base: str, open_tab: OpenTab) -> None:
    """What stands in the way is said in the server's words, on a page that leads to the notebook."""
    tab = open_tab(demo_base)
    tab.go("/season?date=yesterday")
    assert "2027-03-06" in tab.text("main")
    tab.go("/nowhere")
    assert "no such page" in tab.text("main")
    tab.errors.clear()  # the browser counts a refused page as an error of its own
