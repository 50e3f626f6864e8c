"""The list of jobs: started, looked at, stopped; each runs in a process of its own."""

import json
import secrets
import subprocess
import sys
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock, Thread
from typing import Any, Literal

from sidelight.ground.errors import BadInput, Problem
from sidelight.web.refusals import MISTAKE, shaped

State = Literal["running", "done", "stopped", "refused"]
MOST_AT_ONCE = 2
MOST_REMEMBERED = 20


@dataclass
class Job:
    """One job. result : the answer's JSON; refusal : in the one shape of refusals."""

    name: str
    kind: str
    process: subprocess.Popen[str]
    began_s: float
    state: State = "running"
    done_fraction: float | None = None
    words: str = ""
    result: Any = None
    refusal: dict[str, Any] | None = None
    ended_s: float | None = None
    lock: Lock = field(default_factory=Lock)


class Jobs:
    """All jobs of one server."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._lock = Lock()

    def start(self, kind: str, asked: dict[str, Any]) -> Job:
        """Begin a job; raises BadInput when too much is under way."""
        with self._lock:
            if sum(job.state == "running" for job in self._jobs.values()) >= MOST_AT_ONCE:
                advice = "Stop one of them, or wait for it."
                raise BadInput(Problem("Two jobs are under way already.", suggestion=advice))
            process = subprocess.Popen(
                [sys.executable, "-m", "sidelight.web.worker"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=None,
                text=True,
                encoding="utf-8",
            )
            job = Job(secrets.token_hex(8), kind, process, time.monotonic())
            self._jobs[job.name] = job
            self._forget()
        task = {"kind": kind, "folder": str(self.folder.absolute()), "asked": asked}
        Thread(target=_follow, args=(job, json.dumps(task)), daemon=True).start()
        return job

    def _forget(self) -> None:
        """Forget the oldest that have ended."""
        for name in [name for name, job in self._jobs.items() if job.state != "running"]:
            if len(self._jobs) > MOST_REMEMBERED:
                del self._jobs[name]

    def find(self, name: str) -> Job:
        """Return a job; raises BadInput for one that is not known."""
        try:
            return self._jobs[name]
        except KeyError:
            raise BadInput(Problem("This job is not known.", suggestion="Begin it again.")) from None

    def stop(self, name: str) -> Job:
        """Stop a job at once."""
        job = self.find(name)
        with job.lock:
            if job.state == "running":
                job.state, job.words = "stopped", "Stopped"
                job.ended_s = time.monotonic()
                job.process.kill()
        return job

    def stop_all(self) -> None:
        """Stop everything; the server ends."""
        for name in list(self._jobs):
            self.stop(name)


def _follow(job: Job, task: str) -> None:
    """Give a process its task, and read what it says until it ends."""
    assert job.process.stdin is not None
    assert job.process.stdout is not None
    try:
        job.process.stdin.write(task + "\n")
        job.process.stdin.close()
    except OSError:
        pass  # it was stopped before it began; the end of its output says so
    for line in job.process.stdout:
        _heard(job, json.loads(line))
    job.process.stdout.close()
    job.process.wait()
    with job.lock:
        if job.state == "running":
            job.state, job.refusal = "refused", shaped("our_fault", [Problem(MISTAKE)])
            job.ended_s = time.monotonic()


def _heard(job: Job, said: dict[str, Any]) -> None:
    """Take down one line of a process."""
    with job.lock:
        if job.state != "running":
            return
        if "result" in said:
            job.state, job.result, job.done_fraction = "done", said["result"], 1.0
        elif "refusal" in said:
            job.state, job.refusal = "refused", said["refusal"]
        else:
            job.done_fraction, job.words = said.get("done_fraction"), str(said.get("words", ""))
        if job.state != "running":
            job.ended_s = time.monotonic()
