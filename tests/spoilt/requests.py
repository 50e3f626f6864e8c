"""Requests to the page, spoilt in address, query, body, headers, method. What is refused changes nothing."""

import asyncio
import contextlib
import io
import json
import logging
import random
import time
from collections.abc import Callable, Iterator, MutableMapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest import mock
from urllib.parse import unquote, urlencode

from tests.spoilt.records import Spoiling, Try
from tests.spoilt.tiny import TARGETS, WHEN, held, put_back, tiny_notebook
from tests.spoilt.values import CONTENT_TYPES, FOREIGN, HARMLESS, METHODS, NASTY_TEXT, spoilt_json, spoilt_query
from tests.strategies.served import series, solved_image
from tests.strategies.spoiling import spoilt_bytes

from sidelight.web import worker
from sidelight.web.app import guarded, make_app
from sidelight.web.guard import LARGEST_JSON_BYTES, LOOPBACK_HOSTS, Door, Guard

JOBS = "/api/jobs"
JOB = "job"
REFUSED = {400, 401, 403, 404, 405, 409, 413, 416, 421, 422}
ANSWERS = {
    "site.latitude_deg": "47.4", "site.longitude_deg": "15", "site.time_zone": "Europe/Vienna",
    "rig.telescope.aperture_mm": "200", "rig.telescope.focal_length_mm": "1600",
    "rig.camera.width_px": "6248", "rig.camera.height_px": "4176", "rig.camera.pixel_um": "3.76",
}  # fmt: skip
DATED = {"date": WHEN}
OF_ONE = {"target": TARGETS[0], **DATED}
OF_ONE_TARGET = ("year", "field", "sensor", "light-of", "month")
EXPOSED = {**OF_ONE, "hours": "5", "brightness": "22", "snr": "10", "share": "10", "star": "9"}
DRAWN = {"look": "day", "width": "narrow"}


@dataclass(frozen=True)
class Asked:
    """A request. body : JSON as Python has it, bytes as they are, None for none."""

    method: str
    path: str
    query: dict[str, Any] = field(default_factory=dict)
    body: Any = None

    def raw(self) -> bytes:
        """Return the body as it is sent."""
        if isinstance(self.body, bytes):
            return self.body
        return b"" if self.body is None else json.dumps(self.body).encode()


@dataclass(frozen=True)
class Answered:
    """An answer; status 0 when the page hung up without a word."""

    status: int
    headers: dict[str, str]
    body: bytes


class InProcess:
    """Stands in for the process of a job: the same work, done in the thread that reads what it says."""

    def __init__(self, *_: object, **__: object) -> None:
        self.stdin = self.stdout = self
        self.task = ""

    def write(self, text: str) -> None:
        """Take the task."""
        self.task += text

    def __iter__(self) -> Iterator[str]:
        said = io.StringIO()
        worker.main(io.StringIO(self.task), said)
        return iter(said.getvalue().splitlines())

    def close(self) -> None:
        """Do nothing; there is nothing to close."""

    wait = kill = close


