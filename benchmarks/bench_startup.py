"""How long the command takes from nothing, as whole processes, beside starting Python alone."""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RUNS = 5
COMMANDS = (("--help",), ("season",), ("setup",), ("bench",), ("night",))


def median_s(command: list[str]) -> float:
    """Return the median wall time of a whole process, after one run to warm the disk."""
    times = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def main() -> None:
    """Print each command's time and its ratio to an empty Python."""
    with tempfile.TemporaryDirectory() as scratch:
        garden = str(Path(scratch) / "garden")
        make = f"from pathlib import Path; from sidelight.desk.demo import make_demo; make_demo(Path({garden!r}))"
        subprocess.run([sys.executable, "-c", make], check=True)
        empty = median_s([sys.executable, "-c", "pass"])
        print(f"an empty Python               {empty:6.3f} s")
        for words in COMMANDS:
            rest = [] if words[0].startswith("-") else [garden, "--date", "2027-03-06"]
            took = median_s([sys.executable, "-m", "sidelight", *words, *rest])
            print(f"sidelight {words[0]:<20}{took:6.3f} s   {took / empty:5.1f} times that")


if __name__ == "__main__":
    main()
