"""A small client of the Chrome DevTools Protocol: one browser, its tabs, what they say and ask for."""

import base64
import json
import subprocess
import time
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from tests.strategies.browser import chromium_flags, chromium_path
from websockets.sync.client import connect

START_S = 30.0
WAIT_S = 20.0
KEYS = {
    "Enter": ("Enter", 13, "\r"), "Tab": ("Tab", 9, ""), "Escape": ("Escape", 27, ""), " ": ("Space", 32, " "),
    "ArrowLeft": ("ArrowLeft", 37, ""), "ArrowUp": ("ArrowUp", 38, ""), "ArrowRight": ("ArrowRight", 39, ""),
    "ArrowDown": ("ArrowDown", 40, ""), "Delete": ("Delete", 46, ""), "Home": ("Home", 36, ""),
    "PageUp": ("PageUp", 33, ""), "PageDown": ("PageDown", 34, ""), "Backspace": ("Backspace", 8, ""),
}  # fmt: skip
SHIFT, CONTROL = 8, 2


class Chromium:
    """A headless browser with a profile of its own."""

    def __init__(self, profile: Path) -> None:
        command = [chromium_path(), *chromium_flags(profile), "--remote-debugging-port=0"]
        command += ["--force-color-profile=srgb", "--disable-lcd-text", "about:blank"]
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self.opened = ExitStack()
        self.socket = self.opened.enter_context(
            connect(self._address(profile), max_size=None, open_timeout=START_S, ping_interval=None)
        )
        self.number = 0
        self.listeners: dict[str, Callable[[str, dict[str, Any]], None]] = {}

    def _address(self, profile: Path) -> str:
        """Wait for the browser and return the address that it listens on."""
        file, until = profile / "DevToolsActivePort", time.monotonic() + START_S
        while time.monotonic() < until:
            lines = file.read_text().split() if file.exists() else []
            if len(lines) == 2:
                return f"ws://127.0.0.1:{lines[0]}{lines[1]}"
            if self.process.poll() is not None:
                raise RuntimeError(f"Chromium ended with {self.process.returncode}.")
            time.sleep(0.05)
        raise RuntimeError("Chromium did not start.")

    def call(self, method: str, session: str | None = None, **params: Any) -> dict[str, Any]:
        """Send a command and return its answer; events that come meanwhile go to their tabs."""
        self.number += 1
        message: dict[str, Any] = {"id": self.number, "method": method, "params": params}
        if session:
            message["sessionId"] = session
        self.socket.send(json.dumps(message))
        while True:
            answer = json.loads(self.socket.recv(timeout=60))
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']['message']}")
                result: dict[str, Any] = answer["result"]
                return result
            self._event(answer)

    def _event(self, answer: dict[str, Any]) -> None:
        """Hand an event to the tab that it belongs to."""
        heard = self.listeners.get(answer.get("sessionId", ""))
        if heard and "method" in answer:
            heard(answer["method"], answer.get("params", {}))

    def close(self) -> None:
        """End the browser."""
        self.opened.close()
        self.process.terminate()
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


