"""Guide stars seen on the guide camera while an image was taken: read, recognised, fitted."""

import csv
import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from sidelight.desk.guide_seats import RADIUS_OFF_MM, STEM_OFF_DEG, SpotChoice, readings
from sidelight.desk.guide_words import picture_open_note, picture_taken_note
from sidelight.desk.solved import SolvedFrame
from sidelight.desk.starlight import guide_catalogue, guide_limits
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.text_files import read_text
from sidelight.ledger.stem_fit import GuideSighting, StemFit, fit_stem
from sidelight.notebook.read import Notebook
from sidelight.rig.guider import (
    PICTURE_SIGNS,
    along_across,
    guider_of,
    raw_pictures,
    stem_coordinates_mm,
    whole_rectangle,
)
from sidelight.rig.mount import turn_on_side_deg
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import OffAxisGuider, Picture

SEEN_PX = 2.0
"""How far off a guide star's place is taken to be along each axis: its centroid, and guiding during the image."""
_READ_PX = 3 * SEEN_PX
"""The same where it is decided which star it is: what is read off by eye must not rule out the truth."""
TWO_UNNAMED = (
    "Two guide stars, neither of them named, may be others by chance where the stem is far off: name one as "
    "X,Y,RA,DEC, or give a third, to have the stem learnt."
)


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


@dataclass(frozen=True)
class Believed:
    """A spot, the image it belongs to, and where the stem is believed to stand, for targets in the west."""

    frame: SolvedFrame
    spot: GuideSpot
    guider_angle_deg: float


@dataclass(frozen=True)
class Recognised:
    """What the spots show together.

    picture : how the guide camera's picture stands, None when it is open; possible : the ways that are left.
    seen : the stars that are known, with their images; none while the picture is open.
    """

    picture: Picture | None
    possible: tuple[Picture, ...]
    seen: tuple[tuple[SolvedFrame, SeenStar], ...]
    notes: tuple[str, ...]


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


def recognise(notebook: Notebook, date: dt.date, believed: Sequence[Believed]) -> Recognised:
    """Return how the guide camera's picture stands and which stars were seen, by all spots together.

    rig.toml says how it stands, or the spots do where no other way leaves them stars within reach of the stem.
    Without either there are no stars to fit. A star not named is taken where no other that the guider can use fits.
    """
    known = guider_of(notebook.rig).picture
    choices = [(one, *_choice(notebook, date, one)) for one in believed]
    notes = [_no_star(one.spot) for one, _, stars in choices if not stars]
    choices = [each for each in choices if each[2]]
    if not choices:
        return Recognised(known, (known,) if known else (), (), tuple(notes))
    raw = raw_pictures(notebook.rig)
    ways = (known,) if known else (*raw, *(one for one in PICTURE_SIGNS if one not in raw))
    guider = guider_of(notebook.rig)
    error_mm = _READ_PX * guider.sensor.pixel_um / 1000.0
    found = readings([choice for _, choice, _ in choices], guider, ways, error_mm)
    possible = tuple(one for one in ways if any(each.picture == one for each in found))
    if known is None and len(possible) != 1:
        return Recognised(None, possible, (), (*notes, picture_open_note(possible)))
    seen = []
    for number, (one, _, stars) in enumerate(choices):
        kept = sorted({each.stars[number] for each in found})
        if one.spot.ra_deg is not None:
            seen.append((one.frame, stars[0]))
        elif len(kept) == 1:
            seen.append((one.frame, stars[kept[0]]))
        else:
            notes.append(_which_star(one.spot, [stars[k] for k in kept]) if kept else _no_star(one.spot))
    taken = known or possible[0]
    return Recognised(taken, (taken,), tuple(seen), (*notes, *(() if known else (picture_taken_note(taken),))))


