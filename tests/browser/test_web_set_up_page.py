"""The set-up's page: what a phone shows first, tables that fit it, the camera's mark and the figures, keeping."""

import json
from itertools import pairwise
from typing import Any

import pytest
from tests.browser.conftest import DESK, PHONE, OpenTab

from sidelight.desk.demo import DATE

ADDRESS = f"/setup?date={DATE}"
READY = "document.querySelector('[data-desk]')?.dataset.ready === ''"
LEVELS = """[...document.querySelectorAll("h1,h2,h3,h4,h5,h6")].filter((one) => one.checkVisibility())
  .map((one) => Number(one.tagName[1]))"""

HIDDEN_FIGURES = """(() => {
  const marks = [...document.querySelectorAll(".handle[data-handle=camera] > *")].slice(1);
  const own = (point, mark) => point.matrixTransform(mark.getScreenCTM().inverse());
  const inside = (point) => marks.some((mark) => mark.isPointInFill(own(point, mark)));
  const found = [];
  for (const text of document.querySelectorAll("[id^=dial-figure-]")) {
    const box = text.getBBox();
    for (let i = 0; i <= 4; i++) for (let j = 0; j <= 4; j++) {
      const place = new DOMPoint(box.x + (box.width * i) / 4, box.y + (box.height * j) / 4);
      const at = place.matrixTransform(text.getScreenCTM());
      const off = at.x < 0 || at.x > innerWidth;
      if (off || inside(at)) found.push(text.id);
    }
  }
  return [...new Set(found)];
})()"""

SPY = """window.sent = []; const own = fetch;
window.fetch = (...all) => { if (all[1]?.body) sent.push(all[1].body); return own(...all); }; 0"""

TOO_WIDE = """[...document.querySelectorAll("table.stacked")].flatMap((table) => {
  const cells = [...table.querySelectorAll("tbody th, tbody td")].filter((one) => one.textContent.trim());
  const off = (one) => one.getBoundingClientRect().right > innerWidth || !one.checkVisibility();
  return cells.filter(off).map((one) => `${table.id}: ${one.textContent}`);
})"""


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_the_camera_s_mark_hides_no_figure(demo_base: str, open_tab: OpenTab, size: tuple[int, int]) -> None:
    """However the camera is turned, every figure of the dial's border stands clear of its mark, and on the page."""
    tab = open_tab(demo_base, size)
    tab.go(ADDRESS)
    tab.wait(READY)
    for angle in [*range(0, 360, 30), 57, 64, 83, 98, 112, 263, 357]:
        tab.eval(
            f"sidelight.turnTo('camera', {angle}); new Promise((one) => requestAnimationFrame(() => setTimeout(one)))"
        )
        assert tab.eval(HIDDEN_FIGURES) == [], angle
    tab.eval("sidelight.turnTo('camera', 45); new Promise((one) => requestAnimationFrame(() => setTimeout(one)))")
    assert tab.eval(
        "[...document.querySelectorAll('[id^=dial-figure-]')].every((one) => !one.getAttribute('transform'))"
    )


def test_a_phone_shows_the_verdict_first(demo_base: str, open_tab: OpenTab) -> None:
    """Under the page's title stand verdict and figures, then the dial, then the fields, then what turns them."""
    tab = open_tab(demo_base, PHONE)
    tab.go(ADDRESS)
    tab.wait(READY)
    order = [
        ".headline",
        ".verdict",
        ".figures",
        "figure.dial",
        ".fields",
        ".angle[aria-label='Camera angle']",
        "#rings-table",
    ]
    tops = tab.eval(f"{json.dumps(order)}.map((one) => document.querySelector(one).getBoundingClientRect().top)")
    assert tops == sorted(tops)


