"""Who may come in: hosts, origins, tokens, body sizes, and the headers that keep a page to itself.

A server on a person's own machine is reachable by every page that their browser has open. So a request must name
this server as its Host (a page elsewhere that points its own name here is turned away), a request that changes
anything must come from this very page (Fetch Metadata, W3C; and Origin, RFC 6454), and on the local network every
request must carry the token that the terminal showed.
"""

import hmac
import json
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs, urlsplit

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LARGEST_BODY_BYTES = 80 * 1024 * 1024
"""A solved image of a large camera, uncompressed, is some 50 MB; nothing else comes near."""
LARGEST_JSON_BYTES = 1024 * 1024
COOKIE = "sidelight_token"
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
HEADERS = (
    (
        b"content-security-policy",
        (
            b"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
            b"connect-src 'self'; font-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
        ),
    ),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)


@dataclass(frozen=True)
class Door:
    """What the server lets in.

    hosts : names and addresses that a Host header may give, lower case, without port. port : the server's own.
    token : None on loopback; else every request carries it, in the address once and in a cookie from then on.
    """

    hosts: frozenset[str]
    port: int
    token: str | None = None


LOOPBACK_HOSTS = frozenset({"127.0.0.1", "localhost", "::1"})


def host_and_port(value: str) -> tuple[str, int | None] | None:
    """Split a Host header into name and port; IPv6 addresses stand in brackets. None when it is neither."""
    try:
        parts = urlsplit(f"//{value}")
        host, port = parts.hostname, parts.port
    except ValueError:
        return None
    plain = host is not None and not (parts.path or parts.query or parts.fragment or parts.username)
    return (host.lower().rstrip("."), port) if plain and host else None


class Guard:
    """ASGI middleware that turns away what has no business here, before any of the program sees it."""

    def __init__(self, app: App, door: Door) -> None:
        self.app = app
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check a request, then pass it on with a bounded body and the page's headers."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = {name.lower(): value.decode("latin-1") for name, value in scope["headers"]}
        refusal = self.refusal(scope, headers)
        if refusal:
            await _refuse(send, *refusal, as_json=scope["path"].startswith("/api/"))
            return
        limit = LARGEST_JSON_BYTES if headers.get(b"content-type", "").startswith("application/json") else None
        bounded = _Bounded(receive, limit or LARGEST_BODY_BYTES)
        await self.app(scope, bounded, _with_headers(send, self._cookie(scope)))

    def refusal(self, scope: Scope, headers: dict[bytes, str]) -> tuple[int, str] | None:
        """Return status and reason when a request must be turned away, else None."""
        named = host_and_port(headers.get(b"host", ""))
        if named is None or named[0] not in self.door.hosts or (named[1] or 80) != self.door.port:
            return 421, "This server does not go by that name. Use the address that the terminal shows."
        if scope["method"] not in SAFE_METHODS and not self._same_page(headers):
            return 403, "Only this server's own pages may change anything."
        if not self._token_given(scope, headers):
            return 401, "Open the whole address that the terminal shows; it ends in a token."
        if "\0" in scope["path"]:  # no file can have such a name, and some systems fail at the question
            return 404, "There is no such page."
        length = headers.get(b"content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length) > LARGEST_BODY_BYTES:
            return 413, "The file is larger than this server takes."
        return None

    def _same_page(self, headers: dict[bytes, str]) -> bool:
        """Tell whether a changing request comes from a page of this server, or from no page at all."""
        site = headers.get(b"sec-fetch-site")
        if site is not None and site not in ("same-origin", "none"):
            return False
        origin = headers.get(b"origin")
        if origin is None:
            return True
        parts = origin.split("://", 1)
        named = host_and_port(parts[1]) if len(parts) == 2 and parts[0] == "http" else None
        return named is not None and named[0] in self.door.hosts and (named[1] or 80) == self.door.port

    def _token_given(self, scope: Scope, headers: dict[bytes, str]) -> bool:
        """Tell whether the request carries the token, if one is asked for."""
        if self.door.token is None:
            return True
        return any(hmac.compare_digest(one.encode(), self.door.token.encode()) for one in _tokens(scope, headers))

    def _cookie(self, scope: Scope) -> bytes | None:
        """Return the cookie that remembers a token given in the address."""
        if self.door.token is None or b"token=" not in scope.get("query_string", b""):
            return None
        return f"{COOKIE}={self.door.token}; HttpOnly; SameSite=Strict; Path=/".encode()


def _tokens(scope: Scope, headers: dict[bytes, str]) -> list[str]:
    """Return the tokens that a request shows, in its address and its cookie."""
    shown = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("token", [])
    try:
        cookie = SimpleCookie(headers.get(b"cookie", "")).get(COOKIE)
    except CookieError:
        cookie = None
    return [*shown, *([cookie.value] if cookie else [])]


class _Bounded:
    """Passes a body on until it has become too long; then the connection counts as gone."""

    def __init__(self, receive: Receive, limit: int) -> None:
        self.receive = receive
        self.left = limit

    async def __call__(self) -> MutableMapping[str, Any]:
        message = await self.receive()
        if message["type"] == "http.request":
            self.left -= len(message.get("body", b""))
            if self.left < 0:
                return {"type": "http.disconnect"}
        return message


def _with_headers(send: Send, cookie: bytes | None) -> Send:
    """Return a send that adds the page's headers to each answer; what the answer sets itself is kept."""

    async def sending(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            own = {name.lower() for name, _ in message["headers"]}
            extra = [(name, value) for name, value in HEADERS if name not in own]
            if cookie:
                extra.append((b"set-cookie", cookie))
            message = {**message, "headers": [*message["headers"], *extra]}
        await send(message)

    return sending


async def _refuse(send: Send, status: int, reason: str, *, as_json: bool) -> None:
    """Answer with a plain sentence, programs in the one shape of refusals."""
    kind, body = b"text/plain; charset=utf-8", f"{reason}\n".encode()
    if as_json:
        empty = dict.fromkeys(("file", "key", "line", "expected", "suggestion"))
        problem = {"message": reason, **empty, "text": reason}
        kind, body = b"application/json", json.dumps({"kind": "bad_input", "problems": [problem]}).encode()
    headers = [
        (b"content-type", kind),
        (b"content-length", str(len(body)).encode()),
        *HEADERS,
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
