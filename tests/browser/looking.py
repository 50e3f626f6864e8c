"""What every page is looked at for: opened in a display, all its pictures seen, its faults counted."""

import json
from pathlib import Path
from typing import Any

from tests.browser.chrome import WAIT_S, Tab

from sidelight.desk.demo import DATE

AXE = (Path(__file__).parent / "axe" / "axe.min.js").read_text(encoding="utf-8")
SEE_EVERY_IMAGE = "Promise.all([...document.images].map((one) => { one.loading = 'eager'; return one.decode(); }))"


def show(tab: Tab, page: str, look: str = "day", ready: str | None = None, patience_s: float = WAIT_S) -> Tab:
    """Open a page in a display and wait until what its modules draw is there."""
    tab.call("Network.setCookie", name="sidelight_look", value=look, url=tab.base)
    tab.go(f"/{page}?date={DATE}")
    if ready:
        tab.wait(ready, patience_s)
    return tab


def faults(tab: Tab) -> list[str]:
    """Return the serious faults that axe-core finds."""
    tab.eval(AXE + "; 0")
    found: dict[str, Any] = json.loads(tab.eval("axe.run().then((one) => JSON.stringify(one))"))
    return [
        f"{one['id']} ({one['impact']}): {one['nodes'][0]['html'][:160]} {one['nodes'][0].get('failureSummary', '')}"
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]
