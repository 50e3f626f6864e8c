"""A cone search server on loopback that serves real stars and misbehaves on demand."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlparse

import numpy as np

from sidelight.stars.catalogue import embedded

Row = tuple[str, float, float, float]
Behaviour = Callable[["Exchange"], None]

OLD_UCDS = ("ID_MAIN", "POS_EQ_RA_MAIN", "POS_EQ_DEC_MAIN", "PHOT_JHN_V")
NEW_UCDS = ("meta.id;meta.main", "pos.eq.ra;meta.main", "pos.eq.dec;meta.main", "phot.mag;em.opt.V")


def real_rows(ra_deg: float, dec_deg: float, radius_deg: float) -> list[Row]:
    """Return the shipped stars in a cone as rows of the server, in no order that means anything."""
    found = embedded().cone(ra_deg, dec_deg, radius_deg)
    shuffled = np.random.default_rng(5).permutation(len(found))
    return [(f"T{k}", float(found.ra_deg[k]), float(found.dec_deg[k]), float(found.mag[k])) for k in shuffled]


def votable(
    rows: list[Row],
    ucds: tuple[str, ...] = OLD_UCDS,
    top: str = "",
    head: str = "",
    tail: str = "",
    data: str | None = None,
) -> bytes:
    """Return an answer: `top` goes right under VOTABLE, `head` under RESOURCE before the table, `tail` after it."""
    kinds = ('datatype="char" arraysize="*"', *['datatype="double"'] * 3)
    columns = zip(("ident", "ra", "dec", "vmag"), ucds, kinds, strict=True)
    fields = "".join(f'<FIELD name="{name}" ucd="{ucd}" {kind}/>' for name, ucd, kind in columns)
    cells = "".join("<TR>" + "".join(f"<TD>{value}</TD>" for value in row) + "</TR>" for row in rows)
    body = data if data is not None else f"<DATA><TABLEDATA>{cells}</TABLEDATA></DATA>"
    return (
        f'<?xml version="1.0"?><VOTABLE version="1.1" xmlns="http://www.ivoa.net/xml/VOTable/v1.1">{top}'
        f'<RESOURCE type="results">{head}<TABLE>{fields}{body}</TABLE>{tail}</RESOURCE></VOTABLE>'
    ).encode()


@dataclass
class Exchange:
    """One question and the way to answer it."""

    handler: BaseHTTPRequestHandler
    ra_deg: float
    dec_deg: float
    radius_deg: float
    parameters: dict[str, str]

    def rows(self) -> list[Row]:
        """Return the honest answer."""
        return real_rows(self.ra_deg, self.dec_deg, self.radius_deg)

    def send(
        self, body: bytes, status: int = 200, kind: str = "text/xml", length: int | None = None, **headers: str
    ) -> None:
        """Send a whole answer, with a false length if one is given."""
        self.handler.send_response(status)
        self.handler.send_header("Content-Type", kind)
        self.handler.send_header("Content-Length", str(len(body) if length is None else length))
        for name, value in headers.items():
            self.handler.send_header(name.replace("_", "-"), value)
        self.handler.end_headers()
        self.handler.wfile.write(body)


def honest(exchange: Exchange) -> None:
    """Answer as asked."""
    exchange.send(votable(exchange.rows()))


def at_most(count: int, *, flagged: bool, key: Callable[[Row], float] | None = None) -> Behaviour:
    """Answer with so many rows only, by an order of rows, and say so or not."""

    def behave(exchange: Exchange) -> None:
        rows = exchange.rows()
        if key is not None:
            rows.sort(key=key)
        cut = len(rows) > count
        tail = '<INFO name="QUERY_STATUS" value="OVERFLOW"/>' if cut and flagged else ""
        exchange.send(votable(rows[:count], tail=tail))

    return behave


def raw(body: bytes, **how: object) -> Behaviour:
    """Send some bytes whatever the question."""
    return lambda exchange: exchange.send(body, **how)  # type: ignore[arg-type]


def hang(exchange: Exchange) -> None:
    """Do not answer for longer than any test's patience."""
    exchange.handler.server.quiet.wait(20.0)  # type: ignore[attr-defined]


def drip(exchange: Exchange) -> None:
    """Send a byte now and then."""
    exchange.handler.send_response(200)
    exchange.handler.send_header("Content-Type", "text/xml")
    exchange.handler.end_headers()
    for byte in votable(exchange.rows()):
        exchange.handler.wfile.write(bytes([byte]))
        exchange.handler.wfile.flush()
        if exchange.handler.server.quiet.wait(0.05):  # type: ignore[attr-defined]
            return


def slam(exchange: Exchange) -> None:
    """Close the connection without a word."""
    exchange.handler.connection.close()


def endless(exchange: Exchange) -> None:
    """Send rows for ever."""
    exchange.handler.send_response(200)
    exchange.handler.send_header("Content-Type", "text/xml")
    exchange.handler.end_headers()
    start = votable([]).split(b"</TABLEDATA>")[0]
    exchange.handler.wfile.write(start)
    while not exchange.handler.server.quiet.is_set():  # type: ignore[attr-defined]
        exchange.handler.wfile.write(b"<TR><TD>x</TD><TD>1</TD><TD>1</TD><TD>9</TD></TR>" * 2000)


def slow(seconds: float) -> Behaviour:
    """Answer honestly after a while."""

    def behave(exchange: Exchange) -> None:
        time.sleep(seconds)
        honest(exchange)

    return behave


@dataclass
class FaultyServer:
    """The running server: its behaviours are used up one a question, the last one stays."""

    url: str
    behaviours: list[Behaviour]
    questions: list[dict[str, str]] = field(default_factory=list)
    times: list[float] = field(default_factory=list)

    def next_behaviour(self) -> Behaviour:
        """Return how to behave now."""
        return self.behaviours.pop(0) if len(self.behaviours) > 1 else self.behaviours[0]


@contextmanager
def serving(*behaviours: Behaviour) -> Iterator[FaultyServer]:
    """Run a server on loopback for the time of a test."""
    lock = threading.Lock()

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.0"

        def do_GET(self) -> None:
            parameters = {name: values[-1] for name, values in parse_qs(urlparse(self.path).query).items()}
            with lock:
                state.questions.append(parameters)
                state.times.append(time.monotonic())
                behave = state.next_behaviour()
            try:
                place = (float(parameters.get(name, "nan")) for name in ("RA", "DEC", "SR"))
                behave(Exchange(self, *place, parameters))
            except (BrokenPipeError, ConnectionError, OSError):
                return

        def log_message(self, *_: object) -> None:
            return

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    server.block_on_close = False
    server.quiet = threading.Event()  # type: ignore[attr-defined]
    state = FaultyServer(f"http://127.0.0.1:{server.server_address[1]}/cone?", list(behaviours) or [honest])
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield state
    finally:
        server.quiet.set()  # type: ignore[attr-defined]
        server.shutdown()
        server.server_close()
        thread.join()