class Page:
    """A tiny notebook's page behind its door, with the answers to what later requests go by."""

    def __init__(self, scratch: Path) -> None:
        self.scratch = scratch
        self.folder = tiny_notebook(scratch / "garden")
        self.new = scratch / "new"
        self.apps = {True: self._behind(self.folder), False: self._behind(self.new)}
        self.frames = series(scratch / "frames", 2, TARGETS[0])
        self.image = solved_image(scratch / "solved.fits", self.folder, 1.0).read_bytes()
        self.names: dict[str, str] = {}
        self._fill()
        self.before = held(self.folder)

    def _behind(self, folder: Path) -> Guard:
        app = guarded(folder, Door(LOOPBACK_HOSTS, 80))
        assert isinstance(app, Guard)
        return app

    def _fill(self) -> None:
        """Keep a set-up, take in frames, enter hours."""
        pose = {"target": TARGETS[0], "ra_deg": 148.888, "dec_deg": 69.065, "camera_angle_deg": 40.0}
        for name in ("First", "Second"):
            body = {"name": name, "poses": [pose], "stem_offset_deg": 17.2, "in_use": name == "First"}
            self.fine(Asked("POST", "/api/setups", {}, body))
        self.fine(Asked("POST", f"{JOBS}/frames", {}, {"folders": [str(self.frames)]}))
        self.fine(Asked("POST", "/api/ledger/hours", {}, {"target": TARGETS[0], "hours_h": 2.0}))
        excluded = {"frames": ["frame1.fits"], "reason": "wind"}
        self.fine(Asked("POST", "/api/ledger/exclude", {}, excluded))

    def fine(self, asked: Asked) -> Any:
        """Return the JSON of a request that must be answered."""
        answer = self.send(asked)
        assert answer.status < 300, (asked, answer)
        return json.loads(answer.body)

    def send(
        self,
        asked: Asked,
        headers: Sequence[tuple[str, str]] = (),
        query: str | None = None,
        body: bytes | None = None,
        begun: bool = True,
    ) -> Answered:
        """Send one request, with another query or body when they are given; wait for the job that it begins."""
        raw = asked.raw() if body is None else body
        kind = "application/octet-stream" if isinstance(asked.body, bytes) else "application/json"
        named = {"host": "localhost", "content-type": kind, "content-length": str(len(raw))}
        every = [(name, value) for name, value in named.items() if name not in dict(headers)] + list(headers)
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": asked.method,
            "scheme": "http",
            "path": unquote(asked.path), "raw_path": asked.path.encode("utf-8", "surrogatepass"), "root_path": "",
            "query_string": (urlencode(asked.query) if query is None else query).encode("utf-8", "surrogatepass"),
            "headers": [(name.encode(), value.encode("utf-8")) for name, value in every],
            "client": ("127.0.0.1", 50000), "server": ("127.0.0.1", 80),
        }  # fmt: skip
        app = self.apps[begun]
        answer = asyncio.run(_sent(app, scope, raw))
        if asked.path.startswith(JOBS) and answer.status == 202:
            self._ended(app, json.loads(answer.body)["name"])
        return answer

    def _ended(self, app: Guard, name: str) -> None:
        """Wait for a job; it must be done, or refused in words."""
        job = app.app.state.jobs.find(name)  # type: ignore[attr-defined]
        for _ in range(60_000):
            if job.state != "running":
                break
            time.sleep(0.001)
        assert job.state in ("done", "refused", "stopped"), job.state
        if job.refusal:
            _shaped(job.refusal)

    def name_of(self, what: str) -> str:
        """Return the name of a finished job, an image or a check, made anew when it is forgotten."""
        made: dict[str, Callable[[], str]] = {
            "job": lambda: str(self.fine(Asked("POST", f"{JOBS}/campaign", {}, {"date": WHEN}))["name"]),
            "image": lambda: str(self.fine(Asked("POST", "/api/images", {"name": "a.fits"}, self.image))["image"]),
            "check": lambda: str(self.fine(Asked("POST", "/api/check", {}, self.to_check()))["check"]),
        }
        if what == "job" or what not in self.names:
            self.names[what] = made[what]()  # a campaign that is known is only looked up
        return self.names[what]

    def to_check(self) -> dict[str, Any]:
        """Return the question of a first image."""
        seen = {"image": self.name_of("image"), "side": "west", "guide_star": {"x_px": 300.0, "y_px": 200.0}}
        return {"images": [seen], "date": WHEN, "learn": False}


