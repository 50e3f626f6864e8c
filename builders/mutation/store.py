"""What was learnt and found, kept in a folder outside the project so that a run can be taken up again."""

import hashlib
import json
from collections.abc import Collection
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from mutation.spots import Spot
from mutation.subjects import ROOT


@dataclass(frozen=True)
class Outcome:
    """Of one spot: what happened, the test that noticed, how long it took, how many tests there were to ask."""

    status: str
    test: str
    seconds: float
    asked: int
    digest: str


class Store:
    """The folder of one run."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)
        self.passing: dict[str, tuple[float, list[str]]] = {}
        self.files: dict[str, str] = {}
        self.outcomes: dict[str, Outcome] = {}
        self.hints: dict[str, Outcome] = {}
        self._load()

    def _load(self) -> None:
        learnt = self.folder / "learnt.json"
        if learnt.exists():
            kept = json.loads(learnt.read_text(encoding="utf-8"))
            self.files = {name: digest for name, digest in kept["files"].items() if digest == _digest(name)}
            self.passing = {one: found for one, found in kept["passing"].items() if one.split("::")[0] in self.files}
        for name, into in (("outcomes.jsonl", self.outcomes), ("hints.jsonl", self.hints)):
            there = self.folder / name
            for line in there.read_text(encoding="utf-8").splitlines() if there.exists() else ():
                key, outcome = json.loads(line)
                into[key] = Outcome(**outcome)

    def knows(self, nodeid: str) -> bool:
        """Tell whether it is known where a test passes through."""
        return nodeid in self.passing

    def learn(self, passing: dict[str, tuple[float, list[str]]]) -> None:
        """Keep where tests pass through."""
        self.passing.update(passing)
        self.files.update({name: _digest(name) for name in {one.split("::")[0] for one in passing}})
        text = json.dumps({"files": self.files, "passing": self.passing})
        (self.folder / "learnt.json").write_text(text, encoding="utf-8")

    def add(self, spot: Spot, outcome: Outcome) -> None:
        """Keep what happened at a spot."""
        self.outcomes[spot.key] = outcome
        with (self.folder / "outcomes.jsonl").open("a", encoding="utf-8") as there:
            there.write(json.dumps([spot.key, asdict(outcome)]) + "\n")

    def holds(self, spot: Spot) -> bool:
        """Tell whether there is an outcome, found with the function as it is."""
        outcome = self.outcomes.get(spot.key)
        return outcome is not None and outcome.digest == spot.digest

    def is_settled(self, spot: Spot) -> bool:
        """Tell whether an outcome still holds: the function is as it was, the test that noticed still there."""
        if not self.holds(spot):
            return False
        outcome = self.outcomes[spot.key]
        return (
            outcome.status != "noticed" or outcome.test in self.passing or outcome.test in ("the import", "a crash")
        )

    def drop(self, what: Literal["unexplained", "survived", "all"], explained: Collection[str]) -> None:
        """Forget outcomes that are to be tried again; all of them stay as hints of the tests to ask first."""
        there = self.folder / "outcomes.jsonl"
        if what == "all" and there.exists():
            there.replace(self.folder / "hints.jsonl")
            self.hints, self.outcomes = self.outcomes, {}
        self.outcomes = {
            key: one for key, one in self.outcomes.items() if one.status != "survived" or key in explained
        }


def _digest(name: str) -> str:
    there = ROOT / name
    return hashlib.sha256(there.read_bytes()).hexdigest()[:12] if there.exists() else ""
