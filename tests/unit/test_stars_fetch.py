"""The fetch against a server of our own that misbehaves in every way the standard allows, and some it does not."""

import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from tests.vo_server import faulty
from tests.vo_server.faulty import NEW_UCDS, Exchange, FaultyServer, at_most, honest, raw, serving, votable

from sidelight.ground.angles import separation_deg
from sidelight.ground.errors import BadInput
from sidelight.stars import cache
from sidelight.stars.asking import Asker
from sidelight.stars.catalogue import embedded
from sidelight.stars.fetching import FetchReport, Progress, fetch_stars
from sidelight.stars.service import ColumnMap, ConeService, NoAnswer, SkyField

FIELD = SkyField("M 31", 10.6847, 41.269, 0.3, 0.5)
WIDE = SkyField("M 31", 10.6847, 41.269, 0.0, 1.0)


def service(server: FaultyServer, **how: object) -> ConeService:
    """Return a record of the test's server."""
    return ConeService("Test stars", server.url, **{"pause_s": 0.0, "timeout_s": 1.0, **how})  # type: ignore[arg-type]


def asker(server: FaultyServer, pauses: list[float] | None = None, **how: object) -> Asker:
    """Return an asker that does not sleep but notes how long it would have."""
    wishes = {name: how.pop(name) for name in ("extra", "columns", "largest_radius_deg", "most_rows") if name in how}
    kept: list[float] = pauses if pauses is not None else []
    return Asker(service(server, **wishes), 12.0, **{"sleep": kept.append, **how})  # type: ignore[arg-type]


def fetch(folder: Path, client: Asker, field: SkyField = FIELD) -> FetchReport:
    """Fetch one field with a given client."""
    return fetch_stars(folder, [field], client.service, 12.0, asker=client)


def places(folder: Path) -> np.ndarray:
    """Return the places of all stars kept in a folder, each once, sorted."""
    rows = [np.column_stack([piece.stars.ra_deg, piece.stars.dec_deg]) for piece in cache.load_all(folder)[0]]
    return np.unique(np.concatenate(rows).round(7), axis=0) if rows else np.empty((0, 2))


def assert_complete(folder: Path, field: SkyField) -> None:
    """Hold what is kept against the shipped stars, which the server serves: none in the annulus is missing."""
    truth = embedded().cone(field.ra_deg, field.dec_deg, field.outer_deg, 12.0)
    away = separation_deg(field.ra_deg, field.dec_deg, truth.ra_deg, truth.dec_deg)
    wanted = np.column_stack([truth.ra_deg, truth.dec_deg])[away >= field.inner_deg].round(7)
    kept = {tuple(row) for row in places(folder)}
    assert len(wanted) > 20
    assert not [row for row in wanted if tuple(row) not in kept]


def test_one_question_brings_the_field(tmp_path: Path) -> None:
    """An honest service is asked once, by the standard's parameters, and every star of the annulus is kept."""
    with serving() as server:
        report = fetch(tmp_path, asker(server))
    assert report.questions == len(server.questions) == 1
    assert {"RA", "DEC", "SR"} <= set(server.questions[0])
    assert float(server.questions[0]["SR"]) >= FIELD.outer_deg
    assert_complete(tmp_path, FIELD)


def test_what_is_there_is_not_asked_again(tmp_path: Path) -> None:
    """A second fetch asks nothing, nor does one for a slightly smaller field or a brighter limit."""
    with serving() as server:
        fetch(tmp_path, asker(server))
        again = fetch(tmp_path, asker(server))
        smaller = fetch_stars(tmp_path, [SkyField("M 31", 10.69, 41.26, 0.3, 0.49)], service(server), 11.0)
        assert (again.questions, again.already, smaller.questions) == (0, 1, 0)
        deeper = fetch_stars(tmp_path, [FIELD], service(server), 13.0)
        assert deeper.questions == 1


