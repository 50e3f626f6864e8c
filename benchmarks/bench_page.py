"""The page: how fast its HTML comes, how large it is, and how many pictures a second the dial keeps while it turns.

Ten targets, both sides of the meridian, a real Chromium, the server a process of its own.
"""

import math
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.bench_startup import surroundings
from benchmarks.measure import Table, Words, clock, emit, figure
from tests.browser.chrome import Chromium, Tab

from sidelight.cards.drawings import dial_picture
from sidelight.desk.demo import ANSWERS, DATE
from sidelight.desk.kept import setup_in_use
from sidelight.notebook.new import write_new_notebook
from sidelight.notebook.read import read_notebook
from sidelight.web.server import Server, open_door

TARGETS = ["NGC 2903", "M 96", "M 81", "NGC 4490", "NGC 5907", "M 51", "M 101", "NGC 4565", "M 106", "NGC 3628"]
PAGES = ("season", "setup", "bench", "night", "light", "campaign", "ledger", "notebook")
REPEATS = 9
DRAG_S = 6.0
BROWSER_OPENS_S = 0.6
MEASURED = {
    "TaskDuration": "all",
    "ScriptDuration": "script",
    "RecalcStyleDuration": "style",
    "LayoutDuration": "layout",
}
TAKE_DOWN = """
(() => {
  window.taken = { ticks: [], last: null };
  const tick = (at) => {
    if (window.taken.last !== null) window.taken.ticks.push(at - window.taken.last);
    window.taken.last = at;
    if (!window.taken.stop) requestAnimationFrame(tick);
  };
  requestAnimationFrame(tick);
})()
"""
SCRIPT_MS = """
(() => {
  const began = performance.now();
  for (let n = 0; n < 300; n += 1) window.sidelight.at(n * 1.2, n * 0.7);
  return (performance.now() - began) / 300;
})()
"""


