"""The server: which addresses it has, who holds the key, and its end."""

import asyncio
import contextlib
import io
import secrets
import socket
import threading
import webbrowser
from collections.abc import MutableMapping
from pathlib import Path
from typing import Any

import segno
import uvicorn

from sidelight.ground.errors import BadInput, Problem
from sidelight.web.app import guarded, make_app
from sidelight.web.guard import LOOPBACK_HOSTS, Door, Guard

TOKEN_BYTES = 18


def open_door(port: int, network: bool) -> tuple[Door, socket.socket]:
    """Listen, and return the door for it; raises BadInput when the port is taken.

    On the local network there is a new secret token each time.
    """
    host = "0.0.0.0" if network else "127.0.0.1"  # noqa: S104 - only when the person asks for it, and with a token
    sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        sock.bind((host, port))
        sock.listen(128)
    except OSError as error:
        sock.close()
        raise BadInput(
            Problem(
                f"Port {port} cannot be used: {error.strerror or error}.",
                suggestion="Perhaps a page is open already. Give another with --port, or --port 0 for a free one.",
            )
        ) from error
    own = sock.getsockname()[1]
    if not network:
        return Door(LOOPBACK_HOSTS, own), sock
    return Door(LOOPBACK_HOSTS | {network_address()}, own, secrets.token_urlsafe(TOKEN_BYTES)), sock


def network_address() -> str:
    """Return this machine's address on its local network, the loopback one when it has none."""
    probe = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        # nothing is sent: the system only chooses the way out (192.0.2.0/24 is set aside for examples, RFC 5737)
        probe.connect(("192.0.2.1", 9))
        return str(probe.getsockname()[0])
    except OSError:
        return "127.0.0.1"
    finally:
        probe.close()


class Server:
    """One notebook's page behind its door."""

    def __init__(self, folder: Path, door: Door, sock: socket.socket) -> None:
        self.door = door
        self.sock = sock
        self.app = make_app(folder)
        config = uvicorn.Config(
            Guard(self.app, door),
            log_level="warning",
            access_log=False,  # addresses hold the token
            ws="none",
            server_header=False,
            timeout_graceful_shutdown=2,
        )
        self.uvicorn = uvicorn.Server(config)

    def addresses(self) -> list[str]:
        """Return the addresses to open, the one for other devices last."""
        hosts = ["127.0.0.1", *sorted(self.door.hosts - LOOPBACK_HOSTS)]
        ending = f"/?token={self.door.token}" if self.door.token else "/"
        return [f"http://{host}:{self.door.port}{ending}" for host in hosts]

    def qr_code(self) -> str:
        """Return the address for other devices as a QR code for the terminal."""
        drawn = io.StringIO()
        segno.make(self.addresses()[-1], micro=False).terminal(drawn, compact=True)
        return drawn.getvalue()

    def open_browser(self) -> None:
        """Open the person's browser a moment after the server has started."""
        threading.Timer(0.6, webbrowser.open, [self.addresses()[0]]).start()

    def run(self) -> None:
        """Serve until the person ends it."""
        threading.Thread(target=self._work_ahead, daemon=True).start()
        try:
            self.uvicorn.run(sockets=[self.sock])
        finally:
            self.app.state.jobs.stop_all()

    def _work_ahead(self) -> None:
        """Work out what is asked first, tonight's season, bench and plan, while the browser opens."""
        shelf = self.app.state.shelf
        # nobody has asked yet: a refusal is told to whoever does
        with contextlib.suppress(Exception):
            evening = shelf.tonight()
            shelf.season(evening)
            shelf.bench(evening)
            shelf.night(evening)

    def stop(self) -> None:
        """Ask the server to end."""
        self.uvicorn.should_exit = True


def one_page(folder: Path, path: str) -> tuple[int, str]:
    """Return status and body of one page, worked out without a server."""
    asked = f"/{path.lstrip('/')}".encode("utf-8", "replace").decode()
    place, _, query = asked.partition("?")
    scope: MutableMapping[str, Any] = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": place,
        "raw_path": place.encode(),
        "root_path": "",
        "query_string": query.partition("#")[0].encode(),
        "headers": [(b"host", b"localhost"), (b"accept", b"*/*")],
        "server": ("localhost", 80),
    }
    answer: dict[str, Any] = {"status": 500, "body": b""}

    async def receive() -> MutableMapping[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            answer["status"] = message["status"]
        elif message["type"] == "http.response.body":
            answer["body"] += message.get("body", b"")

    asyncio.run(_call(folder, scope, receive, send))
    return int(answer["status"]), answer["body"].decode("utf-8", "replace")


async def _call(folder: Path, scope: Any, receive: Any, send: Any) -> None:  # noqa: ANN401 - as ASGI has them
    await guarded(folder, Door(LOOPBACK_HOSTS, 80))(scope, receive, send)
