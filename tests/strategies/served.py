"""A notebook's page without a server: a client at this machine, and images for its tray."""

import asyncio
import datetime as dt
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI
from tests.strategies.frames import write_light, write_solved

from sidelight.desk.demo import DATE
from sidelight.desk.kept import setup_in_use
from sidelight.notebook.read import Notebook, read_notebook
from sidelight.rig.bench import pole_of_date_turn_deg
from sidelight.web.app import make_app

HERE, ELSEWHERE = "127.0.0.1", "192.0.2.7"
WEST_UTC = dt.datetime(2027, 3, 7, 0, 30, tzinfo=dt.UTC)
"""M 81 stands west of the demo's meridian then: it transits about 23:00 in Vienna."""


class Client:
    """Asks a page directly, as somebody who sits at an address; each request is a run of its own."""

    def __init__(self, app: FastAPI, host: str) -> None:
        self.app, self.host = app, host

    def ask(self, method: str, path: str, **more: Any) -> httpx.Response:
        """Send one request and return its answer, also when the program failed."""
        return asyncio.run(self._ask(method, path, more))

    async def _ask(self, method: str, path: str, more: dict[str, Any]) -> httpx.Response:
        transport = httpx.ASGITransport(self.app, raise_app_exceptions=False, client=(self.host, 50000))
        async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
            return await client.request(method, path, **more)

    def get(self, path: str, **more: Any) -> httpx.Response:
        """Read something."""
        return self.ask("GET", path, **more)

    def post(self, path: str, **more: Any) -> httpx.Response:
        """Change something."""
        return self.ask("POST", path, **more)

    def delete(self, path: str, **more: Any) -> httpx.Response:
        """Take something away."""
        return self.ask("DELETE", path, **more)


def client_at(folder: Path, host: str = HERE) -> Client:
    """Return a client of a folder's page that sits at an address."""
    return Client(make_app(folder), host)


def series(folder: Path, count: int = 6, name: str = "M 81") -> Path:
    """Write light frames of the demo's night and return their folder."""
    for number in range(count):
        start = dt.datetime(2027, 3, 6, 20, 0, tzinfo=dt.UTC) + dt.timedelta(minutes=6 * number)
        place = (148.888, 69.065)
        write_light(folder / f"frame{number}.fits", start, object_name=name, place_deg=place, seed=number)
    return folder


def solved_image(path: Path, folder: Path, off_deg: float) -> Path:
    """Write an image of M 81 in the west whose camera stands so far past the plan, by a solver's solution."""
    book: Notebook = read_notebook(folder)
    setup = setup_in_use(book, DATE)
    place = next(one for one in setup.targets if one.target == "M 81")
    assert setup.camera_angle_deg is not None
    # the plan is an angle to the pole of date, a solution one to the ICRS pole
    turn_deg = float(pole_of_date_turn_deg(place.pointing_ra_deg, place.pointing_dec_deg, 27.18))
    return write_solved(
        path,
        WEST_UTC,
        (place.pointing_ra_deg, place.pointing_dec_deg),
        setup.camera_angle_deg + off_deg - turn_deg,
        sensor_px=(book.rig.camera.width_px, book.rig.camera.height_px),
        pixel_um=book.rig.camera.pixel_um,
        focal_mm=book.rig.telescope.effective_focal_length_mm,
    )
