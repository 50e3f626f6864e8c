"""Tables as CSV (RFC 4180) for spreadsheets and other programs."""

import csv
import datetime as dt
import io
from collections.abc import Iterable, Sequence
from dataclasses import fields


def csv_text(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return rows under a head that names the columns."""
    sheet = io.StringIO()
    writer = csv.writer(sheet, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return sheet.getvalue()


def records_csv(record: type, rows: Iterable[object]) -> str:
    """Return records with their field names as the head, each value as a spreadsheet reads it."""
    names = [field.name for field in fields(record)]
    return csv_text(names, ([cell(getattr(row, name)) for name in names] for row in rows))


def cell(value: object) -> object:
    """Return a value as a spreadsheet reads it; text that would be taken for a formula is kept text."""
    if isinstance(value, dt.datetime):
        return utc_text(value)
    if isinstance(value, tuple):
        value = " ".join(str(part) for part in value)
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@")):
        return "'" + value
    return "" if value is None else value


def utc_text(moment: dt.datetime) -> str:
    """Return an instant as ISO 8601 in UTC."""
    return moment.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
