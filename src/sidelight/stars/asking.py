"""One polite client of a cone search service: paced, patient, bounded in time and size; through pyvo."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import sidelight
from sidelight.stars.answer import Answer, Broken, Refused, read_answer
from sidelight.stars.service import Cone, ConeService

CONNECT_S = 10.0
WHOLE_ANSWER_S = 300.0
LARGEST_ANSWER_MB = 150.0
ATTEMPTS = 4
FIRST_PAUSE_S = 2.0
LONGEST_PAUSE_S = 120.0
AGAIN = (408, 425, 429, 500, 502, 503, 504)


class Unreachable(Exception):
    """The service could not be reached, or not in time, as often as it was tried."""


class TooMuch(Exception):
    """The answer is larger than can be taken in at once."""


@dataclass
class Asker:
    """Asks one service; keeps the time of the last question so that questions are paced.

    sleep, now : the clock, which tests replace.
    """

    service: ConeService
    limit_mag: float
    attempts: int = ATTEMPTS
    whole_answer_s: float = WHOLE_ANSWER_S
    largest_answer_mb: float = LARGEST_ANSWER_MB
    sleep: Callable[[float], None] = time.sleep
    now: Callable[[], float] = time.monotonic
    questions: int = 0
    use_extra: bool = True
    _last: float | None = None
    _session: Any = field(default=None, repr=False)

    def ask(self, cone: Cone) -> Answer:
        """Return the answer for one cone.

        Raises Refused, TooMuch (ask for less), Unreachable (after all attempts), Broken (the same).
        """
        try:
            return self._patiently(cone)
        except Refused:
            if not (self.use_extra and self.service.extra):
                raise
        # what lies beyond the standard is the first thing to leave out
        self.use_extra = False
        try:
            return self._patiently(cone)
        except Refused:
            self.use_extra = True
            raise

    def _patiently(self, cone: Cone) -> Answer:
        """Ask until there is an answer, with longer and longer pauses."""
        pause = FIRST_PAUSE_S
        for attempt in range(1, self.attempts + 1):
            try:
                return self._once(cone)
            except _Again as again:
                if attempt == self.attempts:
                    raise (Broken if again.answered else Unreachable)(str(again)) from again
                self.sleep(min(max(pause, again.wait_s), LONGEST_PAUSE_S))
                pause *= 2.0
        raise ValueError("At least one attempt is needed.")

    def _once(self, cone: Cone) -> Answer:
        """Ask once; raises _Again for what may pass."""
        if self._last is not None:
            self.sleep(max(0.0, self.service.pause_s - (self.now() - self._last)))
        try:
            status, content_type, wait_s, content = self._fetch(cone)
        finally:
            self._last = self.now()
        if status in AGAIN:
            raise _Again(f"it answered with HTTP status {status}", wait_s=wait_s)
        try:
            answer = read_answer(content, content_type, cone, self.service, self.limit_mag)
        except Broken as broken:
            if status >= 400:
                raise Refused(f"HTTP status {status}; {broken}") from broken
            raise _Again(str(broken), answered=True) from broken
        if status >= 400:
            raise Refused(f"HTTP status {status}")
        return answer

    def _fetch(self, cone: Cone) -> tuple[int, str, float, bytes]:
        """Return status, content type, wished pause and body of one HTTP exchange."""
        import requests
        import urllib3
        from astropy.coordinates import SkyCoord
        from pyvo.dal.scs import SCSQuery

        place = SkyCoord(cone.ra_deg, cone.dec_deg, unit="deg", frame="icrs")
        query = SCSQuery(
            self.service.url.rstrip("&"), pos=place, radius=cone.radius_deg, session=self._open_session()
        )
        query.update(self._extra())
        self.questions += 1
        started = self.now()
        try:
            with query.submit() as response:
                content = self._body(response, started)
                pause = response.headers.get("Retry-After", "")
                return (
                    response.status_code,
                    response.headers.get("Content-Type", ""),
                    float(pause) if pause.isdigit() else 0.0,
                    content,
                )
        except (requests.exceptions.InvalidURL, requests.exceptions.MissingSchema, requests.exceptions.InvalidSchema):
            raise Refused(f'"{self.service.url}" is no address that can be asked') from None
        except requests.exceptions.TooManyRedirects as error:
            raise Refused("it sends the question round in circles") from error
        except (requests.exceptions.RequestException, urllib3.exceptions.HTTPError) as error:
            raise _Again(_plainly(error)) from error

    def _body(self, response: Any, started: float) -> bytes:  # noqa: ANN401 - a requests Response
        """Return the body, bounded in size and in time, drop by drop if the service sends it so."""
        most = int(self.largest_answer_mb * 1e6)
        parts, size = [], 0
        while part := response.raw.read1(1 << 16, decode_content=True):
            size += len(part)
            if size > most:
                raise TooMuch(f"the answer is larger than {self.largest_answer_mb:.0f} MB")
            if self.now() - started > self.whole_answer_s:
                raise _Again(f"the answer was not whole after {self.whole_answer_s:.0f} s")
            parts.append(part)
        return b"".join(parts)

    def _extra(self) -> dict[str, str]:
        """Return the parameters beyond the standard, the faint limit put in."""
        if not self.use_extra:
            return {}
        return {name: value.format(limit_mag=f"{self.limit_mag:.2f}") for name, value in self.service.extra}

    def _open_session(self) -> Any:  # noqa: ANN401 - a requests Session
        """Return pyvo's HTTP session with our name and time limits, made once."""
        if self._session is None:
            from pyvo.utils.http import create_session

            session = create_session()
            session.headers["User-Agent"] = f"Sidelight/{sidelight.__version__} {session.headers['User-Agent']}"
            plain_request = session.request
            patience_s = (min(CONNECT_S, self.service.timeout_s), self.service.timeout_s)
            session.request = lambda *args, **named: plain_request(*args, **{"timeout": patience_s, **named})
            self._session = session
        return self._session


class _Again(Exception):
    """Something that may pass; `answered` when a body came that made no sense."""

    def __init__(self, message: str, *, wait_s: float = 0.0, answered: bool = False) -> None:
        super().__init__(message)
        self.wait_s = wait_s
        self.answered = answered


def _plainly(error: Exception) -> str:
    """Return what went wrong with a connection, in words."""
    text = f"{type(error).__name__} {error}"
    if "Timeout" in text or "timed out" in text:
        return "it did not answer in time"
    if "NameResolution" in text or "getaddrinfo" in text or "Name or service not known" in text:
        return "its name cannot be found; this machine seems to have no network"
    if "refused" in text:
        return "the connection was refused"
    if "IncompleteRead" in text or "aborted" in text or "DecodeError" in text or "ProtocolError" in text:
        return "the answer broke off"
    return f"the connection failed ({type(error).__name__})"
