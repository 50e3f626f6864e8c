"""The page: how fast its HTML comes, how large it is, and how many pictures a second the dial keeps while it turns.

Ten targets, both sides of the meridian, a real Chromium. Run with: python benchmarks/bench_page.py
"""

import math
import statistics
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.browser.chrome import Chromium, Tab

from sidelight.desk.demo import ANSWERS, DATE
from sidelight.notebook.new import write_new_notebook
from sidelight.web.server import Server, open_door

TARGETS = ["NGC 2903", "M 96", "M 81", "NGC 4490", "NGC 5907", "M 51", "M 101", "NGC 4565", "M 106", "NGC 3628"]
PAGES = ("season", "setup", "bench", "night", "light", "campaign", "ledger", "notebook")
REPEATS = 9
DRAG_S = 6.0
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


def html_times_ms(base: str, page: str) -> tuple[float, float, int]:
    """Return the time of the first answer, the median of the warm ones, and the size of the HTML."""
    times, size = [], 0
    for _ in range(REPEATS + 1):
        began = time.perf_counter()
        with urllib.request.urlopen(f"{base}/{page}?date={DATE}") as answer:
            size = len(answer.read())
        times.append((time.perf_counter() - began) * 1000)
    return times[0], statistics.median(times[1:]), size


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


def told(name: str, seen: tuple[list[float], dict[str, float]]) -> None:
    """Print pictures a second, how even they came, and what one costs."""
    ticks, cost = seen
    late = sum(tick > 25.0 for tick in ticks) / len(ticks)
    print(
        f"{name:26} {1000 * len(ticks) / sum(ticks):5.1f} pictures/s, median {statistics.median(ticks):5.2f} ms, "
        f"longest {max(ticks):6.1f} ms, later than 25 ms: {late:.1%} of {len(ticks)}"
    )
    parts = ", ".join(f"{words} {cost[key]:.2f} ms" for key, words in MEASURED.items())
    print(f"{'':26} the page's main thread for each picture: {parts}")


def main() -> None:
    """Serve ten targets, and measure."""
    with tempfile.TemporaryDirectory(prefix="sidelight-") as scratch:
        folder = Path(scratch) / "garden"
        write_new_notebook(folder, {**ANSWERS, "targets": TARGETS})
        door, sock = open_door(0, network=False)
        server = Server(folder, door, sock)
        threading.Thread(target=server.run, daemon=True).start()
        base = server.addresses()[0].rstrip("/")
        browser = Chromium(Path(scratch) / "profile")
        tab = Tab(browser, base)
        print(f"{'page':10} {'first':>9} {'warm':>9} {'HTML':>9} {'with all it fetches':>20}")
        for page in PAGES:
            first, warm, size = html_times_ms(base, page)
            whole = page_bytes(tab, page) / 1e3
            print(f"{page:10} {first:6.0f} ms {warm:6.1f} ms {size / 1e3:6.1f} kB {whole:17.0f} kB")
        told("nothing turns", pictures_per_second(tab, turning=False))
        told("the needle is dragged", pictures_per_second(tab, turning=True))
        print(f"{'one turn worked out':26} {float(tab.eval(SCRIPT_MS)):.2f} ms for {len(TARGETS)} targets, 20 rings")
        tab.close()
        browser.close()
        server.stop()


if __name__ == "__main__":
    main()