@contextmanager
def served(folder: Path, around: dict[str, str]) -> Iterator[str]:
    """Serve a notebook by a process of its own."""
    command = [sys.executable, "-m", "sidelight", "serve", str(folder), "--port", "0", "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=around) as process:
        try:
            assert process.stdout is not None
            yield next(line.strip() for line in process.stdout if "http://" in line).rstrip("/")
        finally:
            process.terminate()


def asked_s(address: str) -> tuple[float, int]:
    """Return the time of one answer, and its size."""
    began = time.perf_counter()
    with urllib.request.urlopen(address) as answer:
        size = len(answer.read())
    return time.perf_counter() - began, size


def html_times(folder: Path, around: dict[str, str], page: str) -> tuple[str, str, str, str]:
    """Return from the command to the page, the first answer once the browser is open, the later ones, the size."""
    began = time.perf_counter()
    with served(folder, around) as base:
        asked_s(f"{base}/{page}")
        from_nothing_s = time.perf_counter() - began
    with served(folder, around) as base:
        time.sleep(BROWSER_OPENS_S)
        first_s, size = asked_s(f"{base}/{page}")
        again_s = statistics.median(asked_s(f"{base}/{page}")[0] for _ in range(REPEATS))
    return clock(from_nothing_s), clock(first_s), clock(again_s), f"{size / 1e3:.1f} kB"


def page_bytes(tab: Tab, page: str) -> int:
    """Return the bytes of a page with everything that it fetches, pictures below the fold included."""
    tab.go(f"/{page}?date={DATE}")
    tab.eval("Promise.all([...document.images].map((one) => { one.loading = 'eager'; return one.decode(); }))")
    time.sleep(1.0)
    return int(
        tab.eval(
            "[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]"
            ".reduce((sum, one) => sum + one.transferSize, 0)"
        )
    )


def pictures_per_second(tab: Tab, turning: bool) -> tuple[list[float], dict[str, float]]:
    """Return the intervals between pictures and what one costs the page, ms; dragged round, or left alone."""
    tab.go(f"/setup?date={DATE}")
    tab.wait("document.querySelector('[data-desk]')?.dataset.ready === ''", 60)
    x, y = tab.place("#dial-border circle")
    half = float(tab.eval("document.querySelector('#dial-border circle').getBoundingClientRect().width / 2")) * 0.93
    start = float(tab.eval("document.querySelector('[data-handle=guider]').getAttribute('aria-valuenow')"))

    def at(angle_deg: float) -> dict[str, float]:
        angle = math.radians(angle_deg)
        return {"x": x - half * math.sin(angle), "y": y - half * math.cos(angle)}

    tab.call("Input.dispatchMouseEvent", type="mousePressed", button="left", clickCount=1, **at(start))
    tab.call("Performance.enable")
    before = metrics(tab)
    tab.eval(TAKE_DOWN)
    began = time.perf_counter()
    while (passed := time.perf_counter() - began) < DRAG_S:
        if turning:
            tab.call(
                "Input.dispatchMouseEvent", type="mouseMoved", button="left", buttons=1, **at(start + 40 * passed)
            )
        else:
            time.sleep(0.05)
    ticks: list[float] = tab.eval("(window.taken.stop = true, window.taken.ticks)")
    after = metrics(tab)
    tab.call("Input.dispatchMouseEvent", type="mouseReleased", button="left", clickCount=1, **at(start))
    return ticks, {name: (after[name] - before[name]) * 1000 / len(ticks) for name in MEASURED}


def metrics(tab: Tab) -> dict[str, float]:
    """Return the seconds that the page's main thread has spent so far, by what it did."""
    return {one["name"]: one["value"] for one in tab.call("Performance.getMetrics")["metrics"]}


def told(name: str, seen: tuple[list[float], dict[str, float]]) -> tuple[str, ...]:
    """Return pictures a second, how even they came, and what one costs."""
    ticks, cost = seen
    late = sum(tick > 25.0 for tick in ticks) / len(ticks)
    rate = f"{1000 * len(ticks) / sum(ticks):.1f} a second"
    parts = [f"{cost[key]:.2f} ms" for key in MEASURED]
    return (name, rate, f"{max(ticks):.0f} ms", f"{late:.1%}", *parts)


def in_the_browser(folder: Path, scratch: Path) -> dict[str, int]:
    """Print how evenly the dial turns; return each page's bytes."""
    door, sock = open_door(0, network=False)
    server = Server(folder, door, sock)
    threading.Thread(target=server.run, daemon=True).start()
    browser = Chromium(scratch / "profile")
    tab = Tab(browser, server.addresses()[0].rstrip("/"))
    sizes = {page: page_bytes(tab, page) for page in PAGES}
    rows = (
        told("nothing turns", pictures_per_second(tab, turning=False)),
        told("the needle is dragged", pictures_per_second(tab, turning=True)),
    )
    parts = [f"a picture's {words}" for words in MEASURED.values()]
    header = ("the dial", "pictures", "longest wait", "later than 25 ms", *parts)
    emit(Table("The set-up page's dial, its main thread's work for each picture", header, rows))
    turn_ms = float(tab.eval(SCRIPT_MS))
    emit(Words(f"One turn of the dial is worked out in {turn_ms:.2f} ms, {len(TARGETS)} targets and 20 rings."))
    tab.close()
    browser.close()
    server.stop()
    return sizes


def main() -> None:
    """Serve ten targets, and measure."""
    with tempfile.TemporaryDirectory(prefix="sidelight-") as name:
        scratch = Path(name)
        folder, around = scratch / "garden", surroundings(scratch)
        write_new_notebook(folder, {**ANSWERS, "targets": TARGETS})
        report = setup_in_use(read_notebook(folder), DATE)
        figure(
            "the dial drawn as SVG",
            "10 targets, 20 rings",
            lambda: dial_picture(report, "day"),
            "none: no library draws it",
        )
        times = {page: html_times(folder, around, page) for page in PAGES}
        sizes = in_the_browser(folder, scratch)
        rows = tuple((page, *times[page], f"{sizes[page] / 1e3:.0f} kB") for page in PAGES)
        header = ("page", "from the command", "browser just open", "again", "HTML", "with all it fetches")
        title = "Ten targets, tonight's date; each page the first that its server is asked for"
        emit(Table(title, header, rows))


if __name__ == "__main__":
    main()
