"""Run every benchmark and write docs/speed.md: what was measured, on which machine, and how busy it was.

python benchmarks/run_all.py
"""

import os
import platform
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

HERE = Path(__file__).resolve().parent
PAGE = HERE.parent / "docs" / "speed.md"
LONGEST_S = 240
HEAD = """<!-- Made by benchmarks/run_all.py; run it, do not edit this page. -->

# Speed

Every figure stands beside the plain way of doing the same in the same run, where there is one: ratios travel between
machines better than seconds. Nothing here passes or fails; the tests hold no timing.
"""


def machine() -> str:
    """Return what the machine is, in a few lines."""
    info = Path("/proc/cpuinfo")
    names = (
        [line.split(":", 1)[1].strip() for line in info.read_text().splitlines() if line.startswith("model name")]
        if info.exists()
        else []
    )
    packages = ", ".join(f"{name} {version(name)}" for name in ("numpy", "pyerfa", "scipy", "astropy"))
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"
    return (
        f"Machine: {names[0] if names else platform.processor() or platform.machine()}, {os.cpu_count()} cores, "
        f"{platform.system()}; Python {platform.python_version()}, {packages}; "
        f"load average when the run began: {load}."
    )


def main() -> None:
    """Run the benchmarks one after the other."""
    parts = [HEAD, machine(), ""]
    for script in sorted(HERE.glob("bench_*.py")):
        print(script.name, flush=True)
        title = script.read_text(encoding="utf-8").split('"""')[1].strip().splitlines()[0]
        try:
            done = subprocess.run(
                [sys.executable, str(script)],
                capture_output=True,
                text=True,
                encoding="utf-8",
                check=False,
                timeout=LONGEST_S,
            )
        except subprocess.TimeoutExpired:
            parts += [f"## {script.stem}", "", f"{title} Not finished within {LONGEST_S} s; run it by itself.", ""]
            continue
        output = done.stdout.rstrip() if done.returncode == 0 else f"failed:\n{done.stderr.rstrip()}"
        parts += [
            f"## {script.stem.removeprefix('bench_').replace('_', ' ')}",
            "",
            title,
            "",
            "```",
            output,
            "```",
            "",
        ]
        if done.returncode:
            print(done.stderr, file=sys.stderr)
    PAGE.write_text("\n".join(parts), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
