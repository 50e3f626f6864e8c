"""Solved images as the desk needs them: read, put on their side of the meridian and on their night."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from sidelight.desk.clock import utc
from sidelight.desk.frames import target_places
from sidelight.ground.angles import separation_deg
from sidelight.ground.errors import BadInput, Problem
from sidelight.ledger.cards import Cards
from sidelight.ledger.files import FoundFile
from sidelight.ledger.frames import Frame, read_frame
from sidelight.ledger.headers import FitsHeader, Unreadable, read_header
from sidelight.ledger.instants import start_of
from sidelight.ledger.pointing import pointing_of
from sidelight.ledger.wcs import SolvedImage, solution_of, solved_image, true_focal_length_mm
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import Side, flip_hour_angle_deg
from sidelight.rig.records import Sensor
from sidelight.sky.altitude import apparent_place, hour_angle_deg
from sidelight.sky.flip import side_at
from sidelight.sky.night import evening_date

_WHOLE = 0.02
"""A picture whose sides are the sensor's to this share, after binning, is the whole sensor; solvers trim edges."""


@dataclass(frozen=True, eq=False)
class SolvedFrame:
    """One solved image. middle_mjd None: the header has no time. target None: no target of the notebook lies there.

    focal_length_mm : by the image's scale and the camera's pixel. whole : the picture shows the whole sensor.
    asked_ra_deg, asked_dec_deg : where the mount said that it pointed, None when the header does not tell.
    """

    file: str
    image: SolvedImage
    side: Side
    middle_mjd: float | None
    night: dt.date | None
    target: str | None
    focal_length_mm: float
    binning_count: int
    whole: bool
    asked_ra_deg: float | None
    asked_dec_deg: float | None

    @property
    def start_utc(self) -> dt.datetime | None:
        """The middle of the exposure, to the second."""
        return None if self.middle_mjd is None else utc(self.middle_mjd)


def read_solved(notebook: Notebook, files: Sequence[Path], sides: Sequence[Side] = ()) -> tuple[SolvedFrame, ...]:
    """Return solved images; raises BadInput with every file that cannot be used, and what to do.

    sides : none (the header's time and the flip rule decide), one for all, or one for each file.
    """
    if not files:
        raise BadInput(Problem("No image was named.", expected="one or more solved FITS images"))
    if len(sides) not in (0, 1, len(files)):
        raise BadInput(
            Problem(
                f"{len(sides)} sides were named for {len(files)} images.",
                expected="none, one for all, or one for each",
            )
        )
    said = list(sides) * (len(files) if len(sides) == 1 else 1)
    found: list[SolvedFrame] = []
    problems: list[Problem] = []
    for number, path in enumerate(files):
        try:
            found.append(_read(notebook, path, said[number] if said else None))
        except BadInput as refusal:
            problems += [replace(one, file=one.file or str(path)) for one in refusal.problems]
    if problems:
        raise BadInput(problems)
    return tuple(found)


def _read(notebook: Notebook, path: Path, side: Side | None) -> SolvedFrame:
    """Read one image."""
    if not path.exists():
        advice = "Check its name, and whether its drive is connected."
        raise BadInput(Problem("There is no such file.", file=str(path), suggestion=advice))
    header = read_header(path)
    if isinstance(header, Unreadable):
        raise BadInput(Problem(header.reason, file=str(path), expected="a FITS image with a celestial solution"))
    image = solved_image(solution_of(header))
    middle = _middle_mjd(header, path)
    binning, whole = _binning(header, notebook.rig.camera)
    asked = _asked(header)
    scale, pixel = image.scale_arcsec_per_px, notebook.rig.camera.pixel_um
    return SolvedFrame(
        file=str(path),
        image=image,
        side=_side(notebook, image, middle, side, path),
        middle_mjd=middle,
        night=None if middle is None else evening_date(notebook.site, middle),
        target=_target(notebook, image),
        focal_length_mm=true_focal_length_mm(scale, pixel, binning),
        binning_count=binning,
        whole=whole,
        asked_ra_deg=asked[0] if asked else None,
        asked_dec_deg=asked[1] if asked else None,
    )


def _middle_mjd(header: FitsHeader, path: Path) -> float | None:
    """Return the middle of the exposure, or its start when the exposure is not told."""
    frame = read_frame(FoundFile(str(path), 0, 0))
    return frame.middle_mjd if isinstance(frame, Frame) else start_of(header.cards, 0.0).mjd


def _side(notebook: Notebook, image: SolvedImage, middle_mjd: float | None, said: Side | None, path: Path) -> Side:
    """Return the side that the mount was on: as said, else by the flip rule."""
    flip_deg = flip_hour_angle_deg(notebook.rig.mount)
    if flip_deg is None:
        return "any"
    if said is not None:
        return said
    if middle_mjd is None:
        raise BadInput(
            Problem(
                "The header has no time, so the side of the meridian is unknown.",
                file=str(path),
                suggestion="Say --side east or --side west: the side that the target was on.",
            )
        )
    ra_deg, _ = apparent_place(image.centre_ra_deg, image.centre_dec_deg, middle_mjd)
    west = str(side_at(hour_angle_deg(ra_deg, middle_mjd, notebook.site), flip_deg)) == "west"
    return "west" if west else "east"


def _binning(header: FitsHeader, camera: Sensor) -> tuple[int, bool]:
    """Return how many pixels of the camera make one of the picture, and whether it shows the whole sensor."""
    across, high = camera.width_px / header.width_px, camera.height_px / header.height_px
    binning = max(1, round(across))
    whole = abs(across / binning - 1.0) < _WHOLE and abs(high / binning - 1.0) < _WHOLE
    if whole:
        return binning, True
    said = header.cards.get("XBINNING")
    return (said if isinstance(said, int) and 1 <= said <= 16 else 1), False


def _asked(header: FitsHeader) -> tuple[float, float] | None:
    """Return where the mount said it pointed: the header's place without its solution."""
    raw = {keyword: value for keyword, value in header.cards.raw.items() if not keyword.startswith("CTYPE")}
    place = pointing_of(replace(header, cards=Cards(raw, header.cards.more)))
    return None if place.ra_deg is None or place.dec_deg is None else (place.ra_deg, place.dec_deg)


def _target(notebook: Notebook, image: SolvedImage) -> str | None:
    """Return the nearest target whose place lies in the picture, or within the reach that frames are matched by."""
    reach_deg = max(notebook.campaign.frames.match_within_arcmin / 60.0, min(image.width_deg, image.height_deg) / 2)
    away = [
        (float(separation_deg(image.centre_ra_deg, image.centre_dec_deg, one.ra_deg, one.dec_deg)), one.key)
        for one in target_places(notebook)
    ]
    return min(away)[1] if away and min(away)[0] <= reach_deg else None
