"""The whole job once with an installed Sidelight and nothing else: ``python smoke.py ENVIRONMENT``.

It goes on in a folder whose name has a space and foreign letters, on a machine without network, with no home folder
or one that nobody may write, and with nothing compiled beside the modules.
"""

import contextlib
import ctypes
import fcntl
import json
import os
import re
import socket
import struct
import subprocess
import sys
import tempfile
import urllib.request
from collections.abc import Iterator
from pathlib import Path

DATE = ("--date", "2027-03-06")
TARGET = "M 81"
NEW_NETWORK = 0x40000000
"""unshare(2): CLONE_NEWNET, a network of one's own, in which there is nothing."""
UP = 0x8913, 0x8914, 0x1
"""netdevice(7): SIOCGIFFLAGS, SIOCSIFFLAGS, IFF_UP."""
JSON = {
    "season": ("season", "--nights", "30"),
    "setup": ("setup",),
    "bench": ("bench",),
    "night": ("night",),
    "light": ("light", "--nights", "3"),
    "exposure": ("exposure",),
    "campaign": ("campaign", "--nights", "10", "--weathers", "200", "--quick"),
    "suggest": ("suggest", "--count", "3"),
    "ledger": ("ledger", "show"),
    "stars": ("stars", "show"),
}
PAGES = ("/", "/season", "/setup", "/bench", "/night", "/light", "/campaign", "/ledger", "/notebook", "/api/night")


def go_offline() -> bool:
    """Leave the network, keeping the loopback; False where that is not allowed."""
    if ctypes.CDLL(None, use_errno=True).unshare(NEW_NETWORK):
        return False
    read, write, up = UP
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sock:
        asked = fcntl.ioctl(sock, read, struct.pack("16sh14x", b"lo", 0))
        flags = struct.unpack("16sh14x", asked)[1]
        fcntl.ioctl(sock, write, struct.pack("16sh14x", b"lo", flags | up))
    return True


def surroundings(number: int, scratch: Path) -> dict[str, str]:
    """Return an environment: no home, one that is a file, or one that may not be written, in turn."""
    plain = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "XDG_", "HOME"))}
    plain |= {"PYTHONDONTWRITEBYTECODE": "1", "PYTHONSAFEPATH": "1", "PYTHONWARNINGS": "error"}
    closed = scratch / "closed"
    closed.mkdir(mode=0o555, exist_ok=True)
    return plain | ({}, {"HOME": os.devnull}, {"HOME": str(closed)})[number % 3]


class Job:
    """An installed Sidelight, asked in one folder."""

    def __init__(self, environment: Path, scratch: Path) -> None:
        self.program = environment / ("Scripts/sidelight.exe" if os.name == "nt" else "bin/sidelight")
        self.scratch = scratch
        self.asked = 0

    def ask(self, *words: str, fine: tuple[int, ...] = (0,)) -> str:
        """Return what the command prints; stop when it ends otherwise than it should."""
        self.asked += 1
        env = surroundings(self.asked, self.scratch)
        done = subprocess.run(  # noqa: S603 - our own program
            [self.program, *words], cwd=self.scratch, env=env, capture_output=True, check=False, encoding="utf-8"
        )
        if done.returncode not in fine or "Traceback" in done.stderr:
            sys.exit(f"sidelight {' '.join(words)} ended with {done.returncode}:\n{done.stdout}{done.stderr}")
        return done.stdout

    @contextlib.contextmanager
    def served(self, notebook: str) -> Iterator[str]:
        """Serve the page and give its address; end it afterwards."""
        words = [self.program, "serve", notebook, "--port", "0", "--no-browser"]
        log = (self.scratch / "served.log").open("w+", encoding="utf-8")
        env = surroundings(0, self.scratch) | {"PYTHONUNBUFFERED": "1"}
        page = subprocess.Popen(  # noqa: S603 - our own program
            words, cwd=self.scratch, env=env, stdout=subprocess.PIPE, stderr=log, encoding="utf-8"
        )
        try:
            for line in page.stdout:
                if found := re.search(r"http://127\.0\.0\.1:\d+", line):
                    yield found[0]
                    break
        finally:
            page.terminate()
            page.communicate(timeout=60)
            log.seek(0)
            said = log.read()
            log.close()
        if "Traceback" in said or "Error" in said:
            sys.exit(f"The page said:\n{said}")