def test_both_generations_of_ucds(tmp_path: Path) -> None:
    """Answers with UCD1+ words are read as those with UCD1 names."""
    with serving(lambda e: e.send(votable(e.rows(), NEW_UCDS))) as server:
        fetch(tmp_path, asker(server))
    assert_complete(tmp_path, FIELD)


ERROR_PLACES = {
    "INFO under VOTABLE": votable([], top='<INFO name="Error" value="radius too small"/>'),
    "INFO under RESOURCE": votable([], head='<INFO ID="Error" name="Error" value="radius too small"/>'),
    "PARAM under RESOURCE": votable(
        [], head='<PARAM name="Error" datatype="char" arraysize="*" value="radius too small"/>'
    ),
    "PARAM under DEFINITIONS": votable(
        [],
        top='<DEFINITIONS><PARAM name="Error" datatype="char" arraysize="*" value="radius too small"/></DEFINITIONS>',
    ),
    "QUERY_STATUS (DALI)": votable([], head='<INFO name="QUERY_STATUS" value="ERROR">radius too small</INFO>'),
    "no table at all": b'<VOTABLE version="1.1"><INFO name="Error" value="radius too small"/></VOTABLE>',
}


@pytest.mark.parametrize("place", ERROR_PLACES)
def test_errors_in_every_place_of_the_standard(tmp_path: Path, place: str) -> None:
    """An error is found wherever the standard allows it, ends the fetch, and is told in the service's words."""
    small = SkyField("M 57", 283.4, 33.03, 0.0, 0.1)
    with serving(raw(ERROR_PLACES[place])) as server, pytest.raises(NoAnswer, match="radius too small") as caught:
        fetch(tmp_path, asker(server), small)
    assert caught.value.exit_code == 1
    assert len(server.questions) == 1
    assert caught.value.problems[0].suggestion


@pytest.mark.parametrize("status", [400, 404, 500, 503])
def test_errors_with_an_http_status(tmp_path: Path, status: int) -> None:
    """A VOTable error is told when it comes with an HTTP error status; 5xx counts as passing and is tried again."""
    small = SkyField("M 57", 283.4, 33.03, 0.0, 0.1)
    body = votable([], top='<INFO name="Error" value="no such table"/>')
    with serving(raw(body, status=status)) as server, pytest.raises(NoAnswer) as caught:
        fetch(tmp_path, asker(server), small)
    assert ("no such table" if status < 500 else str(status)) in str(caught.value)
    assert len(server.questions) == (1 if status < 500 else 4)


def test_overflow_splits_the_cone(tmp_path: Path) -> None:
    """A flagged cut answer is not kept; the cone is split until all of it is there, and the next fetch knows."""
    with serving(at_most(60, flagged=True)) as server:
        report = fetch(tmp_path, asker(server), WIDE)
        assert report.questions > 7
        assert_complete(tmp_path, WIDE)
        assert fetch(tmp_path, asker(server), WIDE).questions == 0


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("nearest first", lambda row: separation_deg(10.6847, 41.269, row[1], row[2])),
        ("by right ascension", lambda row: row[1]),
        ("by declination", lambda row: row[2]),
        ("in no order", None),
        ("faintest first", lambda row: -row[3]),
    ],
)
def test_answers_cut_in_silence_are_recognised(tmp_path: Path, name: str, key: object) -> None:
    """A service that cuts to 83 rows and says nothing is found out, whatever the order of its rows."""
    with serving(at_most(83, flagged=False, key=key)) as server:  # type: ignore[arg-type]
        fetch(tmp_path, asker(server), WIDE)
    assert_complete(tmp_path, WIDE)


