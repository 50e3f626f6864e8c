"""The tray: solved images that were dropped on the page, kept for as long as the server runs, and what they said."""

import re
import secrets
import shutil
import tempfile
import weakref
from collections import OrderedDict
from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from threading import Lock

from starlette.requests import ClientDisconnect

from sidelight.desk.first_image_records import FirstImageReport
from sidelight.ground.errors import BadInput, Problem
from sidelight.web.guard import LARGEST_BODY_BYTES

MOST_IMAGES = 24
MOST_CHECKS = 8
LONGEST_FILE_BYTES = 1 << 30


@dataclass(frozen=True)
class TrayImage:
    """An image on the tray: the name it has on the page, the name its owner gave it, and how many bytes came."""

    image: str
    name: str
    bytes_count: int


class Tray:
    """Images in a scratch folder of their own; the oldest go when it is full, and all of them with the server."""

    def __init__(self) -> None:
        self._folder: str | None = None
        self._images: OrderedDict[str, Path] = OrderedDict()
        self._checks: OrderedDict[str, FirstImageReport] = OrderedDict()
        self._lock = Lock()

    def _place(self, name: str) -> tuple[str, Path]:
        """Return a new image's name on the page and its path, which holds only harmless letters of its name."""
        with self._lock:
            if self._folder is None:
                self._folder = tempfile.mkdtemp(prefix="sidelight-")
                weakref.finalize(self, shutil.rmtree, self._folder, ignore_errors=True)
            image = secrets.token_hex(8)
            plain = re.sub(r"[^\w.+ -]", "_", PurePosixPath(name.replace("\\", "/")).name, flags=re.ASCII)
            path = Path(self._folder) / image / (plain.strip(" .")[-100:] or "image.fits")
            path.parent.mkdir()
            return image, path

    async def take(self, name: str, body: AsyncIterator[bytes], whole_bytes: int | None = None) -> TrayImage:
        """Lay an image on the tray as it comes in.

        whole_bytes : how long the file is when only its beginning comes; what is left out stays empty.
        Raises BadInput for an empty or too long one, with nothing kept.
        """
        image, path = self._place(name)
        length = 0
        try:
            with path.open("wb") as file:
                async for piece in body:
                    length += len(piece)
                    if length > LARGEST_BODY_BYTES:
                        raise BadInput(Problem("The file is larger than this server takes.", file=name))
                    file.write(piece)
                if whole_bytes is not None and whole_bytes > length > 0:
                    file.truncate(whole_bytes)
            if not length:
                raise BadInput(Problem("The file is empty.", file=name, expected="a FITS image"))
        except (BadInput, ClientDisconnect):
            shutil.rmtree(path.parent, ignore_errors=True)
            raise
        with self._lock:
            self._images[image] = path
            while len(self._images) > MOST_IMAGES:
                shutil.rmtree(self._images.popitem(last=False)[1].parent, ignore_errors=True)
        return TrayImage(image, path.name, length)

    def paths(self, images: Sequence[str]) -> tuple[Path, ...]:
        """Return where images lie; raises BadInput for those that are no longer there."""
        with self._lock:
            lost = [one for one in images if one not in self._images]
            found = tuple(self._images[one] for one in images if one in self._images)
        if lost:
            raise BadInput(Problem("An image is no longer on the tray.", suggestion="Drop it on the page again."))
        return found

    def remember(self, report: FirstImageReport) -> str:
        """Keep what images said for its pictures; return the name it goes by."""
        name = secrets.token_hex(8)
        with self._lock:
            self._checks[name] = report
            while len(self._checks) > MOST_CHECKS:
                self._checks.popitem(last=False)
        return name

    def recall(self, check: str) -> FirstImageReport:
        """Return what images said; raises BadInput when that is forgotten."""
        with self._lock:
            found = self._checks.get(check)
        if found is None:
            raise BadInput(Problem("This check is no longer known.", suggestion="Check the images again."))
        return found

    def named(self, problems: Sequence[Problem]) -> tuple[Problem, ...]:
        """Return problems with files by the names that their owner gave them, not by where they lie."""
        return tuple(
            replace(one, file=self._own_name(one.file), message=self._plain(one.message)) for one in problems
        )

    def by_name(self, report: FirstImageReport) -> FirstImageReport:
        """Return a report with files by the names that their owner gave them."""
        images = tuple(replace(one, file=Path(one.file).name) for one in report.images)
        stem = report.stem
        if stem:
            stem = replace(stem, stars=tuple(replace(one, file=Path(one.file).name) for one in stem.stars))
        return replace(report, images=images, stem=stem, notes=tuple(self._plain(one) for one in report.notes))

    def _own_name(self, file: str | None) -> str | None:
        """Return a path on the tray as a bare name, any other as it is."""
        if file is None or self._folder is None or not file.startswith(self._folder):
            return file
        return Path(file).name

    def _plain(self, text: str) -> str:
        """Return a sentence without the tray's own path."""
        if self._folder is None:
            return text
        return re.sub(re.escape(self._folder) + r"[\\/][0-9a-f]+[\\/]", "", text)