@pytest.mark.parametrize("page", ["setup", "night"])
def test_rows_fit_a_phone_with_nothing_hidden(demo_base: str, open_tab: OpenTab, page: str) -> None:
    """Rings, set-ups, the run, guide stars and targets: every cell stands on the page, whole."""
    tab = open_tab(demo_base, PHONE)
    tab.go(f"/{page}?date={DATE}")
    tab.wait(READY if page == "setup" else "document.querySelector('#night-now') !== null")
    if page == "setup":
        tab.place("#rings-table")
        tab.wait("document.querySelector('#rings-table td:last-child').textContent")
    assert tab.count("table.stacked") >= 2
    assert tab.eval(TOO_WIDE) == []


@pytest.mark.parametrize("page", ["setup", "season", "night", "notebook"])
def test_headings_stay_in_order_once_scripts_have_run(demo_base: str, open_tab: OpenTab, page: str) -> None:
    """What the scripts add skips no level either."""
    tab = open_tab(demo_base)
    tab.go(f"/{page}?date={DATE}")
    tab.wait(READY if page == "setup" else "document.readyState === 'complete'")
    found = tab.eval(LEVELS)
    assert found[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(found))


def test_set_ups_to_jump_to_have_names_and_reasons(demo_base: str, open_tab: OpenTab) -> None:
    """Best, Second and so on, each with what it serves; what puts one behind the best is told with it."""
    tab = open_tab(demo_base)
    tab.go(ADDRESS)
    tab.wait(READY)
    words = tab.eval("[...document.querySelectorAll('[data-jumps] button')].map((one) => one.textContent)")
    assert words[0].startswith("Best: slack ")
    assert words[1].startswith("Second: ")
    note: str = tab.eval("sidelight.data().dial.setups[1].note")
    assert note
    assert tab.eval("document.querySelectorAll('[data-jumps] button')[1].getAttribute('aria-description')") == note
    tab.click("[data-jumps] button:nth-child(2)")
    tab.wait("document.querySelector('[data-jumped]').textContent")
    assert tab.text("[data-jumped]") == f"Second is in the hand: {note}."
    assert note in tab.text("[data-compare]")


def test_a_taken_name_is_asked_about(demo_base: str, open_tab: OpenTab) -> None:
    """Other angles under a name that is taken: the page asks; it gives way only when the person says so."""
    tab = open_tab(demo_base)
    tab.go(ADDRESS)
    tab.wait(READY)

    def keep(angle: float) -> None:
        tab.eval(f"sidelight.turnTo('camera', {angle})")
        tab.fill("[data-keep-form] [name=name]", "Spring")
        tab.click("[data-keep-form] button.first")

    def kept() -> Any:
        found = tab.eval("fetch('/api/dial').then((one) => one.json()).then((one) => one.dial.setups)")
        return [one["poses"][0]["camera_angle_deg"] for one in found if one["kind"] == "kept"]

    keep(57.2)
    tab.wait("document.querySelector('[data-kept-says]').textContent.startsWith('Kept as')")
    keep(60.0)
    tab.wait("document.getElementById('taken').open")
    assert '"Spring" is kept already (57.2°, 5 targets' in tab.text("#taken-words")
    tab.click("#taken button[value=other]")
    tab.wait("!document.getElementById('taken').open")
    assert kept() == [57.2]
    keep(60.0)
    tab.wait("document.getElementById('taken').open")
    tab.click("#taken button[value=replace]")
    tab.wait(
        "document.querySelectorAll('[data-compare] tr').length && fetch && !document.getElementById('taken').open"
    )
    for _ in range(40):
        if kept() == [60.0]:
            break
    assert kept() == [60.0]
    tab.errors.clear()  # the browser counts a refused request as an error of its own


def test_stars_that_are_refused_are_asked_about(demo_base: str, open_tab: OpenTab) -> None:
    """The boxes under the conditions go with the question."""
    tab = open_tab(demo_base)
    tab.go(ADDRESS)
    tab.wait(READY)
    tab.eval(SPY)
    tab.click(".conditions summary")
    tab.click("input[name=refuse][value=companions]")
    tab.click("[data-solve]")
    tab.wait("sent.length && !document.querySelector('[data-solve]').disabled", 60)
    assert json.loads(tab.eval("sent[0]"))["refuse"] == ["companions"]
    assert tab.text("[data-solve-says]") == ""