def _choice(notebook: Notebook, date: dt.date, one: Believed) -> tuple[SpotChoice, tuple[SeenStar, ...]]:
    """Return the stars that a spot may be: the one that is named, or all in reach of the stem and usable."""
    guider, spot, image = guider_of(notebook.rig), one.spot, one.frame.image
    focal_mm = notebook.rig.telescope.effective_focal_length_mm
    at = image.centre_ra_deg, image.centre_dec_deg
    whole = whole_rectangle(guider)
    if spot.ra_deg is not None and spot.dec_deg is not None:
        ra, dec, mags = np.array([spot.ra_deg]), np.array([spot.dec_deg]), [None]
    else:
        size_mm = float(np.hypot(whole.half_along_mm, whole.half_across_mm)) + RADIUS_OFF_MM
        outer_deg = float(np.degrees(np.arctan((whole.stem_radius_mm + size_mm) / focal_mm)))
        cone = guide_catalogue(notebook, date).cone(*at, outer_deg, guide_limits(notebook)[0])
        ra, dec, mags = cone.ra_deg, cone.dec_deg, cone.mag.tolist()
    stands = one.guider_angle_deg + turn_on_side_deg(notebook.rig.mount, one.frame.side)
    outwards, across = stem_coordinates_mm(*plane_mm(ra, dec, *at, focal_mm), stands)
    near = np.ones(len(ra), dtype=bool)
    if spot.ra_deg is None:
        turn_mm = whole.stem_radius_mm * float(np.tan(np.radians(STEM_OFF_DEG + 1.0)))
        near = np.abs(outwards - whole.stem_radius_mm) < whole.half_along_mm + RADIUS_OFF_MM + 1.0
        near &= np.abs(across) < whole.half_across_mm + turn_mm + 1.0
    pixel_mm = guider.sensor.pixel_um / 1000.0
    right, up = from_middle_px(spot, guider)
    choice = SpotChoice(right * pixel_mm, up * pixel_mm, outwards[near], across[near])
    name = Path(spot.file).name
    stars = tuple(
        SeenStar(name, spot.x_px, spot.y_px, float(ra[k]), float(dec[k]), mags[k]) for k in np.flatnonzero(near)
    )
    return choice, stars


def _no_star(spot: GuideSpot) -> str:
    """Say that no star lies near a spot."""
    return f"{Path(spot.file).name}: no star of the catalogue lies near the guide star; name it as X,Y,RA,DEC."


def _which_star(spot: GuideSpot, stars: Sequence[SeenStar]) -> str:
    """Say which stars a spot may be."""
    told = " or ".join(f"{one.ra_deg:.5f},{one.dec_deg:+.5f} ({one.mag:.1f} mag)" for one in stars[:3])
    return f"{Path(spot.file).name}: which star the guide star is stays open, {told}; name it as X,Y,RA,DEC."


def from_middle_px(spot: GuideSpot, guider: OffAxisGuider) -> tuple[float, float]:
    """Return a spot in pixels right of and above the middle of the guide sensor."""
    return spot.x_px - guider.sensor.width_px / 2, guider.sensor.height_px / 2 - spot.y_px


def stem_fit(notebook: Notebook, recognised: Recognised, focal_error_mm: float) -> StemFit | None:
    """Return where the stem is by the stars seen, None without any.

    Where rig.toml does not say how the picture stands, the fit is determined only if its stars leave no other way,
    however far the stem is off. Two stars, neither of them named, may be others that chance to lie as far apart.
    """
    picture = recognised.picture
    if not recognised.seen or picture is None:
        return None
    guider = guider_of(notebook.rig)
    focal_mm = notebook.rig.telescope.effective_focal_length_mm
    sightings = [_sighting(frame, star, guider, picture) for frame, star in recognised.seen]
    fit = fit_stem(sightings, focal_mm, focal_error_mm=focal_error_mm, seating_known=True)
    if len(recognised.seen) == 2 and all(star.mag is not None for _, star in recognised.seen):
        return replace(fit, determined=False, notes=(*fit.notes, TWO_UNNAMED))
    if guider.picture is not None or fit_stem(sightings, focal_mm, focal_error_mm=focal_error_mm).seating_settled:
        return fit
    return replace(fit, determined=False)


def _sighting(frame: SolvedFrame, star: SeenStar, guider: OffAxisGuider, picture: Picture) -> GuideSighting:
    """Return a star as the fit takes it: along and across the stem, the picture turned to how the sensor lies."""
    pixel_mm = guider.sensor.pixel_um / 1000.0
    right, up = from_middle_px(GuideSpot(star.file, star.x_px, star.y_px), guider)
    right_sign, up_sign = PICTURE_SIGNS[picture]
    along_mm, across_mm = along_across(right_sign * right * pixel_mm, up_sign * up * pixel_mm, guider)
    return GuideSighting(
        up_deg=frame.image.up_deg,
        centre_ra_deg=frame.image.centre_ra_deg,
        centre_dec_deg=frame.image.centre_dec_deg,
        star_ra_deg=star.ra_deg,
        star_dec_deg=star.dec_deg,
        along_mm=float(along_mm),
        across_mm=float(across_mm),
        error_mm=SEEN_PX * pixel_mm,
    )