def fetched(address: str) -> str:
    """Return a page; it must come whole."""
    with urllib.request.urlopen(address, timeout=120) as answer:  # noqa: S310 - the address is our own server's
        text = answer.read().decode("utf-8")
        if answer.status != 200 or not text:
            sys.exit(f"{address} answered {answer.status}")
    return text


def check_page(job: Job, notebook: str) -> None:
    """Fetch every page, and everything of the page's own that they name."""
    with job.served(notebook) as address:
        parts = set()
        for path in PAGES:
            text = fetched(f"{address}{path}?date=2027-03-06")
            parts |= set(re.findall(r'(?:src|href)="(/(?:static|pictures|palette)[^"#]*)"', text))
        files = {part for part in parts if part.startswith("/static/")}
        if len(files) < 10:
            sys.exit(f"The pages name only {sorted(files)}")
        for part in sorted(parts):
            fetched(address + part.replace("&amp;", "&"))
        print(f"smoke: {len(PAGES)} pages and {len(parts)} parts of them come")


def frame(path: Path) -> None:
    """Write a light frame of one pixel."""
    cards = {
        "SIMPLE": "T", "BITPIX": "16", "NAXIS": "2", "NAXIS1": "1", "NAXIS2": "1", "IMAGETYP": "'LIGHT'",
        "DATE-OBS": "'2027-03-06T21:00:00'", "EXPTIME": "300.0", "OBJECT": f"'{TARGET}'", "FILTER": "'L'",
    }  # fmt: skip
    header = "".join(f"{name:8}= {value:>20}".ljust(80) for name, value in cards.items()) + "END"
    path.parent.mkdir()
    path.write_bytes(header.ljust(2880).encode() + bytes(2880))


def main() -> None:
    """Do the whole job once."""
    offline = sys.platform == "linux" and go_offline()
    print("smoke: without network" if offline else "smoke: the network could not be left")
    with tempfile.TemporaryDirectory() as folder:
        scratch = Path(folder) / "Gärten und Sterne ★"
        scratch.mkdir()
        job = Job(Path(sys.argv[1]).absolute(), scratch)
        print("smoke:", job.ask("--version").strip())
        job.ask("demo", "mein Garten")
        for name, (word, *more) in JSON.items():
            # "show" comes before the notebook, and has no date
            words = (word, *more, "mein Garten") if more == ["show"] else (word, "mein Garten", *more, *DATE)
            print(f"smoke: {name} answers with {len(json.loads(job.ask(*words, '--json')))} fields")
        for word in ("bench", "night"):
            job.ask(word, "mein Garten", *DATE, "--card", f"{word} ü.html", "--pictures", "Bilder é")
            assert "<svg" in (scratch / f"{word} ü.html").read_text(encoding="utf-8")
        assert len(list((scratch / "Bilder é").glob("*.svg"))) >= 3
        frame(scratch / "Lichter" / "erstes ö.fits")
        assert "1 new" in job.ask("ledger", "add", "mein Garten", "Lichter")
        if offline:
            job.ask("stars", "fetch", "mein Garten", fine=(1, 2))
        job.ask("ledger", "hours", "mein Garten", TARGET, "2.5", "--filter", "L", "--night", "2027-03-06")
        report = json.loads(job.ask("doctor", "mein Garten", "--json", fine=(0, 1)))
        print("smoke: doctor says", json.dumps(report)[:200])
        check_page(job, "mein Garten")
    print("smoke: passed")


if __name__ == "__main__":
    main()
