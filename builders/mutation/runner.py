"""One process that has imported everything and forks for each disturbed spot, to run the tests that pass there."""

import gc
import json
import math
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FrameType

import pytest

from mutation.inplace import put_in_place
from mutation.spots import Spot, disturbed
from mutation.store import Outcome, Store
from mutation.subjects import ROOT, SOURCE, is_own

EXAMPLES = 15
MEMORY_BYTES = 6 << 30
WALL_PER_LIMIT = 10.0
"""Limits are processor time, so that a busy machine notices nothing; by the clock ten times as much is allowed."""
SLOW_S = 15.0
"""A test that takes longer on undisturbed source is not asked."""


@dataclass(frozen=True)
class Passing:
    """One test: how long it takes undisturbed, and the functions that it passes through, "sky/sun.py:sun_below"."""

    seconds: float
    functions: frozenset[str]


class Plugin:
    """Takes the place of pytest's own loop."""

    def __init__(self, store: Store, spots: list[Spot], workers: int, patience_s: float) -> None:
        self.store, self.spots, self.workers, self.patience_s = store, spots, workers, patience_s
        self.failed = False
        self.sources = {spot.module: "" for spot in spots}
        self.items: dict[str, pytest.Item] = {}
        self.killers: dict[str, Counter[str]] = defaultdict(Counter)

    @pytest.hookimpl
    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Remember that a test failed."""
        self.failed = self.failed or report.failed

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Learn which tests pass where, then disturb every spot that has no outcome yet."""
        self.sources = {name: (SOURCE / name).read_text(encoding="utf-8") for name in self.sources}
        self.items = {item.nodeid: item for item in session.items}
        for item in session.items:
            _lighten(item)
        self._learn()
        for key, outcome in self.store.outcomes.items():
            self._remember(key, outcome)
        for key, outcome in self.store.hints.items():
            self._remember(key, outcome)
        waiting = [spot for spot in self.spots if not self.store.is_settled(spot)]
        print(f"{len(self.spots)} spots, {len(waiting)} to be tried", flush=True)
        gc.collect()
        gc.freeze()  # so that children share the memory instead of copying it
        self._try_all(waiting)
        return True

    def _remember(self, key: str, outcome: Outcome) -> None:
        if outcome.test:
            module, function, _ = key.split(" | ", 2)
            for name in (key, f"{module} | {function}", module):
                self.killers[name][outcome.test] += 1

    def _learn(self) -> None:
        """Run each test whose file is new or changed on undisturbed source, in processes of their own."""
        unknown = [nodeid for nodeid in self.items if not self.store.knows(nodeid)]
        for start in range(0, len(unknown), 25):
            some = unknown[start : start + 25]
            there = self.store.folder / "passing.json"
            there.unlink(missing_ok=True)
            _wait(_fork(lambda some=some, there=there: self._pass_through(some, there)), 900.0)
            if there.exists():
                self.store.learn(json.loads(there.read_text(encoding="utf-8")))
            else:
                print(f"nothing was learnt of {len(some)} tests from {some[0]} on: they cannot be asked", flush=True)
            print(f"learnt {start + len(some)} of {len(unknown)} tests", flush=True)

    def _pass_through(self, nodeids: list[str], there: Path) -> None:
        known: dict[str, tuple[float, list[str]]] = {}
        for nodeid in nodeids:
            seen: set[str] = set()
            watch = _watch(seen)
            _forget_what_was_kept()
            start = time.process_time()
            sys.settrace(watch)
            ok = self._run(nodeid, None)
            sys.settrace(None)
            known[nodeid] = (time.process_time() - start if ok else -1.0, sorted(seen))
        there.write_text(json.dumps(known), encoding="utf-8")

    def _run(self, nodeid: str, following: str | None) -> bool:
        """Run one test; tell whether it passed."""
        self.failed = False
        item = self.items[nodeid]
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=self.items[following] if following else None)
        return not self.failed

    def _order(self, spot: Spot) -> list[str]:
        """Return the tests that pass through a spot, the most likely to notice first, as long as patience lasts."""
        function = f"{spot.module}:{spot.function}"
        near = [self.killers[spot.key], self.killers[f"{spot.module} | {spot.function}"], self.killers[spot.module]]
        through = [
            nodeid
            for nodeid in self.items
            if 0.0 <= self.store.passing.get(nodeid, (-1.0,))[0] <= SLOW_S
            and any(self._meets(function, spot, one) for one in self.store.passing[nodeid][1])
        ]
        cases: Counter[str] = Counter()
        rank: dict[str, tuple[float, ...]] = {}
        for nodeid in sorted(through, key=lambda one: self.store.passing[one][0]):
            seconds = self.store.passing[nodeid][0]
            test = nodeid.split("[")[0]
            noticed = [-counts[nodeid] / (0.2 + seconds) for counts in near]
            # one case of each test first: its others would hardly tell more
            rank[nodeid] = (*noticed[:2], min(cases[test], 3), not is_own(spot.module, nodeid), noticed[2], seconds)
            cases[test] += 1
        chosen, spent = [], 0.0
        for nodeid in sorted(through, key=lambda one: rank[one]):
            spent += self.store.passing[nodeid][0]
            if spent > self.patience_s and chosen:
                break
            chosen.append(nodeid)
        return chosen

    @staticmethod
    def _meets(function: str, spot: Spot, passed: str) -> bool:
        """Tell whether passing through a function may meet a spot: the same, or any for a spot outside functions."""
        return passed == function or (not spot.function and passed.startswith(f"{spot.module}:"))

    def _try_all(self, waiting: list[Spot]) -> None:
        running: dict[int, tuple[Spot, Path, float, float, int]] = {}
        for done, spot in enumerate(waiting):
            order = self._order(spot)
            limit = 5.0 + 4.0 * sum(self.store.passing[nodeid][0] for nodeid in order)
            scratch = Path(tempfile.mkdtemp(dir=self.store.folder))
            pid = _fork(
                lambda spot=spot, order=order, scratch=scratch, limit=limit: self._disturb(
                    spot, order, scratch, limit
                )
            )
            running[pid] = (spot, scratch, time.monotonic(), limit, len(order))
            while len(running) >= self.workers:
                self._collect(running)
                time.sleep(0.005)
            if done % 50 == 0:
                print(f"{done} of {len(waiting)}: {spot.key}", flush=True)
        while running:
            self._collect(running)
            time.sleep(0.005)

    def _collect(self, running: dict[int, tuple[Spot, Path, float, float, int]]) -> None:
        for pid, (spot, scratch, start, limit, asked) in list(running.items()):
            ended, how = os.waitpid(pid, os.WNOHANG)
            if not ended and time.monotonic() - start > WALL_PER_LIMIT * limit:
                os.killpg(pid, signal.SIGKILL)
                ended, how = os.waitpid(pid, 0)
            if ended and os.WIFSIGNALED(how) and os.WTERMSIG(how) in (signal.SIGXCPU, signal.SIGKILL):
                outcome = Outcome("too long", "", time.monotonic() - start, asked, spot.digest)
            elif ended:
                outcome = _read(scratch / "outcome.json", time.monotonic() - start, asked, spot)
            else:
                continue
            del running[pid]
            shutil.rmtree(scratch, ignore_errors=True)
            self.store.add(spot, outcome)
            self._remember(spot.key, outcome)

    def _disturb(self, spot: Spot, order: list[str], scratch: Path, limit_s: float) -> None:
        """In a process of its own: disturb the spot and ask the tests."""
        tempfile.tempdir = str(scratch)
        there = scratch / "outcome.json"
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(limit_s), math.ceil(limit_s) + 5))
        try:
            name = "sidelight." + spot.module.removesuffix(".py").replace("/", ".")
            tree = disturbed(self.sources[spot.module], spot.number)
            put_in_place(name, tree, constants=not spot.function)
        except Exception:  # noqa: BLE001 - a module that cannot be imported is noticed by anybody
            there.write_text(json.dumps(["noticed", "the import"]), encoding="utf-8")
            return
        for nodeid, following in zip(order, [*order[1:], None], strict=True):
            if not self._run(nodeid, following):
                there.write_text(json.dumps(["noticed", nodeid]), encoding="utf-8")
                return
        there.write_text(json.dumps(["survived", ""]), encoding="utf-8")


