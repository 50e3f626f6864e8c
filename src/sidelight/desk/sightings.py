"""Guide stars seen on the guide camera while an image was taken: read, recognised, fitted."""

import csv
import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sidelight.desk.solved import SolvedFrame
from sidelight.desk.starlight import guide_catalogue, guide_limits
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.text_files import read_text
from sidelight.ledger.stem_fit import GuideSighting, StemFit, fit_stem
from sidelight.notebook.read import Notebook
from sidelight.rig.guider import guider_of, place_on_sensor_px, whole_rectangle
from sidelight.rig.mount import turn_on_side_deg
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import OffAxisGuider

SEEN_PX = 2.0
"""How far off a guide star's place is taken to be along each axis: its centroid, and guiding during the image."""
_CLEARLY = 0.5
"""A star is recognised when it lies less than this times as far from where it was seen as the next one does."""


@dataclass(frozen=True)
class GuideSpot:
    """A star on the guide camera's picture, pixels to the right of its left edge and below its upper edge.

    ra_deg, dec_deg : which star it is, ICRS; None to have it recognised.
    """

    file: str
    x_px: float
    y_px: float
    ra_deg: float | None = None
    dec_deg: float | None = None


@dataclass(frozen=True)
class SeenStar:
    """A guide star as it was seen, recognised in the catalogue (or named); ICRS."""

    file: str
    x_px: float
    y_px: float
    ra_deg: float
    dec_deg: float
    mag: float | None


def spots_from_options(texts: Sequence[str], files: Sequence[Path]) -> tuple[GuideSpot, ...]:
    """Read one text "X,Y" or "X,Y,RA,DEC" for each image in order, "-" for an image without; raises BadInput."""
    if not texts:
        return ()
    if len(texts) != len(files):
        message = f"{len(texts)} guide stars were given for {len(files)} images."
        raise BadInput(
            Problem(message, key="--guide-star", expected='one for each image in the same order, "-" for none')
        )
    pairs = [(text, path) for text, path in zip(texts, files, strict=True) if text.strip() != "-"]
    return tuple(_spot(str(path), text.split(","), text, None) for text, path in pairs)


def spots_from_table(table: Path, files: Sequence[Path]) -> tuple[GuideSpot, ...]:
    """Read a CSV file with the columns image, x_px, y_px and, if wanted, ra_deg and dec_deg; raises BadInput.

    The image is named by its file's name. Several stars of one image take a row each.
    """
    expected = "image,x_px,y_px and, if you like, ra_deg,dec_deg"
    rows = csv.DictReader(read_text(table, "The table", f"CSV in UTF-8 with the columns {expected}").splitlines())
    try:
        return _spots_of(rows, table, files, expected)
    except csv.Error as error:
        raise BadInput(Problem(f"This is no table: {error}.", str(table), expected=expected)) from error


def _spots_of(
    rows: "csv.DictReader[str]", table: Path, files: Sequence[Path], expected: str
) -> tuple[GuideSpot, ...]:
    """Return the spots of a table's rows."""
    lacking = [name for name in ("image", "x_px", "y_px") if name not in (rows.fieldnames or [])]
    if lacking:
        raise BadInput(Problem(f"The table has no column {', '.join(lacking)}.", str(table), expected=expected))
    known = {path.name: str(path) for path in files}
    spots, problems = [], []
    for row in rows:
        name = (row["image"] or "").strip()
        if name not in known:
            problems.append(
                Problem(f'"{name}" is none of the images.', str(table), line=rows.line_num, expected=", ".join(known))
            )
            continue
        cells = [row["x_px"] or "", row["y_px"] or "", row.get("ra_deg") or "", row.get("dec_deg") or ""]
        try:
            spots.append(_spot(known[name], [one for one in cells if one.strip()], ",".join(cells), table))
        except BadInput as refusal:
            problems += refusal.problems
    if problems:
        raise BadInput(problems)
    return tuple(spots)


def _spot(file: str, cells: Sequence[str], text: str, table: Path | None) -> GuideSpot:
    """Return a spot from two or four numbers."""
    try:
        values = [float(one) for one in cells]
    except ValueError:
        values = []
    sound = len(values) in (2, 4) and all(math.isfinite(one) for one in values)
    if not sound or (len(values) == 4 and not (0 <= values[2] <= 360 and -90 <= values[3] <= 90)):
        raise BadInput(
            Problem(
                f'"{text}" is no place of a guide star.',
                file=str(table) if table else None,
                key=None if table else "--guide-star",
                expected="X,Y in pixels from the left and the upper edge, or X,Y,RA,DEC with the star in degrees",
            )
        )
    return GuideSpot(file, *values)


