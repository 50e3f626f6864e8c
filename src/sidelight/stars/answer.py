"""Reading what a cone search service sent: errors wherever the standard puts them, truncation, stars.

IVOA Simple Cone Search 1.03 (2008), section 2.3: an error is an INFO named "Error" under VOTABLE or RESOURCE, or a
PARAM of that name under RESOURCE or DEFINITIONS. Later practice (DALI): an INFO named QUERY_STATUS whose value is
OK, ERROR or OVERFLOW, the last one after the table.
"""

import io
import re
import warnings
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

import numpy as np

from sidelight.ground.angles import separation_deg
from sidelight.ground.errors import BadInput
from sidelight.stars.columns import star_table
from sidelight.stars.service import Cone, ConeService, StarTable

EDGE_DEG = 1e-6
"""Rounding in a service's own test of the cone is no lie."""


class Refused(Exception):
    """The service understood and said no: asking the same again is of no use."""


class Broken(Exception):
    """What came is no answer: it may be one the next time."""


@dataclass(frozen=True)
class Answer:
    """The stars within the cone and the limit, whether the service cut the answer short, and what had to be said.

    rows : how many the service sent. outside : how many of them lay outside the cone. farthest_deg : how far from
    the centre the outermost of the others is, whatever its magnitude.
    """

    stars: StarTable
    truncated: bool
    rows: int
    outside: int
    farthest_deg: float
    notes: tuple[str, ...] = ()


def read_answer(content: bytes, content_type: str, cone: Cone, service: ConeService, limit_mag: float) -> Answer:
    """Return the stars of one answer.

    Raises Refused with the service's words for an error by the standard or a table without the needed columns or
    wholly outside the cone, Broken for anything that is no whole VOTable.
    """
    frame = _frame(content, content_type)
    complaint = _complaint(frame)
    if complaint is not None:
        raise Refused(complaint)
    overflow = any(
        _named(info, "QUERY_STATUS") and _value(info).upper() == "OVERFLOW" for info in _all(frame, "INFO")
    )
    table = _table(content)
    _check_rows(len(table), frame, content)
    try:
        stars, notes = star_table(table, service.columns, service.epoch_year)
    except BadInput as error:
        raise Refused(str(error)) from error
    away = separation_deg(cone.ra_deg, cone.dec_deg, stars.ra_deg, stars.dec_deg)
    within = away <= cone.radius_deg + EDGE_DEG
    outside = int(np.sum(~within))
    if len(stars) and outside == len(stars):
        raise Refused(f"it sent {len(stars)} stars, none of them in the circle that was asked for")
    truncated = overflow or _looks_cut(len(table), service.most_rows)
    kept = stars.pick(within & (stars.mag <= limit_mag))
    return Answer(kept, truncated, len(table), outside, float(away[within].max(initial=0.0)), notes)


def _check_rows(rows: int, frame: ElementTree.Element, content: bytes) -> None:
    """Raise Broken when there are fewer rows than the table announces, or none in a stream that is not empty."""
    announced = max(
        (int(t.get("nrows", "0")) for t in _all(frame, "TABLE") if t.get("nrows", "0").isdigit()), default=0
    )
    if rows < announced:
        raise Broken(f"its table has {rows} rows and announces {announced}")
    if rows == 0 and re.search(rb"<(?:\w+:)?STREAM[^>]*>\s*[A-Za-z0-9+/]", content):
        raise Broken("its table is a stream that cannot be read")


def _looks_cut(rows: int, most_rows: int | None) -> bool:
    """Tell whether the number of rows betrays a limit: the stated one, or a suspiciously round one."""
    if most_rows is not None and rows >= most_rows:
        return True
    return rows >= 500 and rows % 500 == 0


def _frame(content: bytes, content_type: str) -> ElementTree.Element:
    """Return the document without its data; raises Broken when it is no whole VOTable."""
    head = content[:20000]
    if not re.search(rb"<(?:\w+:)?VOTABLE[\s>]", head, flags=re.IGNORECASE):
        kind = content_type.partition(";")[0].strip() or "something without a type"
        raise Broken(f"it sent {kind} that is no VOTable ({_beginning(content)})")
    if b"<!ENTITY" in head:
        raise Broken("it sent a document with entity declarations, which no service needs")
    begin = re.search(rb"<(?:\w+:)?DATA[\s>/]", content)
    end = [*re.finditer(rb"</(?:\w+:)?DATA\s*>", content)]
    bare = content[: begin.start()] + content[end[-1].end() :] if begin and end else content
    try:
        return ElementTree.fromstring(bare)  # noqa: S314 - entities are refused above
    except (ElementTree.ParseError, UnicodeError, LookupError, ValueError) as error:
        raise Broken(f"its VOTable is not whole ({error})") from error


def _beginning(content: bytes) -> str:
    """Return the first words of a body, for a person."""
    text = re.sub(r"<[^>]*>", " ", content[:2000].decode("utf-8", "replace"))
    words = " ".join(text.split())
    return f'it begins "{words[:80]}"' if words else "it is empty"


def _tag(element: ElementTree.Element) -> str:
    """Return an element's name without its namespace."""
    return str(element.tag).rpartition("}")[2]


def _all(frame: ElementTree.Element, tag: str) -> list[ElementTree.Element]:
    """Return every element of a name, wherever it stands."""
    return [element for element in frame.iter() if _tag(element) == tag]


def _named(element: ElementTree.Element, name: str) -> bool:
    """Tell whether an element has a name, in any case."""
    return (element.get("name") or element.get("ID") or "").casefold() == name.casefold()


def _value(element: ElementTree.Element) -> str:
    """Return what an INFO or PARAM says."""
    return (element.get("value") or "").strip()


def _complaint(frame: ElementTree.Element) -> str | None:
    """Return the service's error message, None when it reports none."""
    for parent in frame.iter():
        # inside a table these names could be a column's own parameters; the standard puts errors above tables
        if _tag(parent) not in ("VOTABLE", "RESOURCE", "DEFINITIONS"):
            continue
        for element in parent:
            text = " ".join((element.text or "").split())
            if _tag(element) in ("INFO", "PARAM") and _named(element, "Error"):
                return _value(element) or text or "an error without a message"
            if _tag(element) == "INFO" and _named(element, "QUERY_STATUS") and _value(element).upper() == "ERROR":
                return text or "an error without a message"
    return None


def _table(content: bytes) -> Any:  # noqa: ANN401 - an astropy Table
    """Return the answer's table: the first one with columns, results first."""
    from astropy.io.votable import parse

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # services bend the schema in many harmless ways
        try:
            votable = parse(io.BytesIO(content), verify="ignore")
            resources = sorted(votable.resources, key=lambda one: one.type != "results")
            tables = [table for one in resources for table in one.tables] or list(votable.iter_tables())
            whole = next((table for table in tables if table.fields), None)
            if whole is None:
                raise Broken("its VOTable has no table and no error message")
            return whole.to_table(use_names_over_ids=True)
        except Broken:
            raise
        except Exception as error:  # astropy raises many kinds for a damaged body
            raise Broken(f"its table cannot be read ({error})") from error