def test_brightest_first_cut_in_silence_lowers_the_depth(tmp_path: Path) -> None:
    """Cut after the brightest rows, an answer is true as far as it goes, and no deeper than that is claimed."""
    with serving(at_most(101, flagged=False, key=lambda row: row[3])) as server:
        report = fetch(tmp_path, asker(server), WIDE)
    pieces = [piece for piece in cache.load_all(tmp_path)[0] if piece.covers]
    assert max(piece.stars.mag.max() for piece in pieces if len(piece.stars)) < 11.5
    assert all(piece.depth_mag <= piece.stars.mag.max() for piece in pieces if len(piece.stars) > 99)
    assert any("no deeper than" in note for note in report.notes)


def test_stated_row_limits_count(tmp_path: Path) -> None:
    """An answer as long as the service's own stated limit is taken as cut."""
    with serving(at_most(70, flagged=False)) as server:
        fetch(tmp_path, asker(server, most_rows=70), WIDE)
    assert_complete(tmp_path, WIDE)


def test_round_numbers_of_rows_are_suspicious(tmp_path: Path) -> None:
    """Exactly 500 rows look like a limit, and are asked again in parts."""
    crowded = SkyField("Cygnus", 305.0, 40.0, 0.0, 1.5)
    with serving(at_most(500, flagged=False)) as server:
        report = fetch(tmp_path, asker(server), crowded)
    assert report.questions > 1
    assert_complete(tmp_path, crowded)


def test_a_service_that_always_cuts_is_given_up(tmp_path: Path) -> None:
    """A service that flags every answer as cut ends with a sentence, not with a million questions."""

    def always(exchange: Exchange) -> None:
        exchange.send(votable(exchange.rows()[:1], tail='<INFO name="QUERY_STATUS" value="OVERFLOW"/>'))

    with serving(always) as server, pytest.raises(NoAnswer, match="cuts its answers short"):
        fetch(tmp_path, asker(server))
    assert len(server.questions) < 20


def test_stars_outside_the_cone_are_dropped(tmp_path: Path) -> None:
    """The standard lets a service send more than the cone; what lies outside is dropped and this is said."""

    def generous(exchange: Exchange) -> None:
        exchange.send(votable(faulty.real_rows(exchange.ra_deg, exchange.dec_deg, exchange.radius_deg * 2)))

    with serving(generous) as server:
        report = fetch(tmp_path, asker(server))
    assert any("outside" in note for note in report.notes)
    kept = places(tmp_path)
    assert separation_deg(FIELD.ra_deg, FIELD.dec_deg, kept[:, 0], kept[:, 1]).max() < 0.56
    assert_complete(tmp_path, FIELD)


def test_an_answer_for_another_place_is_refused(tmp_path: Path) -> None:
    """Stars that all lie elsewhere are no answer, however well formed."""
    body = votable(faulty.real_rows(200.0, 10.0, 0.5))
    with serving(raw(body)) as server, pytest.raises(NoAnswer, match="none of them in the circle"):
        fetch(tmp_path, asker(server), SkyField("x", 10.0, 41.0, 0.0, 0.1))
    assert not list(tmp_path.glob(f"*{cache.ENDING}"))


def test_an_empty_answer_is_an_answer(tmp_path: Path) -> None:
    """No star in the cone is no error: it is kept and not asked again."""
    with serving(raw(votable([]))) as server:
        fetch(tmp_path, asker(server), SkyField("x", 10.0, 41.0, 0.0, 0.1))
        assert fetch(tmp_path, asker(server), SkyField("x", 10.0, 41.0, 0.0, 0.1)).questions == 0


def test_a_large_radius_that_is_refused_is_split(tmp_path: Path) -> None:
    """A service that refuses radii above its unstated limit is asked for smaller ones, and remembered."""

    def narrow(exchange: Exchange) -> None:
        if exchange.radius_deg > 0.4:
            return exchange.send(votable([], top='<INFO name="Error" value="SR too large"/>'))
        return honest(exchange)

    with serving(narrow) as server:
        fetch(tmp_path, asker(server))
        assert_complete(tmp_path, FIELD)
        assert fetch(tmp_path, asker(server)).questions == 0