def _read(there: Path, seconds: float, asked: int, spot: Spot) -> Outcome:
    """Return what a process wrote; one that died without a word was noticed."""
    status, test = json.loads(there.read_text(encoding="utf-8")) if there.exists() else ("noticed", "a crash")
    return Outcome(status, test, seconds, asked, spot.digest)


def _fork(job: Callable[[], None]) -> int:
    """Run a job in a child that keeps quiet; return its number."""
    pid = os.fork()
    if pid:
        return pid
    os.setpgid(0, 0)
    quiet = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(quiet, stream)
    try:
        job()
    finally:
        os._exit(0)


def _wait(pid: int, limit_s: float) -> None:
    start = time.monotonic()
    while os.waitpid(pid, os.WNOHANG)[0] != pid:
        if time.monotonic() - start > limit_s:
            os.killpg(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
            return
        time.sleep(0.02)


def _watch(seen: set[str]) -> Callable[[FrameType, str, object], None]:
    """Return a tracer that notes the functions of ours that are called."""
    names: dict[CodeType, str] = {}
    root = str(SOURCE) + os.sep

    def watch(frame: FrameType, _event: str, _argument: object) -> None:
        code = frame.f_code
        if code not in names:
            inside = code.co_filename.startswith(root)
            path = code.co_filename.removeprefix(root).replace(os.sep, "/")
            names[code] = f"{path}:{code.co_qualname.split('.<')[0]}" if inside else ""
        if names[code]:
            seen.add(names[code])

    return watch


def _forget_what_was_kept() -> None:
    """Empty the caches of our functions, so that each test passes through what it needs."""
    for module in [one for name, one in sys.modules.items() if name.startswith("sidelight")]:
        for name, value in list(vars(module).items()):
            if name == "_KEPT" and hasattr(value, "clear"):
                value.clear()
            elif hasattr(value, "cache_clear"):
                value.cache_clear()


def _lighten(item: pytest.Item) -> None:
    """Give a property test fewer examples, the same each time, and no search for the smallest."""
    import hypothesis

    function = getattr(item, "obj", None)
    function = getattr(function, "__func__", function)
    own = getattr(function, "_hypothesis_internal_use_settings", None)
    if own is not None:
        function._hypothesis_internal_use_settings = hypothesis.settings(
            own,
            max_examples=min(own.max_examples, EXAMPLES),
            derandomize=True,
            database=None,
            deadline=None,
            phases=(hypothesis.Phase.explicit, hypothesis.Phase.generate),
            suppress_health_check=list(hypothesis.HealthCheck),
        )


def run(store: Store, spots: list[Spot], files: list[Path], workers: int, patience_s: float) -> None:
    """Try every spot that the store has no outcome for."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ[name] = "1"
    arguments = ["-s", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", *map(str, files)]
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT / "src"))
    pytest.main(arguments, plugins=[Plugin(store, spots, workers, patience_s)])
