"""For a machine without a network: a file to carry to another one, and the way back."""

import json
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sidelight.ground.errors import BadInput, Problem
from sidelight.stars import cache, errand_script
from sidelight.stars.answer import Broken, Refused, read_answer
from sidelight.stars.doubts import cut_by_distance, reached_depth_mag
from sidelight.stars.fetching import FetchReport, cone_for, split
from sidelight.stars.service import GAIA_DR3, Cone, ConeService, SkyField

FILE_NAME = "star-errand.py"
FINE_CONE_DEG = 0.4
LARGEST_ANSWER_BYTES = 300_000_000


def write_errand(
    folder: Path, fields: Sequence[SkyField], service: ConeService = GAIA_DR3, limit_mag: float = 14.0
) -> Path | None:
    """Write a program that fetches what is missing, needs nothing but Python, and can be carried anywhere.

    Returns its path, None when nothing is missing. The circles are small (0.4 degrees), so that few answers are cut.
    """
    pieces, _ = cache.load_all(folder)
    circles: list[dict[str, Any]] = []
    for field in fields:
        for cone in _fine(cone_for(field)):
            if not cache.covering(pieces, cone, service.url, limit_mag):
                circles.append({"field": field.name, **vars(cone)})
    if not circles:
        return None
    return _write(folder, service, limit_mag, circles)


def _write(folder: Path, service: ConeService, limit_mag: float, circles: list[dict[str, Any]]) -> Path:
    """Write the program for a list of circles."""
    errand = {
        "service": service.name,
        "url": service.url,
        "limit_mag": limit_mag,
        "pause_s": service.pause_s,
        "extra": {name: value.format(limit_mag=f"{limit_mag:.2f}") for name, value in service.extra},
        "circles": circles,
    }
    program = Path(errand_script.__file__).read_text(encoding="utf-8")
    content = f"ERRAND = {json.dumps(errand, indent=1, ensure_ascii=True)}\n\nrun(ERRAND)\n"
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / FILE_NAME
    path.write_text(program + content, encoding="utf-8")
    return path


def _fine(cone: Cone) -> list[Cone]:
    """Return small cones that cover a cone."""
    if cone.radius_deg <= FINE_CONE_DEG:
        return [cone]
    return [small for part in split(cone) for small in _fine(part)]


def import_errand(folder: Path, path: Path, service: ConeService = GAIA_DR3) -> FetchReport:
    """Take in what an errand brought, each answer judged as if it had just been fetched.

    Answers that are missing, cut short or damaged go into a new errand, written beside the stars and named in the
    notes. Raises BadInput when the file is no errand's, or one for another service.
    """
    brought, bodies = _open(path)
    if brought.url != service.url:
        message = f"This errand was run for another service ({brought.url})."
        raise BadInput(Problem(message, file=str(path), expected=service.url))
    limit_mag = brought.limit_mag
    notes: list[str] = []
    again: list[dict[str, Any]] = []
    new: list[Path] = []
    stars = 0
    for number, (circle, cone) in enumerate(brought.circles, start=1):
        body = bodies.get(f"{number:04d}.xml")
        try:
            answer = None if body is None else read_answer(body, "", cone, service, limit_mag)
        except (Broken, Refused) as error:
            notes.append(f"Answer {number} ({circle['field']}): {error}.")
            answer = None
        if answer is None:
            again.append(circle)
        elif answer.truncated or cut_by_distance(cone, answer):
            again += [{"field": circle["field"], **vars(part)} for part in split(cone)]
        else:
            depth_mag = reached_depth_mag(answer.stars, limit_mag)
            piece = cache.new_piece(service, cone, limit_mag, depth_mag, answer.stars, answer.notes)
            new.append(cache.save(folder, piece))
            stars += len(answer.stars)
    if again:
        again_path = _write(folder, service, limit_mag, again)
        notes.append(f"{len(again)} circles are still missing; {again_path} is a new errand for them.")
    return FetchReport(service.name, limit_mag, 0, stars, 0, tuple(new), tuple(notes))


@dataclass(frozen=True)
class _Brought:
    """An errand that was run: each circle as it was written, and as a cone."""

    url: str
    limit_mag: float
    circles: tuple[tuple[dict[str, Any], Cone], ...]


def _brought(errand: Any) -> _Brought:  # noqa: ANN401 - whatever JSON holds
    """Return what a list of circles says; raises what reading wrong kinds raises, and ValueError."""
    circles = []
    for one in errand["circles"]:
        cone = Cone(float(one["ra_deg"]), float(one["dec_deg"]), float(one["radius_deg"]))
        if not (abs(cone.ra_deg) <= 360.0 and abs(cone.dec_deg) <= 90.0 and 0.0 < cone.radius_deg <= 180.0):
            raise ValueError("one of its circles is none on the sky")
        circles.append(({"field": str(one["field"]), **vars(cone)}, cone))
    limit_mag = float(errand["limit_mag"])
    if not -2.0 <= limit_mag <= 25.0:
        raise ValueError("its limit is no magnitude")
    return _Brought(str(errand["url"]), limit_mag, tuple(circles))


def _open(path: Path) -> tuple[_Brought, dict[str, bytes]]:
    """Return the errand and the answers in a file."""
    try:
        with zipfile.ZipFile(path) as archive:
            brought = _brought(json.loads(archive.read("errand.json")))
            bodies = {}
            for info in archive.infolist():
                if info.filename.endswith(".xml") and info.file_size <= LARGEST_ANSWER_BYTES:
                    bodies[info.filename] = archive.read(info)
            return brought, bodies
    except cache.DAMAGED as error:
        message = f"This is not what an errand brings: {str(error) or type(error).__name__}."
        raise BadInput(Problem(message, file=str(path), expected="star-errand.zip")) from error
