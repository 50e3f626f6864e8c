"""The shelf: what was worked out of one notebook, kept until anything in its folder changes."""

import datetime as dt
from collections import OrderedDict
from collections.abc import Callable, Hashable
from contextlib import suppress
from pathlib import Path
from threading import Lock
from typing import Any, TypeVar

from sidelight.desk.bench import bench_report
from sidelight.desk.bench_records import BenchReport
from sidelight.desk.clock import tonight
from sidelight.desk.kept import setup_in_use
from sidelight.desk.night import night_report
from sidelight.desk.night_records import NightReport
from sidelight.desk.open import open_notebook
from sidelight.desk.season import SeasonReport, season_report
from sidelight.desk.setup import SetupQuestion, SetupReport, setup_report
from sidelight.desk.watch import FolderState, folder_state
from sidelight.ground.errors import SidelightError

Made = TypeVar("Made")
MOST_KEPT = 200


class Shelf:
    """Answers about one notebook's folder; each is worked out once, however many ask at the same time."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._kept: OrderedDict[Hashable, _Slot] = OrderedDict()
        self._lock = Lock()
        self._signature = ""
        self.held = False
        # what cannot be read now is told to whoever asks
        with suppress(SidelightError, OSError):
            self.state()

    def state(self) -> FolderState:
        """Return how the folder stands now; `held` remembers that it has held a notebook since the server began."""
        found = folder_state(self.folder)
        self.held = self.held or found.begun
        return found

    def once(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """Return what `make` gave for this key since the folder last changed; a refusal is not kept."""
        signature = self.state().signature
        with self._lock:
            if signature != self._signature:
                self._kept.clear()
                self._signature = signature
            slot = self._kept.setdefault(key, _Slot())
            self._kept.move_to_end(key)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        with slot.lock:
            if not slot.filled:
                slot.value = make()
                slot.filled = True
            made: Made = slot.value
            return made

    def book(self) -> Any:  # noqa: ANN401 - a Notebook, whose room the page may not import
        """Return the notebook; raises BadInput with all its problems."""
        return self.once("book", lambda: open_notebook(self.folder))

    def tonight(self) -> dt.date:
        """Return the date of the night that is on or next at the site."""
        return tonight(self.book().site)

    def season(self, date: dt.date, nights: int = 365, drawings_of: str | None = None) -> SeasonReport:
        """Return the season; with what the year's picture of one target needs when that is named."""
        only = (drawings_of,) if drawings_of else ()
        return self.once(
            ("season", date, nights, only), lambda: season_report(self.book(), date, nights, only, bool(drawings_of))
        )

    def setup(self, date: dt.date, name: str | None = None) -> SetupReport:
        """Return the set-up of a date: a kept one by name, else the one in use, else the best."""
        return self.once(("setup", date, name), lambda: setup_in_use(self.book(), date, name))

    def solved(self, question: SetupQuestion) -> SetupReport:
        """Return the answer to a question of the set-up page."""
        return self.once(("solved", question), lambda: setup_report(self.book(), question))

    def bench(self, date: dt.date, name: str | None = None) -> BenchReport:
        """Return the bench's angles; raises SkySaysNo when there is no set-up."""
        return self.once(("bench", date, name), lambda: bench_report(self.book(), self.setup(date, name)))

    def night(self, date: dt.date, name: str | None = None) -> NightReport:
        """Return one night's plan."""
        return self.once(("night", date, name), lambda: night_report(self.book(), date, self.setup(date, name)))


class _Slot:
    """One answer, and the lock that lets a second asker wait for it."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.filled = False
        self.value: Any = None
