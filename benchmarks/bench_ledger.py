"""The ledger: headers of frames read beside astropy's plain reading, frames added, added again, moved."""

import gzip
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.measure import Table, clock, emit, figure, grow, seconds
from tests.strategies.ledger import CAMERA, frame_number

from sidelight.ledger.adding import add_folders
from sidelight.ledger.changes import all_frames
from sidelight.ledger.files import find_files
from sidelight.ledger.frames import Frame, read_frame
from sidelight.ledger.match import TargetPlace
from sidelight.ledger.store import open_ledger
from sidelight.ledger.totals import totals

TARGETS = [TargetPlace(f"field {number}", 3.6 * number, -30.0, 1.0) for number in range(100)]
TARGETS.append(TargetPlace("M 31", 10.6847, 41.2687, 1.0))
EXTRA = {f"KEY{number}": number * 1.5 for number in range(50)}
COUNT, SAMPLE = 10_000, 1000
SIZES = (100, 1000, COUNT, 30_000)


def written(folder: Path, count: int) -> list[Path]:
    """Write frames into a folder, headers of 70 cards each, and return their paths."""
    folder.mkdir()
    paths = [folder / f"light_{number:05d}.fits" for number in range(count)]
    for number, path in enumerate(paths):
        path.write_bytes(frame_number(number, **EXTRA))
    return paths


def with_astropy(paths: Iterable[Path]) -> None:
    """Read headers as one does without a thought for speed."""
    from astropy.io import fits

    for path in paths:
        header = fits.getheader(path)
        for keyword in CAMERA:
            header.get(keyword)


def adding(scratch: Path) -> None:
    """Print what more frames cost: each size added to a new ledger."""
    lights = scratch / "some"

    def added(count: int) -> Callable[[], object]:
        shutil.rmtree(lights, ignore_errors=True)
        written(lights, count)

        def work() -> None:
            with open_ledger(scratch / f"{count}.sqlite") as ledger:
                add_folders(ledger, [lights], targets=TARGETS)

        return work

    grow("frames added to a new ledger", "frames", "frame", SIZES, added, repeats=1)

    def summed(count: int) -> Callable[[], object]:
        return lambda: _summed(scratch / f"{count}.sqlite")

    grow("totals of a ledger", "frames", "frame", SIZES, summed)
    shutil.rmtree(lights)


def _summed(path: Path) -> None:
    with open_ledger(path) as ledger:
        totals(ledger)


def reading(scratch: Path) -> None:
    """Print reading beside astropy, then what else happens to ten thousand frames."""
    lights = scratch / "lights"
    paths = written(lights, COUNT)
    sample = paths[:: COUNT // SAMPLE]
    found = find_files([lights]).files
    assert all(isinstance(read_frame(file), Frame) for file in found[:100])
    figure(
        "headers of frames read",
        f"{COUNT:,} FITS files of 70 cards",
        lambda: [read_frame(file) for file in found],
        f"astropy.io.fits.getheader ({SAMPLE:,} read, scaled)",
        lambda: with_astropy(sample),
        times=COUNT / SAMPLE,
        repeats=1,
    )
    packed = scratch / "packed"
    packed.mkdir()
    for path in sample:
        (packed / f"{path.name}.gz").write_bytes(gzip.compress(path.read_bytes(), 1))
    files = find_files([packed]).files
    figure(
        "gzipped headers read",
        f"{SAMPLE:,} files of 70 cards",
        lambda: [read_frame(file) for file in files],
        "astropy.io.fits.getheader",
        lambda: with_astropy(packed.iterdir()),
    )
    with ThreadPoolExecutor(4) as threads:
        begin = time.perf_counter()
        list(threads.map(read_frame, found))
        times = {"headers read by four threads, on the clock": time.perf_counter() - begin}
    times |= handled(scratch, lights)
    rows = tuple((what, clock(taken)) for what, taken in times.items())
    emit(Table(f"What else happens to {COUNT:,} frames", ("what", "time"), rows))


def handled(scratch: Path, lights: Path) -> dict[str, float]:
    """Return what adding again, looking back and moving take."""
    times, moved = {}, scratch / "moved"
    path = scratch / "ledger.sqlite"
    with open_ledger(path) as ledger:
        add_folders(ledger, [lights], targets=TARGETS)
        times["added again, nothing new"] = seconds(lambda: add_folders(ledger, [lights], targets=TARGETS))
        times["every frame read back"] = seconds(lambda: all_frames(ledger))
        lights.rename(moved)
        times["the folder moved, added again"] = seconds(lambda: add_folders(ledger, [moved], targets=TARGETS), 1)
    with open_ledger(scratch / "other.sqlite") as ledger:
        add_folders(ledger, [moved], targets=TARGETS[:-1])
        again_s = seconds(lambda: add_folders(ledger, [moved], targets=TARGETS[:-1]))
        times["added again, none has a target"] = again_s
    times["the ledger opened and checked"] = seconds(lambda: open_ledger(path).close())
    return times


def main() -> None:
    """Measure."""
    with tempfile.TemporaryDirectory() as scratch:
        adding(Path(scratch))
        reading(Path(scratch))


if __name__ == "__main__":
    main()
