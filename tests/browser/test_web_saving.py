"""What leaves the page: pictures as SVG and PNG, tables as CSV; and the night's clock that runs along the plan."""

import csv
import io
import time
from pathlib import Path
from xml.etree import ElementTree

from tests.browser.chrome import Tab
from tests.browser.conftest import OpenTab
from tests.browser.png import pixels

from sidelight.desk.demo import DATE


def saved(tab: Tab, folder: Path, selector: str, name: str) -> bytes:
    """Click a button that saves, and return the file."""
    tab.browser.call(
        "Browser.setDownloadBehavior", behavior="allow", downloadPath=str(folder), browserContextId=tab.context
    )
    tab.click(selector)
    until = time.monotonic() + 20
    while time.monotonic() < until:
        tab.eval("0")
        file = folder / name
        if file.exists() and file.stat().st_size and not list(folder.glob("*.crdownload")):
            return file.read_bytes()
        time.sleep(0.05)
    raise AssertionError(f"{name} was not saved: {[one.name for one in folder.iterdir()]}")


def test_pictures_are_saved_as_svg_and_png(demo_base: str, open_tab: OpenTab, tmp_path: Path) -> None:
    """A picture of the server is saved as it is, and as PNG at twice its size."""
    tab = open_tab(demo_base)
    tab.go(f"/bench?date={DATE}")
    svg = saved(tab, tmp_path, "a[data-save=svg]", "bench.svg")
    _, _, width, height = ElementTree.fromstring(svg).attrib["viewBox"].split()
    shown = pixels(saved(tab, tmp_path, "[data-save=png]", "bench.png"))
    assert shown.shape[:2] == (round(2 * float(height)), round(2 * float(width)))
    assert shown.min() < 60


def test_the_turned_dial_is_saved_as_it_stands(demo_base: str, open_tab: OpenTab, tmp_path: Path) -> None:
    """The dial in the hand is saved with its needle where it was turned to, in plain colours."""
    tab = open_tab(demo_base)
    tab.go(f"/setup?date={DATE}")
    tab.wait("document.querySelector('[data-desk]').dataset.ready === ''")
    tab.eval("window.sidelight.turnTo('guider', 123.4)")
    tab.wait("Math.abs(window.sidelight.seen().targets[0].guider - 123.4) < 0.01")
    text = saved(tab, tmp_path, "figure.dial [data-save=svg]", "dial.svg").decode()
    ElementTree.fromstring(text)
    assert "rotate(-123.4" in text
    assert "123.4°" in text
    assert "var(" not in text
    assert pixels(saved(tab, tmp_path, "figure.dial [data-save=png]", "dial.png")).min() < 60


def test_a_table_is_saved_as_csv(demo_base: str, open_tab: OpenTab, tmp_path: Path) -> None:
    """The season's table is read back by a CSV reader, a row for each target, in the order shown."""
    tab = open_tab(demo_base)
    tab.go(f"/season?date={DATE}")
    tab.click("#season-table th:first-child button")
    shown = tab.eval("[...document.querySelectorAll('#season-table tbody tr')].map((one) => one.dataset.target)")
    rows = list(
        csv.reader(io.StringIO(saved(tab, tmp_path, "[data-csv=season-table]", "season.csv").decode("utf-8-sig")))
    )
    assert shown == sorted(shown)
    assert [row[0].split("  ")[0].split(" Bode")[0] for row in rows[1:]] == shown
    assert {len(row) for row in rows} == {9}


def test_the_clock_runs_along_the_plan(demo_base: str, open_tab: OpenTab) -> None:
    """Looking ahead moves the line on the chart, and says what is on, the flip, and the guide star's place."""
    tab = open_tab(demo_base)
    tab.go(f"/night?date={DATE}")
    tab.wait("document.querySelector('#night-now') !== null")
    first, last = tab.eval(
        "[...document.querySelectorAll('#run-table tbody tr')].map((one) => Date.parse(one.dataset.from))"
        ".concat(Date.parse(document.querySelector('[data-watch]').dataset.from),"
        " Date.parse(document.querySelector('[data-watch]').dataset.until)).slice(-2)"
    )
    start = tab.eval("Date.parse(document.querySelector('#run-table tbody tr').dataset.from)")
    share = round(1000 * (start + 30 * 60000 - first) / (last - first))
    tab.eval(f"(() => {{ const one = document.getElementById('ahead'); one.value = {share}; "
             "one.dispatchEvent(new Event('input')); })()")  # fmt: skip
    target = tab.eval("document.querySelector('#run-table tbody tr td strong').innerText")
    assert tab.text("[data-now-what]").startswith(target)
    assert "from now" in tab.text("[data-now-more]")
    assert "px" in tab.text("[data-guide-what]")
    assert tab.eval("document.querySelector('#night-now').getAttribute('visibility')") == "visible"
    assert tab.count("#run-table tr[aria-current]") == 1
    tab.click("[data-back-to-now]")
    assert tab.text("[data-when]") == "now"
