"""Hours collected, as plain data for the campaign: effective hours by target and filter."""

from collections.abc import Mapping

from sidelight.desk.frames import filter_words
from sidelight.ledger.store import Ledger, open_ledger
from sidelight.ledger.totals import by_filter, missing, totals
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


def wanted_hours(notebook: Notebook) -> dict[tuple[str, str], float]:
    """Return the effective hours wanted by (target, filter), the filter "" for a target's hours in all."""
    wanted: dict[tuple[str, str], float] = {}
    for target in notebook.targets:
        filters = notebook.campaign.goal_of(target.key).filters_h
        if filters:
            wanted |= {(target.key, name): hours for name, hours in filters}
        else:
            wanted[target.key, ""] = target.hours_wanted_h
    return wanted


def missing_hours(notebook: Notebook) -> dict[str, float]:
    """Return the effective hours that each target still wants, over all its filters, by its key; never negative."""
    with ledger_of(notebook) as ledger:
        gaps = missing(totals(ledger, names_in(ledger, notebook)), wanted_hours(notebook))
    hours = dict.fromkeys((target.key for target in notebook.targets), 0.0)
    for gap in gaps:
        hours[gap.target_key] += gap.missing_h
    return hours
