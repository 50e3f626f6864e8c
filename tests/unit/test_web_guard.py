"""The door of the local page: who is let in and who is turned away."""

import asyncio
from collections.abc import MutableMapping
from typing import Any

import pytest

from sidelight.web.guard import HEADERS, LOOPBACK_HOSTS, Door, Guard, host_and_port

HOME = Door(LOOPBACK_HOSTS, 8765)
NETWORK = Door(frozenset({"192.168.1.20"}), 8765, token="secret")


async def app(scope: MutableMapping[str, Any], receive: Any, send: Any) -> None:
    """Read the whole body and answer its length."""
    length, more = 0, True
    while more:
        message = await receive()
        if message["type"] == "http.disconnect":
            return
        length += len(message.get("body", b""))
        more = message.get("more_body", False)
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": str(length).encode()})


def ask(
    door: Door, headers: dict[str, str], method: str = "GET", query: str = "", body: bytes = b"", path: str = "/"
) -> list[dict]:
    """Send one request through the guard and return what came back."""
    sent: list[dict] = []
    parts = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> dict:
        return parts.pop(0)

    async def send(message: dict) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "method": method,
        "path": path,
        "query_string": query.encode(),
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()],
    }
    asyncio.run(Guard(app, door)(scope, receive, send))
    return sent


def status(door: Door, headers: dict[str, str], method: str = "GET", query: str = "") -> int:
    """Return the status of one request."""
    return ask(door, headers, method, query)[0]["status"]


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:8765", "[::1]:8765", "LOCALHOST:8765"])
def test_this_machine_is_let_in(host: str) -> None:
    """Loopback names with the right port get the page and its headers."""
    first = ask(HOME, {"host": host})[0]
    assert first["status"] == 200
    assert set(HEADERS) <= set(first["headers"])


@pytest.mark.parametrize(
    "host",
    ["", "evil.example", "evil.example:8765", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8765@evil", "[::1", "a b:x"],
)
def test_another_name_is_turned_away(host: str) -> None:
    """A Host that is not this server's is refused, whatever tricks it holds (DNS rebinding)."""
    assert status(HOME, {"host": host}) == 421


@pytest.mark.parametrize(
    ("headers", "expected"),
    [
        ({}, 200),
        ({"sec-fetch-site": "same-origin", "origin": "http://127.0.0.1:8765"}, 200),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "http://127.0.0.1:9999"}, 403),
        ({"origin": "https://127.0.0.1:8765"}, 403),
        ({"origin": "null"}, 403),
    ],
)
def test_only_this_page_changes_anything(headers: dict[str, str], expected: int) -> None:
    """A POST from another site or port is refused; reading is not a change."""
    assert status(HOME, {"host": "localhost:8765", **headers}, method="POST") == expected
    assert status(HOME, {"host": "localhost:8765", **headers}) == 200


def test_the_network_needs_the_token() -> None:
    """Without the token 401; with it in the address a cookie is set, and the cookie alone suffices then."""
    host = {"host": "192.168.1.20:8765"}
    assert status(NETWORK, host) == 401
    assert status(NETWORK, host, query="token=wrong") == 401
    first = ask(NETWORK, host, query="token=secret")[0]
    assert first["status"] == 200
    cookie = dict(first["headers"])[b"set-cookie"].decode()
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert status(NETWORK, {**host, "cookie": cookie.split(";")[0]}) == 200


def test_bodies_are_bounded() -> None:
    """A long body is refused by its stated length, and cut off when the length lies."""
    host = {"host": "localhost:8765"}
    assert status(HOME, {**host, "content-length": str(10**9)}, method="POST") == 413
    assert status(HOME, {**host, "content-length": "-1"}, method="POST") == 413
    large = {**host, "content-type": "application/json", "content-length": "5"}
    assert ask(HOME, large, method="POST", body=b"x" * (2 * 1024 * 1024)) == []


def test_an_address_with_a_nul_is_nothing() -> None:
    """It is turned away before any file system is asked for it."""
    sent = ask(HOME, {"host": "localhost:8765"}, path="/static/\0")
    assert sent[0]["status"] == 404


def test_hosts_with_ports_and_brackets() -> None:
    """Names, addresses and bracketed addresses are split; nonsense is None."""
    assert host_and_port("[::1]:80") == ("::1", 80)
    assert host_and_port("name.") == ("name", None)
    assert host_and_port("name:port") is None
