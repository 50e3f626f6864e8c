"""Ten thousand frames: their headers read (astropy's plain reading beside it), added to the ledger, added again."""

import gzip
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

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


def timed(work: Callable[[], object]) -> float:
    """Return how long some work takes, s."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def with_astropy(paths: Iterable[Path]) -> None:
    """Read headers as one does without a thought for speed."""
    from astropy.io import fits

    for path in paths:
        header = fits.getheader(path)
        for keyword in CAMERA:
            header.get(keyword)


def main(count: int = 10_000) -> None:
    """Print each figure and the ratio to astropy's plain reading."""
    with tempfile.TemporaryDirectory() as folder:
        lights = Path(folder) / "lights"
        lights.mkdir()
        paths = [lights / f"light_{number:05d}.fits" for number in range(count)]
        for number, path in enumerate(paths):
            path.write_bytes(frame_number(number, **EXTRA))
        sample = paths[:: max(1, count // 2000)]
        with_astropy(sample[:5])
        found = find_files([lights]).files
        ours = timed(lambda: [read_frame(file) for file in found])
        theirs = timed(lambda: with_astropy(sample)) * count / len(sample)
        assert all(isinstance(read_frame(file), Frame) for file in found[:100])
        print(f"{count} headers of 70 cards, warm")
        print(f"  astropy.io.fits.getheader      {theirs:7.2f} s   ({len(sample)} read, scaled)")
        print(f"  read_frame                     {ours:7.2f} s   {theirs / ours:.1f} times as fast")
        with ThreadPoolExecutor(4) as threads:
            print(f"  read_frame, four threads       {timed(lambda: list(threads.map(read_frame, found))):7.2f} s")
        packed = Path(folder) / "packed"
        packed.mkdir()
        for path in sample:
            (packed / f"{path.name}.gz").write_bytes(gzip.compress(path.read_bytes(), 1))
        files = find_files([packed]).files
        gz = timed(lambda: [read_frame(file) for file in files]) * count / len(files)
        print(f"  read_frame, gzipped            {gz:7.2f} s   ({len(files)} read, scaled)")
        ledger_path = Path(folder) / "ledger.sqlite"
        with open_ledger(ledger_path) as ledger:

            def add() -> None:
                add_folders(ledger, [lights], targets=TARGETS)

            print(f"  add to a new ledger            {timed(add):7.2f} s")
            print(f"  add again, nothing new         {timed(add):7.2f} s")
            print(f"  totals                         {timed(lambda: totals(ledger)):7.2f} s")
            print(f"  every frame read back          {timed(lambda: all_frames(ledger)):7.2f} s")
            lights.rename(Path(folder) / "moved")
            moved = timed(lambda: add_folders(ledger, [Path(folder) / "moved"], targets=TARGETS))
            print(f"  the folder moved               {moved:7.2f} s   {len(all_frames(ledger))} frames")
        with open_ledger(Path(folder) / "other.sqlite") as ledger:

            def add_unmatched() -> None:
                add_folders(ledger, [Path(folder) / "moved"], targets=TARGETS[:-1])

            add_unmatched()
            print(f"  add again, none has a target   {timed(add_unmatched):7.2f} s")
        print(f"  opened and checked             {timed(lambda: open_ledger(ledger_path).close()):7.2f} s")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