async def _sent(app: Guard, scope: MutableMapping[str, Any], raw: bytes) -> Answered:
    """Send a request as a server would."""
    pieces = [raw[at : at + 65536] for at in range(0, len(raw), 65536)] or [b""]
    found: dict[str, Any] = {"status": 0, "headers": [], "body": b""}

    async def receive() -> MutableMapping[str, Any]:
        if not pieces:
            return {"type": "http.disconnect"}
        return {"type": "http.request", "body": pieces.pop(0), "more_body": bool(pieces)}

    async def send(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            found.update(status=message["status"], headers=message["headers"])
        else:
            found["body"] += message.get("body", b"")

    await app(scope, receive, send)
    return Answered(found["status"], {k.decode(): v.decode("latin-1") for k, v in found["headers"]}, found["body"])


def sound(page: Page) -> dict[str, Callable[[], Asked]]:
    """Return a request that is answered for every operation that the page describes, and for its pages."""
    get, post = partial(Asked, "GET"), partial(Asked, "POST")
    pose = {"target": TARGETS[0], "ra_deg": 148.888, "dec_deg": 69.065, "camera_angle_deg": 41.0}
    row = {"file": "targets.toml", "table": "target"}
    plain: list[Asked] = [
        *[get(f"/pictures/{name}.svg", {**DATED, **DRAWN}) for name in ("season", "skyline", "light")],
        *[get(f"/pictures/{name}.svg", {**DATED, **DRAWN, "setup": "First"}) for name in ("dial", "bench", "night")],
        *[get(f"/pictures/{name}.svg", {**OF_ONE, **DRAWN}) for name in OF_ONE_TARGET],
        *[get(f"/pictures/{name}.svg", {**EXPOSED, **DRAWN}) for name in ("exposure", "snr")],
        get("/pictures/collected.svg", DRAWN),
        get("/api/season", {**DATED, "nights": 3, "only": TARGETS[0]}),
        *[get(f"/api/{name}", {**DATED, "setup": "First"}) for name in ("setup", "bench", "night")],
        get("/api/solve", {**DATED, "nights": 2, "camera_angle_deg": 40, "leave_out": TARGETS[1]}),
        get("/api/objects", {"text": "M 5", "most": 3}),
        post("/api/targets", {}, {"name": "M 51"}),
        Asked("DELETE", "/api/targets", {"name": TARGETS[1]}),
        get("/api/notebook/state"),
        get("/api/dial", {**DATED, "nights": 2}),
        post(f"{JOBS}/dial", {}, {**DATED, "nights": 2, "camera_angle_deg": 12.0, "leave_out": [TARGETS[1]]}),
        post(f"{JOBS}/stars", {}, {"limit_mag": 13.0}),
        post(f"{JOBS}/frames", {}, {"folders": [str(page.frames)], "afresh": True}),
        post(f"{JOBS}/campaign", {}, {**DATED, "nights": 3, "goals": [{"target": TARGETS[0], "hours_h": 4.0}]}),
        post("/api/setups", {}, {"name": "Third", "poses": [pose], "in_use": True, "note": "x"}),
        Asked("DELETE", "/api/setups", {"name": "Second"}),
        Asked("PUT", "/api/setups/in-use", {"name": "Second"}),
        get("/api/notebook"),
        Asked("PATCH", "/api/notebook/values", {}, {"file": "site.toml", "values": {"elevation_m": "700"}}),
        post("/api/notebook/rows", {}, {**row, "values": {"name": "M 51"}}),
        Asked("DELETE", "/api/notebook/rows", {**row, "number": 1}),
        Asked("DELETE", "/api/notebook/tables", {"file": "rig.toml", "table": "guider"}),
        get("/api/notebook/skyline", DATED),
        Asked("PUT", "/api/notebook/skyline", {}, {"points_deg": [[0.0, 10.0], [120.0, 20.5]]}),
        post("/api/begin/check", {}, {"part": "site", "answers": ANSWERS, "targets": ["M 51"]}),
        post("/api/begin", {}, {"answers": ANSWERS, "targets": ["M 51"]}),
        get("/api/ledger"),
        get("/api/ledger/frames", {"target": TARGETS[0], "night": WHEN, "not_counted": "false"}),
        post("/api/ledger/exclude", {}, {"frames": ["frame0.fits"], "reason": "clouds"}),
        post("/api/ledger/restore", {}, {"frames": ["frame1.fits"]}),
        post("/api/ledger/assign", {}, {"frames": ["frame0.fits"], "target": TARGETS[1]}),
        post("/api/ledger/hours", {}, {"target": TARGETS[0], "hours_h": 1.5, "filter": "L", "night": WHEN}),
        Asked("DELETE", "/api/ledger/hours", {"number": 1}),
        post("/api/images", {"name": "a.fits"}, page.image[:5760]),
        get("/api/light", {**DATED, "nights": 2}),
        get("/api/exposure", EXPOSED),
        Asked("PUT", "/api/goals", {}, {"goals": [{"target": TARGETS[0], "hours_h": 4.0}]}),
    ]  # fmt: skip
    made = {f"{one.method} {one.path}": partial(_same, one) for one in plain}
    by_job: dict[str, tuple[str, str, dict[str, Any]]] = {
        f"GET {JOBS}/{{name}}": ("GET", f"{JOBS}/{{job}}", {}),
        f"GET {JOBS}/{{name}}/answer": ("GET", f"{JOBS}/{{job}}/answer", {}),
        f"DELETE {JOBS}/{{name}}": ("DELETE", f"{JOBS}/{{job}}", {}),
        "GET /api/campaign": ("GET", "/api/campaign", {JOB: ""}),
        "GET /pictures/campaign.svg": ("GET", "/pictures/campaign.svg", {JOB: "", **DRAWN}),
        "GET /pictures/odds.svg": ("GET", "/pictures/odds.svg", {JOB: "", **DRAWN}),
        "GET /files/campaign.{kind}": ("GET", "/files/campaign.csv", {JOB: ""}),
    }
    for label, (method, path, query) in by_job.items():
        made[label] = partial(_of_job, page, method, path, query)
    made["POST /api/check"] = lambda: post("/api/check", {}, page.to_check())
    made["GET /pictures/now-dial.svg"] = lambda: get(
        "/pictures/now-dial.svg", {"check": page.name_of("check"), **DRAWN}
    )
    made["GET /pictures/now-field.svg"] = lambda: get(
        "/pictures/now-field.svg", {"check": page.name_of("check"), "target": TARGETS[0], **DRAWN}
    )
    return made


def _same(one: Asked) -> Asked:
    return one


def _of_job(page: Page, method: str, path: str, query: dict[str, Any]) -> Asked:
    """Return a request that goes by a finished job."""
    job = page.name_of("job")
    return Asked(method, path.replace("{job}", job), {**query, **({JOB: job} if JOB in query else {})})


PAGES = ("/", "/season", "/setup", "/bench", "/night", "/light", "/campaign", "/ledger", "/notebook", "/begin")


def described() -> set[str]:
    """Return every operation that the page describes."""
    paths = make_app(Path("nowhere")).openapi()["paths"]
    return {f"{method.upper()} {path}" for path, methods in paths.items() for method in methods}


def _shaped(refusal: Any) -> None:
    """Check that a refusal has its one shape and says something."""
    assert set(refusal) == {"kind", "problems"}, refusal
    assert refusal["kind"] in ("bad_input", "sky_says_no"), refusal
    assert refusal["problems"], refusal
    assert all(one["message"].strip() and one["text"].strip() for one in refusal["problems"]), refusal


def judged(page: Page, asked: Asked, answer: Answered, sent_bytes: int) -> bool:
    """Tell whether a request was answered; check that a refused one was refused in words and changed nothing."""
    if 200 <= answer.status < 400:
        now = held(page.folder)
        if now != page.before or page.new.exists():
            assert asked.method not in ("GET", "HEAD", "OPTIONS"), "reading has changed a file"
            put_back(page.folder, page.before)
            put_back(page.new, {})
        return True
    if answer.status == 0:
        assert sent_bytes > LARGEST_JSON_BYTES, "hung up without a word"
    else:
        assert answer.status in REFUSED, (answer.status, answer.body[:500])
        if answer.headers.get("content-type", "").startswith("application/json"):
            _shaped(json.loads(answer.body))
        else:
            assert answer.body.strip() or asked.method == "HEAD"
            assert b"Traceback" not in answer.body
    assert held(page.folder) == page.before, "a refused request has changed a file"
    assert not page.new.exists()
    return False


class Loud(logging.Handler):
    """Notes what the program writes into its log."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Note one record."""
        self.said.append(record.getMessage())


@contextlib.contextmanager
def at_the_page(spoil: Callable[[Page, Asked, random.Random], tuple[Asked, dict[str, Any]]], labels: Sequence[str],
                scratch: Path) -> Iterator[Try]:  # fmt: skip
    """Make a page ready; each try takes the next of some operations, and spoils it."""
    loud = Loud()
    with (
        mock.patch("sidelight.web.jobs.subprocess", SimpleNamespace(Popen=InProcess, PIPE=-1)),
        mock.patch("sidelight.stars.asking.FIRST_PAUSE_S", 0.0),
    ):
        page = Page(scratch)
        every = sound(page) | {f"PAGE {path}": partial(_same, Asked("GET", path, DATED)) for path in PAGES}
        logging.getLogger().addHandler(loud)

        def attempt(seed: int) -> bool:
            label = labels[seed % len(labels)]
            asked, more = spoil(page, every[label](), random.Random(seed))
            if label.startswith("PAGE") and "headers" not in more:
                more = {**more, "headers": [("accept", "text/html")]}
            begun = not label.endswith("/api/begin")
            loud.said.clear()
            try:
                answer = page.send(asked, begun=begun, **more)
                used = judged(page, asked, answer, len(more.get("body", asked.raw())))
                assert not loud.said, loud.said
            except Exception as error:
                put_back(page.folder, page.before)
                put_back(page.new, {})
                said = f"{label} seed {seed}: {asked} {str(more)[:600]}: {type(error).__name__} {error}"
                raise AssertionError(said) from error
            return used

        attempt.page = page  # type: ignore[attr-defined]
        try:
            yield attempt
        finally:
            logging.getLogger().removeHandler(loud)
            for app in page.apps.values():
                app.app.state.jobs.stop_all()  # type: ignore[attr-defined]


def _query(_page: Page, asked: Asked, chance: random.Random) -> tuple[Asked, dict[str, Any]]:
    return asked, {"query": spoilt_query(asked.query, chance)}


def _body(_page: Page, asked: Asked, chance: random.Random) -> tuple[Asked, dict[str, Any]]:
    if isinstance(asked.body, bytes):
        return asked, {"body": spoilt_bytes(asked.body, chance.randrange(10**9)) if chance.random() < 0.9 else b""}
    return asked, {"body": spoilt_json(asked.body, chance)}


def _headers(_page: Page, asked: Asked, chance: random.Random) -> tuple[Asked, dict[str, Any]]:
    headers = [chance.choice(FOREIGN)] if chance.random() < 0.5 else []
    headers += chance.sample(HARMLESS, chance.randint(0, 2))
    if asked.body is not None and chance.random() < 0.3:
        headers.append(("content-type", chance.choice(CONTENT_TYPES)))
    more: dict[str, Any] = {"headers": headers}
    if chance.random() < 0.02:
        more["body"] = b'{"a": "' + b"x" * (LARGEST_JSON_BYTES + 10) + b'"}'
    return asked, more


CLIMBING = ("", ".", "..", "%2e%2e", "%2f", "\\", "...", "//", "%5c..", "js", "css")


def _address(_page: Page, asked: Asked, chance: random.Random) -> tuple[Asked, dict[str, Any]]:
    method = chance.choice(METHODS) if chance.random() < 0.5 else asked.method
    parts = asked.path.split("/")
    at = chance.randrange(1, len(parts))
    kind = chance.randrange(6)
    if kind == 0:
        parts[at] = chance.choice(NASTY_TEXT)
    elif kind == 1:
        parts.insert(at, chance.choice(CLIMBING))
    elif kind == 2:
        parts[at] = parts[at].upper()
    elif kind == 3:
        parts = ["", "static", chance.choice(CLIMBING), chance.choice(("app.py", "ask.js", "..", "\0", "CON"))]
    elif kind == 4:
        parts.append(chance.choice(("", "..", "answer", "\0", "x" * 3000)))
    return Asked(method, "/".join(parts), asked.query, asked.body), {}


def _labels(wanted: Callable[[str], bool]) -> list[str]:
    return sorted(label for label in described() if wanted(label))


def _spoiling(what: str, how: str, few: int, spoil: Any, labels: Sequence[str], share: float = 1.0) -> Spoiling:
    return Spoiling("requests", what, how, few, partial(at_the_page, spoil, labels), share)


def request_spoilings() -> tuple[Spoiling, ...]:
    """Return every way in which requests are spoilt."""
    api = _labels(lambda label: " /api/" in label and label.startswith("GET"))
    drawn = _labels(lambda label: " /pictures/" in label or " /files/" in label)
    jobs = _labels(lambda label: label.startswith("POST") and JOBS in label)
    changing = _labels(lambda label: label.split()[0] in ("POST", "PUT", "PATCH"))
    bodies = [label for label in changing if label not in jobs]
    deleting = _labels(lambda label: label.startswith("DELETE"))
    pages = [f"PAGE {path}" for path in PAGES]
    query = "values of the query lost, repeated, renamed, of the wrong kind"
    body = "wrong kinds, NaN and Infinity, nulls, unknown keys, 100,000 levels deep, foreign encodings, cut bytes"
    return (
        _spoiling("JSON reports", query, 80, _query, api, 0.5),
        _spoiling("pictures and files", query, 80, _query, drawn, 0.5),
        _spoiling("pages", query, 40, _query, pages, 0.5),
        _spoiling("changes by body", body, 160, _body, bodies),
        _spoiling("changes by query", query, 40, _query, deleting),
        _spoiling("jobs: set-up, stars, frames, campaign", body, 40, _body, jobs, 0.5),
        _spoiling("headers", "foreign hosts and origins, wrong lengths and kinds, bodies too large, cookies",
                  100, _headers, [*api, *bodies, *deleting, *pages]),
        _spoiling("addresses and methods", "paths that climb, end or begin otherwise; every method, and none",
                  100, _address, [*api, *drawn, *bodies, *deleting, *pages]),
    )  # fmt: skip
