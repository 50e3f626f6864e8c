"""A browser for all tests, servers for notebooks, and tabs that must not have complained or asked elsewhere."""

import shutil
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests.browser.chrome import Chromium, Tab

DESK, PHONE = (1280, 900), (390, 844)


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve a notebook's folder on a free port of this machine."""
    from sidelight.web.server import Server, open_door

    door, sock = open_door(0, network=False)
    server = Server(folder, door, sock)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.uvicorn.started:
        time.sleep(0.01)
    try:
        yield server.addresses()[0].rstrip("/")
    finally:
        server.stop()
        thread.join(10)


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chromium]:
    """Return one browser for all tests."""
    profile = tmp_path_factory.mktemp("profile")
    chromium = Chromium(profile)
    yield chromium
    chromium.close()
    shutil.rmtree(profile, ignore_errors=True)


@pytest.fixture(scope="module")
def demo_base(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve a copy of the demo's notebook to the tests of one file."""
    folder = tmp_path_factory.mktemp("served") / "garden"
    shutil.copytree(demo_folder, folder)
    with served(folder) as base:
        yield base


OpenTab = Callable[..., Tab]


@pytest.fixture
def open_tab(browser: Chromium) -> Iterator[OpenTab]:
    """Return what opens a tab; at the end none may have complained or asked another host for anything."""
    tabs: list[Tab] = []

    def opened(base: str, size: tuple[int, int] = DESK) -> Tab:
        tabs.append(Tab(browser, base, *size))
        return tabs[-1]

    yield opened
    told = [(list(tab.errors), [one for one in tab.asked if not own(one, tab.base)]) for tab in tabs]
    for tab in tabs:
        tab.close()
    for errors, elsewhere in told:
        assert not errors
        assert not elsewhere


def own(address: str, base: str) -> bool:
    """Tell whether an address is the server's own or no address at all."""
    return address.startswith((base, "data:", f"blob:{base}", "about:"))
