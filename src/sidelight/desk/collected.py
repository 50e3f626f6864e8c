"""Hours collected, as plain data for the campaign: effective hours by target and filter."""

from collections.abc import Mapping

from sidelight.desk.frames import filter_words
from sidelight.ledger.store import Ledger, open_ledger
from sidelight.ledger.totals import by_filter, totals
from sidelight.notebook.read import Notebook

LEDGER_FILE = "ledger.sqlite"


def ledger_of(notebook: Notebook, *, create: bool = False) -> Ledger:
    """Open the notebook's ledger; unless `create`, one that is not there is empty and stays away.

    Raises BadInput for a damaged file, a newer program's, or one in use.
    """
    return open_ledger(notebook.folder / LEDGER_FILE, create=create)


def names_in(ledger: Ledger, notebook: Notebook) -> dict[str, str]:
    """Return which filter of light.toml each filter's name in the ledger means."""
    rows = ledger.connection.execute("SELECT filter_name FROM frames UNION SELECT filter_name FROM hours")
    return filter_words(notebook, [str(row[0]) for row in rows])


def collected_hours(notebook: Notebook) -> Mapping[tuple[str, str], float]:
    """Return effective hours by (target's key, filter's name); "" for frames and hours without a filter.

    A target that wants hours in all has those of its filters together. Nothing collected: an empty mapping.
    """
    with ledger_of(notebook) as ledger:
        rows = by_filter(totals(ledger, names_in(ledger, notebook)))
    return {(row.target_key, row.filter_name): row.effective_hours_h for row in rows}