class Tab:
    """One page in a private window, with everything that it complained about and asked for."""

    def __init__(self, browser: Chromium, base: str, width: int = 1280, height: int = 900) -> None:
        self.browser, self.base = browser, base
        self.context = browser.call("Target.createBrowserContext")["browserContextId"]
        self.target = browser.call("Target.createTarget", url="about:blank", browserContextId=self.context)[
            "targetId"
        ]
        self.session = browser.call("Target.attachToTarget", targetId=self.target, flatten=True)["sessionId"]
        self.errors: list[str] = []
        self.asked: list[str] = []
        self.loaded = False
        browser.listeners[self.session] = self._heard
        for domain in ("Page", "Runtime", "Log", "Network", "DOM"):
            self.call(f"{domain}.enable")
        self.size(width, height)

    def size(self, width: int, height: int) -> None:
        """Be a desk's window, or a phone for up to 500 pixels."""
        phone = width <= 500
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=phone)
        self.call("Emulation.setTouchEmulationEnabled", enabled=phone)

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """Send a command for this tab."""
        return self.browser.call(method, self.session, **params)

    def _heard(self, method: str, params: dict[str, Any]) -> None:
        """Take down errors, requests and the end of loading."""
        if method == "Runtime.exceptionThrown":
            details = params["exceptionDetails"]
            self.errors.append(details.get("exception", {}).get("description", details.get("text", "")))
        elif method == "Runtime.consoleAPICalled" and params["type"] in ("error", "warning", "assert"):
            self.errors.append(" ".join(str(one.get("value", one)) for one in params["args"]))
        elif method == "Log.entryAdded" and params["entry"]["level"] in ("error", "warning"):
            self.errors.append(f"{params['entry']['text']} {params['entry'].get('url', '')}")
        elif method == "Network.requestWillBeSent":
            self.asked.append(params["request"]["url"])
        elif method == "Page.loadEventFired":
            self.loaded = True

    def go(self, path: str) -> None:
        """Open a page of the server and wait until it has loaded."""
        self.loaded = False
        self.call("Page.navigate", url=self.base + path)
        self._until(lambda: self.loaded, f"{path} to load")

    def eval(self, expression: str) -> Any:
        """Evaluate JavaScript in the page; promises are waited for."""
        answer = self.call("Runtime.evaluate", expression=expression, awaitPromise=True, returnByValue=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(answer["exceptionDetails"]["exception"].get("description", expression))
        return answer["result"].get("value")

    def wait(self, expression: str, seconds: float = WAIT_S) -> Any:
        """Wait until an expression is true on a loaded page, also over a change of page, and return its value."""
        return self._until(
            lambda: self._try(f"document.readyState === 'complete' && Boolean({expression})"), expression, seconds
        )

    def _try(self, expression: str) -> Any:
        try:
            return self.eval(expression)
        except RuntimeError:
            return None  # the page is changing

    def _until(self, ready: Callable[[], Any], what: str, seconds: float = WAIT_S) -> Any:
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            found = ready()
            if found:
                return found
            self.call("Runtime.evaluate", expression="1")  # lets events come in
            time.sleep(0.03)
        raise AssertionError(f"Waited in vain for {what}. Errors so far: {self.errors}")

    def text(self, selector: str) -> str:
        """Return the text of the first element that a selector finds."""
        found = f"document.querySelector({json.dumps(selector)})"
        return str(self.eval(f"{found}.innerText ?? {found}.textContent"))

    def count(self, selector: str) -> int:
        """Return how many elements a selector finds."""
        return int(self.eval(f"document.querySelectorAll({json.dumps(selector)}).length"))

    def place(self, selector: str) -> tuple[float, float]:
        """Scroll an element into view and return its middle."""
        return tuple(
            self.eval(
                f"""(() => {{ const one = document.querySelector({json.dumps(selector)});
                one.scrollIntoView({{ block: "center", inline: "nearest", behavior: "instant" }});
                const box = one.getBoundingClientRect();
                return [box.left + box.width / 2, box.top + box.height / 2]; }})()"""
            )
        )

    def click(self, selector: str) -> None:
        """Click into the middle of an element, with the mouse, once the page's scripts have run."""
        self.wait("document.readyState === 'complete'")
        x, y = self.place(selector)
        for _ in range(40):
            # pictures that load and a scroll that is restored still move the page; click when it stands
            time.sleep(0.15)
            before, (x, y) = (x, y), self.place(selector)
            if before == (x, y):
                break
        self.drag([(x, y)])

    def drag(self, points: list[tuple[float, float]]) -> None:
        """Press the mouse at the first point, move over the others, and let go."""
        event = {"button": "left", "clickCount": 1}
        x, y = points[0]
        self.call("Input.dispatchMouseEvent", type="mouseMoved", x=x, y=y)
        self.call("Input.dispatchMouseEvent", type="mousePressed", x=x, y=y, **event)
        for x, y in points[1:]:
            self.call("Input.dispatchMouseEvent", type="mouseMoved", x=x, y=y, button="left", buttons=1)
        self.call("Input.dispatchMouseEvent", type="mouseReleased", x=x, y=y, **event)

    def touch(self, points: list[tuple[float, float]]) -> None:
        """Put a finger down at the first point, move it over the others, and lift it."""
        for number, (x, y) in enumerate(points):
            kind = "touchStart" if number == 0 else "touchMove"
            self.call("Input.dispatchTouchEvent", type=kind, touchPoints=[{"x": x, "y": y}])
        self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    def tap(self, selector: str) -> None:
        """Tap an element with a finger."""
        self.touch([self.place(selector)])

    def key(self, name: str, modifiers: int = 0) -> None:
        """Press a key."""
        code, number, text = KEYS[name] if name in KEYS else (f"Key{name.upper()}", ord(name.upper()), name)
        what = {"key": name, "code": code, "windowsVirtualKeyCode": number, "modifiers": modifiers}
        text = "" if modifiers & ~SHIFT else text
        self.call("Input.dispatchKeyEvent", type="keyDown" if text else "rawKeyDown", **what, text=text)
        self.call("Input.dispatchKeyEvent", type="keyUp", **what)

    def type(self, text: str) -> None:
        """Type text into what has the focus."""
        self.call("Input.insertText", text=text)

    def fill(self, selector: str, text: str) -> None:
        """Click into an input and replace what it says."""
        self.click(selector)
        self.eval(f"document.querySelector({json.dumps(selector)}).select()")
        self.type(text) if text else self.key("Delete")

    def tab_to(self, expression: str, most: int = 200) -> None:
        """Press Tab until an expression about the element in focus, called `one`, is true."""
        for _ in range(most):
            self.key("Tab")
            if self.eval(f"(() => {{ const one = document.activeElement; return Boolean({expression}); }})()"):
                return
        raise AssertionError(f"Tab never reached {expression}.")

    def picture(self, whole: bool = True) -> bytes:
        """Return a screenshot as PNG."""
        params: dict[str, Any] = {"format": "png"}
        if whole:
            box = self.call("Page.getLayoutMetrics")["cssContentSize"]
            params |= {"captureBeyondViewport": True, "clip": {**box, "x": 0, "y": 0, "scale": 1}}
        return base64.b64decode(self.call("Page.captureScreenshot", **params)["data"])

    def close(self) -> None:
        """Close the window."""
        self.browser.listeners.pop(self.session, None)
        self.browser.call("Target.closeTarget", targetId=self.target)
        self.browser.call("Target.disposeBrowserContext", browserContextId=self.context)