def recognise(
    notebook: Notebook, date: dt.date, frame: SolvedFrame, spot: GuideSpot, guider_angle_deg: float
) -> tuple[SeenStar | None, str]:
    """Return the star that was seen, or None with the reason.

    guider_angle_deg : where the stem is believed to stand, for targets in the west. The star is the one nearest to
    the spot when it is clearly nearer than any other that the guider can use; else the person has to name it.
    """
    name = Path(spot.file).name
    if spot.ra_deg is not None and spot.dec_deg is not None:
        return SeenStar(name, spot.x_px, spot.y_px, spot.ra_deg, spot.dec_deg, None), ""
    guider = guider_of(notebook.rig)
    focal_mm = notebook.rig.telescope.effective_focal_length_mm
    whole = whole_rectangle(guider)
    size_mm = 2 * float(np.hypot(whole.half_along_mm, whole.half_across_mm))
    outer_deg = float(np.degrees(np.arctan((whole.stem_radius_mm + size_mm) / focal_mm)))
    at = frame.image.centre_ra_deg, frame.image.centre_dec_deg
    stars = guide_catalogue(notebook, date).cone(*at, outer_deg, guide_limits(notebook)[0])
    x_mm, y_mm = plane_mm(stars.ra_deg, stars.dec_deg, *at, focal_mm)
    stands = guider_angle_deg + turn_on_side_deg(notebook.rig.mount, frame.side)
    x_px, y_px = place_on_sensor_px(x_mm, y_mm, stands, guider)
    seen_x, seen_y = from_middle_px(spot, guider)
    away = np.hypot(x_px - seen_x, y_px - seen_y)
    order = np.argsort(away)
    reach_px = size_mm / (guider.sensor.pixel_um / 1000.0)
    if not len(order) or away[order[0]] > reach_px:
        return None, f"{name}: no star of the catalogue lies near the guide star; name it as X,Y,RA,DEC."
    if len(order) > 1 and away[order[0]] > _CLEARLY * away[order[1]]:
        told = " or ".join(
            f"{stars.ra_deg[k]:.5f},{stars.dec_deg[k]:+.5f} ({stars.mag[k]:.1f} mag)" for k in order[:2]
        )
        return None, f"{name}: which star the guide star is stays open, {told}; name it as X,Y,RA,DEC."
    k = int(order[0])
    return SeenStar(
        name, spot.x_px, spot.y_px, float(stars.ra_deg[k]), float(stars.dec_deg[k]), float(stars.mag[k])
    ), ""


def from_middle_px(spot: GuideSpot, guider: OffAxisGuider) -> tuple[float, float]:
    """Return a spot in pixels right of and above the middle of the guide sensor."""
    return spot.x_px - guider.sensor.width_px / 2, guider.sensor.height_px / 2 - spot.y_px


def stem_fit(
    notebook: Notebook, seen: Sequence[tuple[SolvedFrame, SeenStar]], focal_error_mm: float
) -> StemFit | None:
    """Return where the stem is by the stars seen, None without any."""
    if not seen:
        return None
    guider = guider_of(notebook.rig)
    focal_mm = notebook.rig.telescope.effective_focal_length_mm
    return fit_stem([_sighting(frame, star, guider) for frame, star in seen], focal_mm, focal_error_mm=focal_error_mm)


def _sighting(frame: SolvedFrame, star: SeenStar, guider: OffAxisGuider) -> GuideSighting:
    """Return a star as the fit takes it: along and across the stem, as the rig's seating has the sensor."""
    pixel_mm = guider.sensor.pixel_um / 1000.0
    right, up = from_middle_px(GuideSpot(star.file, star.x_px, star.y_px), guider)
    along, across = (right, up) if guider.long_side == "along" else (up, -right)
    return GuideSighting(
        up_deg=frame.image.up_deg,
        centre_ra_deg=frame.image.centre_ra_deg,
        centre_dec_deg=frame.image.centre_dec_deg,
        star_ra_deg=star.ra_deg,
        star_dec_deg=star.dec_deg,
        along_mm=along * pixel_mm,
        across_mm=across * pixel_mm,
        error_mm=SEEN_PX * pixel_mm,
    )
