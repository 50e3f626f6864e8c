"""How long the command takes from nothing, as whole processes, beside Python alone and with the libraries' import.

Bytecode is kept in a folder of its own, as an installed program has it after its first run.
"""

import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.measure import Table, clock, emit, memory, ratio

RUNS = 3
COMMANDS = ("season", "setup", "bench", "night", "light", "campaign")
FEWER = ("--weathers", "200", "--quick")
PLAIN = {
    "an empty Python": "pass",
    "import numpy": "import numpy",
    "import scipy.optimize": "import scipy.optimize",
    "import astropy.coordinates": "import astropy.coordinates",
    "astropy: one altitude of one star": (
        "from astropy.utils import iers; iers.conf.auto_download = False; import astropy.units as u; "
        "from astropy.coordinates import AltAz, EarthLocation, SkyCoord; from astropy.time import Time; "
        "SkyCoord(10.7, 41.3, unit='deg').transform_to(AltAz(obstime=Time('2025-03-06T22:00'), "
        "location=EarthLocation.from_geodetic(10.0, 50.0)))"
    ),
}


def surroundings(scratch: Path) -> dict[str, str]:
    """Return an environment in which bytecode is kept, in the scratch folder."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPYCACHEPREFIX": str(scratch / "bytecode")}


def run(command: list[str], around: dict[str, str]) -> tuple[float, float, float | None]:
    """Return wall and processor time of a whole process and its peak memory, MB: the best of some, the disk warm."""
    walls, used_times, peak_mb = [], [], None
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=around) as process:
            if hasattr(os, "wait4"):
                _, status, used = os.wait4(process.pid, 0)
                process.returncode = os.waitstatus_to_exitcode(status)
                peak_mb = used.ru_maxrss / (2**20 if sys.platform == "darwin" else 2**10)
                used_times.append(used.ru_utime + used.ru_stime)
            else:
                process.wait()
        walls.append(time.perf_counter() - start)
        if process.returncode:
            raise subprocess.CalledProcessError(process.returncode, command)
    return min(walls[1:]), min(used_times[1:] or walls[1:]), peak_mb


def imports_s(command: list[str], around: dict[str, str]) -> float:
    """Return the time that a command spends in imports, as `python -X importtime` counts it."""
    timed = [command[0], "-X", "importtime", *command[1:]]
    told = subprocess.run(timed, env=around, capture_output=True, text=True, check=True).stderr
    return sum(int(own) for own in re.findall(r"^import time:\s+(\d+) \|", told, re.MULTILINE)) / 1e6


def main() -> None:
    """Measure."""
    with tempfile.TemporaryDirectory() as scratch:
        around = surroundings(Path(scratch))
        garden = str(Path(scratch) / "garden")
        make = f"from pathlib import Path; from sidelight.desk.demo import make_demo; make_demo(Path({garden!r}))"
        subprocess.run([sys.executable, "-c", make], check=True, env=around)
        programs = {words: [sys.executable, "-c", code] for words, code in PLAIN.items()}
        programs["sidelight --help"] = [sys.executable, "-m", "sidelight", "--help"]
        for name in COMMANDS:
            more = FEWER if name == "campaign" else ()
            command = [sys.executable, "-m", "sidelight", name, garden, "--date", "2027-03-06", *more]
            programs[f"sidelight {name}"] = command
        empty_s, rows = None, []
        for words, command in programs.items():
            wall_s, used_s, peak_mb = run(command, around)
            empty_s = used_s if empty_s is None else empty_s
            share = clock(imports_s(command, around))
            rows.append((words, clock(wall_s), clock(used_s), ratio(used_s / empty_s), share, memory(peak_mb)))
        header = (
            "whole process",
            "time",
            "processor time",
            "times an empty Python",
            "imports, on the clock",
            "peak memory",
        )
        title = "The demo's notebook with its five targets; the campaign is the quick one of 200 weathers"
        emit(Table(title, header, tuple(rows)))


if __name__ == "__main__":
    main()