def test_stated_radius_limits_are_kept(tmp_path: Path) -> None:
    """No question is wider than the service's stated limit."""
    with serving() as server:
        fetch(tmp_path, asker(server, largest_radius_deg=0.3))
    assert max(float(question["SR"]) for question in server.questions) <= 0.3
    assert_complete(tmp_path, FIELD)


def test_parameters_beyond_the_standard_are_left_out_when_refused(tmp_path: Path) -> None:
    """A magnitude limit is sent; a service that refuses to know it is asked again without, for good."""

    def strict(exchange: Exchange) -> None:
        if "Gmag" in exchange.parameters:
            return exchange.send(votable([], top='<INFO name="Error" value="unknown parameter GMAG"/>'))
        return honest(exchange)

    extra = (("Gmag", "<{limit_mag}"),)
    with serving(strict) as server:
        fetch(tmp_path, asker(server, extra=extra, largest_radius_deg=0.3))
    assert server.questions[0]["GMAG" if "GMAG" in server.questions[0] else "Gmag"] == "<12.00"
    assert sum("Gmag" in question or "GMAG" in question for question in server.questions) == 1
    assert_complete(tmp_path, FIELD)


PASSING = {
    "503": raw(b"busy", status=503, kind="text/plain"),
    "429 with a wish": raw(b"slow down", status=429, Retry_After="17"),
    "500": raw(b"oops", status=500),
    "a closed connection": faulty.slam,
    "a time-out": faulty.hang,
    "a body shorter than announced": raw(votable([])[:100], length=5000),
    "half a VOTable": raw(votable(faulty.real_rows(10.68, 41.27, 0.5))[:-300]),
    "half a table": raw(votable(faulty.real_rows(10.68, 41.27, 0.5)).replace(b"</TABLEDATA></DATA>", b"")),
    "damaged BINARY": raw(votable([], data='<DATA><BINARY><STREAM encoding="base64">AAAA</STREAM></BINARY></DATA>')),
    "fewer rows than announced": raw(
        votable(faulty.real_rows(10.68, 41.27, 0.5)).replace(b"<TABLE>", b'<TABLE nrows="4711">')
    ),
    "a web page": raw(b"<!DOCTYPE html><html><body>Please log in</body></html>", kind="text/html"),
    "nothing": raw(b""),
    "an entity bomb": raw(b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>' + votable([])),
    "bytes that are no text": raw(b"<VOTABLE \xff\xfe\x00>"),
}


@pytest.mark.parametrize("fault", PASSING)
def test_faults_that_pass_are_tried_again(tmp_path: Path, fault: str) -> None:
    """After a passing fault the question is repeated, after a pause, and the answer is whole."""
    pauses: list[float] = []
    with serving(PASSING[fault], honest) as server:
        report = fetch(tmp_path, asker(server, pauses))
    assert len(server.questions) == 2
    assert report.stars > 20
    assert max(pauses) == (17.0 if "wish" in fault else 2.0)
    assert_complete(tmp_path, FIELD)


def test_pauses_grow_and_end(tmp_path: Path) -> None:
    """A fault that stays is tried four times with longer and longer pauses, then told with what to do."""
    pauses: list[float] = []
    with serving(raw(b"busy", status=503)) as server, pytest.raises(NoAnswer, match="503") as caught:
        fetch(tmp_path, asker(server, pauses))
    assert len(server.questions) == 4
    assert [pause for pause in pauses if pause > 0] == [2.0, 4.0, 8.0]
    assert "errand" in (caught.value.problems[0].suggestion or "")


def test_a_web_page_that_stays_is_told(tmp_path: Path) -> None:
    """A login page instead of an answer ends in a sentence that quotes it."""
    with serving(PASSING["a web page"]) as server, pytest.raises(NoAnswer, match="Please log in"):
        fetch(tmp_path, asker(server))


def test_the_wrong_content_type_is_no_fault(tmp_path: Path) -> None:
    """A VOTable that calls itself plain text is read all the same."""
    with serving(lambda e: e.send(votable(e.rows()), kind="text/plain")) as server:
        fetch(tmp_path, asker(server))
    assert_complete(tmp_path, FIELD)


def test_a_dripping_answer_is_given_up(tmp_path: Path) -> None:
    """A service that sends a byte now and then does not hold the program for hours."""
    started = time.monotonic()
    with serving(faulty.drip, honest) as server:
        fetch(tmp_path, asker(server, whole_answer_s=0.5))
    assert len(server.questions) == 2
    assert time.monotonic() - started < 15


def test_a_huge_answer_is_asked_for_in_parts(tmp_path: Path) -> None:
    """An answer that does not end is cut off at the limit, and the cone is split."""
    with serving(faulty.endless, honest) as server:
        report = fetch(tmp_path, asker(server, largest_answer_mb=1.0))
    assert report.questions > 2
    assert_complete(tmp_path, FIELD)


def test_a_table_without_the_columns_is_told(tmp_path: Path) -> None:
    """An answer without a magnitude names the columns that there are and what to do."""
    body = (
        votable(faulty.real_rows(10.68, 41.27, 0.5)).replace(b'"vmag"', b'"speed"').replace(b"PHOT_JHN_V", b"VELOC")
    )
    with serving(raw(body)) as server, pytest.raises(NoAnswer, match="no column for magnitude") as caught:
        fetch(tmp_path, asker(server), SkyField("x", 10.68, 41.27, 0.0, 0.1))
    assert "speed" in str(caught.value)


def test_columns_as_the_person_says(tmp_path: Path) -> None:
    """A column named in the notebook is used whatever its UCD."""
    with serving(lambda e: e.send(votable(e.rows(), ("ID_MAIN", "X", "Y", "Z")))) as server:
        fetch(tmp_path, asker(server, columns=ColumnMap(ra="ra", dec="DEC", mag="vmag")))
    assert_complete(tmp_path, FIELD)


def test_no_network_is_told_plainly(tmp_path: Path) -> None:
    """An address that nobody answers at ends in a sentence with what to do without a network."""
    with serving() as server:
        url = server.url
    client = Asker(ConeService("Test stars", url, pause_s=0.0), 12.0, sleep=lambda _: None)
    with pytest.raises(NoAnswer, match="connection was refused") as caught:
        fetch(tmp_path, client)
    assert "another machine" in (caught.value.problems[0].suggestion or "")


def test_an_impossible_address_is_refused(tmp_path: Path) -> None:
    """Text that is no address is not tried four times."""
    client = Asker(ConeService("Test stars", "nonsense", pause_s=0.0), 12.0, sleep=lambda _: None)
    with pytest.raises(NoAnswer, match="no address"):
        fetch(tmp_path, client, SkyField("x", 1.0, 1.0, 0.0, 0.1))
    assert client.questions == 1


def test_questions_are_paced(tmp_path: Path) -> None:
    """Between two questions lies at least the service's pause."""
    pauses: list[float] = []
    clock = iter(np.arange(0.0, 1000.0, 0.01))
    with serving() as server:
        client = Asker(
            service(server, pause_s=1.5, largest_radius_deg=0.3), 12.0, sleep=pauses.append, now=lambda: next(clock)
        )
        fetch(tmp_path, client)
    assert len(pauses) == len(server.questions) - 1
    assert all(1.4 < pause <= 1.5 for pause in pauses)


def test_progress_reaches_the_end(tmp_path: Path) -> None:
    """Progress never goes back and ends at one, split cones or not."""
    seen: list[Progress] = []
    fields = [FIELD, SkyField("M 57", 283.396, 33.029, 0.2, 0.6)]
    with serving(at_most(60, flagged=True)) as server:
        fetch_stars(tmp_path, fields, service(server), 12.0, seen.append, asker(server))
    fractions = [step.done_fraction for step in seen]
    assert fractions == sorted(fractions)
    assert fractions[-1] == pytest.approx(1.0)
    assert {step.field for step in seen} == {"M 31", "M 57"}


def test_what_came_before_a_failure_is_kept(tmp_path: Path) -> None:
    """When the second field fails the first one is kept, and the next fetch asks only for the second."""
    fields = [FIELD, SkyField("M 57", 283.396, 33.029, 0.0, 0.2)]
    with serving(honest, raw(b"busy", status=503)) as server:
        with pytest.raises(NoAnswer, match="1 answers were kept"):
            fetch_stars(tmp_path, fields, service(server), 12.0, asker=asker(server))
        server.behaviours[:] = [honest]
        report = fetch_stars(tmp_path, fields, service(server), 12.0, asker=asker(server))
    assert (report.questions, report.already) == (1, 1)


def test_a_damaged_file_is_fetched_again(tmp_path: Path) -> None:
    """A piece with a flipped byte does not count; it is removed, said, and asked for again."""
    with serving() as server:
        (path,) = fetch(tmp_path, asker(server)).new
        content = bytearray(path.read_bytes())
        content[len(content) // 2] ^= 1
        path.write_bytes(content)
        report = fetch(tmp_path, asker(server))
    assert report.questions == 1
    assert any("damaged" in note for note in report.notes)
    assert_complete(tmp_path, FIELD)


KILLED = """
import sys
from pathlib import Path
from sidelight.stars.fetching import fetch_stars
from sidelight.stars.service import ConeService, SkyField
service = ConeService("Test stars", sys.argv[1], largest_radius_deg=0.3, pause_s=0.0)
fetch_stars(Path(sys.argv[2]), [SkyField("M 31", 10.6847, 41.269, 0.3, 0.5)], service, 12.0)
"""


@pytest.mark.parametrize("answers_before", [1, 4])
def test_killed_in_the_middle_the_folder_is_whole(tmp_path: Path, answers_before: int) -> None:
    """A fetch killed without warning leaves whole pieces only, and the next one goes on from there."""
    with serving(faulty.slow(0.05)) as server:
        process = subprocess.Popen([sys.executable, "-c", KILLED, server.url, str(tmp_path)])
        try:
            deadline = time.monotonic() + 60
            while len(server.questions) <= answers_before and time.monotonic() < deadline:
                time.sleep(0.005)
        finally:
            process.kill()
            process.wait()
        asked = len(server.questions)
        pieces, damaged = cache.load_all(tmp_path)
        assert not damaged
        assert answers_before - 1 <= len(pieces) <= asked
        (tmp_path / f"half{cache.ENDING}.123{cache.PART}").write_bytes(b"half a file")
        report = fetch(tmp_path, asker(server, largest_radius_deg=0.3))
    assert report.already == len(pieces)
    assert not list(tmp_path.glob(f"*{cache.PART}"))
    assert_complete(tmp_path, FIELD)


@pytest.mark.parametrize("limit_mag", [float("nan"), 0.0, 30.0, -1.0])
def test_impossible_limits_are_refused(tmp_path: Path, limit_mag: float) -> None:
    """A faint limit that is no magnitude is refused before anything is asked."""
    with pytest.raises(BadInput, match="faint limit"):
        fetch_stars(tmp_path, [FIELD], limit_mag=limit_mag)


@pytest.mark.parametrize(("inner", "outer"), [(0.5, 0.5), (-0.1, 0.5), (0.0, 11.0), (float("nan"), 1.0)])
def test_impossible_fields_are_refused(tmp_path: Path, inner: float, outer: float) -> None:
    """An annulus that is none is refused before anything is asked."""
    with pytest.raises(BadInput, match="no annulus"):
        fetch_stars(tmp_path, [SkyField("x", 0.0, 0.0, inner, outer)])
