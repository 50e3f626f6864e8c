"""From what a person types to an object of the sky: found, resolved, refused with a reason, or near misses."""

from dataclasses import replace
from difflib import get_close_matches
from typing import TypedDict, Unpack

import numpy as np

from sidelight.ground.angles import direction_deg, unit_vector
from sidelight.ground.errors import BadInput, Problem
from sidelight.targets.catalogue import DeepSkyObject, entries, object_at, printed_name
from sidelight.targets.lookup import key_of, main_index, row_of, short_names
from sidelight.targets.records import Outline, Target

LAST_NUMBER = {"ngc": 7840, "ic": 5386, "m": 110, "c": 109}
WAYS = 'a name such as "NGC 4565", "IC 342", "M 31" or "Andromeda Galaxy", or ra and dec of your own'


def find(text: str) -> DeepSkyObject:
    """Return the object that a name means; a duplicate entry gives the real object and says so in its notes.

    Raises BadInput, near misses included, when there is no such name, and with the reason when the catalogue
    knows that the entry is no object at all.
    """
    row = row_of(text)
    if row is None:
        raise BadInput(Problem(f'There is no object "{text}".', expected=WAYS, suggestion=_nearness(text)))
    column = entries().columns
    notes: tuple[str, ...] = ()
    if column["type"][row] == "Dup":
        first = printed_name(column["name"][row])
        row = _real_row(row)
        notes = (f"{first} is a second entry for {printed_name(column['name'][row])}.",)
    if column["type"][row] == "NonEx":
        name, why = printed_name(column["name"][row]), column["ongcnotes"][row]
        raise BadInput(
            Problem(
                f"{name} does not exist: nothing in the sky answers to this entry of the catalogue.",
                suggestion=why or "Take the object by its own name, or give ra and dec.",
            )
        )
    remark = column["ongcnotes"][row]
    return object_at(row, (*notes, remark) if remark else notes)


def _real_row(row: int) -> int:
    """Follow a duplicate entry to the object it repeats."""
    column = entries().columns
    for _ in range(4):
        if column["type"][row] != "Dup":
            break
        first_of = [(prefix, column[prefix][row].split(",")[0]) for prefix in ("messier", "ngc", "ic")]
        prefix, number = next((prefix, number) for prefix, number in first_of if number)
        row = main_index().main[key_of(f"{prefix} {number}")]
    return row


def _nearness(text: str) -> str | None:
    """Return the sentence that helps after a name that does not exist."""
    key = key_of(text)
    for prefix, last in LAST_NUMBER.items():
        number = key.removeprefix(prefix)
        if key.startswith(prefix) and number.isdigit() and not 1 <= int(number) <= last:
            label = "Messier" if prefix == "m" else "Caldwell" if prefix == "c" else prefix.upper()
            return f"{label} numbers run from 1 to {last}."
    near = suggest(text, 3)
    return "Did you mean " + " or ".join(f'"{name}"' for name in near) + "?" if near else None


def suggest(text: str, n: int = 8) -> list[str]:
    """Return up to n printed names for what has been typed so far: those that begin with it, then near misses."""
    key = key_of(text)
    if not key:
        return []
    printed = main_index().printed
    begins = sorted(
        (name for other, name in printed.items() if other.startswith(key)), key=lambda name: (len(name), name)
    )
    within = sorted(name for other, name in printed.items() if key in other and not other.startswith(key))
    found = [*begins, *(within if len(key) > 2 else [])][:n]
    if len(found) < n:
        # a number's neighbours are no near misses of it, so numbers and words are not mixed
        pool = [other for other in printed if other[-1:].isdigit() == key[-1:].isdigit()]
        near = get_close_matches(key, pool, n=n, cutoff=0.72)
        short = get_close_matches(key, list(short_names()), n=n, cutoff=0.8)
        for name in [printed[other] for other in near] + [name for word in short for name in short_names()[word]]:
            if name not in found:
                found.append(name)
    return found[:n]


def outline_of(found: DeepSkyObject, name: str | None = None) -> Outline:
    """Return the object's outline; unknown axes are 0, one known axis is a circle."""
    major = found.major_arcmin or 0.0
    minor = found.minor_arcmin or major
    angle = found.position_angle_deg if minor < major else None
    return Outline(name or found.name, found.ra_deg, found.dec_deg, major / 2.0, minor / 2.0, angle)


class Wishes(TypedDict, total=False):
    """What the person says of a target beyond its name or place; each may be left out.

    hours_wanted_h : 20 unless said. neighbours : names or outlines that must be in the frame. shift_east_arcmin,
    shift_north_arcmin : moves the pointing away from the object, on the tangent plane. shift_allowed_arcmin : how far
    it may be moved for a guide star. major_arcmin, minor_arcmin, position_angle_deg : the person's own figures, which
    replace the catalogue's.
    """

    hours_wanted_h: float
    neighbours: tuple[str | Outline, ...]
    shift_east_arcmin: float
    shift_north_arcmin: float
    shift_allowed_arcmin: float
    major_arcmin: float | None
    minor_arcmin: float | None
    position_angle_deg: float | None


def target_from_name(name: str, *, key: str | None = None, **wishes: Unpack[Wishes]) -> Target:
    """Return a target by its name in the catalogue, with the person's wishes.

    key : what the person calls it; the name as typed otherwise. Raises BadInput for unknown names and impossible
    sizes.
    """
    found = find(name)
    known = _target((key or name).strip(), found, wishes)
    return replace(
        known,
        common_name=found.common_names[0] if found.common_names else None,
        kind=found.kind_text,
        v_mag=found.v_mag,
        surface_brightness_mag_arcsec2=found.surface_brightness_mag_arcsec2,
        object_name=found.name,
        notes=(*found.notes, *known.notes),
    )


def target_from_coordinates(key: str, ra_deg: float, dec_deg: float, **wishes: Unpack[Wishes]) -> Target:
    """Return a target at a place of the person's own, ICRS degrees; raises BadInput for no place and no size."""
    if not (np.isfinite(ra_deg) and np.isfinite(dec_deg)) or abs(dec_deg) > 90.0 or not 0.0 <= ra_deg <= 360.0:
        message = f"Right ascension {ra_deg}, declination {dec_deg} is no place on the sky."
        raise BadInput(Problem(message, expected="ra from 0 to 360 degrees, dec from -90 to 90 degrees"))
    bare = DeepSkyObject(key, "", "", ra_deg % 360.0, dec_deg, None, None, None, None, None, None, None, (), "")
    return _target(key.strip(), bare, wishes)


def _target(key: str, found: DeepSkyObject, wishes: Wishes) -> Target:
    """Return an object as a target: where to point, what to frame, how long."""
    own = _own_size(found, wishes.get("major_arcmin"), wishes.get("minor_arcmin"), wishes.get("position_angle_deg"))
    shift = wishes.get("shift_east_arcmin", 0.0), wishes.get("shift_north_arcmin", 0.0)
    ra_deg, dec_deg = shifted_pointing(found.ra_deg, found.dec_deg, *shift)
    outline = replace(own or outline_of(found), name=key)
    return Target(
        key=key,
        ra_deg=ra_deg,
        dec_deg=dec_deg,
        outlines=(outline, *_neighbours(wishes.get("neighbours", ()))),
        hours_wanted_h=wishes.get("hours_wanted_h", 20.0),
        shift_allowed_arcmin=wishes.get("shift_allowed_arcmin", 0.0),
        sizes_known=outline.semi_major_arcmin > 0.0,
        notes=_what_is_missing(found, own),
    )


def _neighbours(wanted: tuple[str | Outline, ...]) -> tuple[Outline, ...]:
    """Return outlines for neighbours given by name or as outlines."""
    return tuple(one if isinstance(one, Outline) else outline_of(find(one), one) for one in wanted)


def _own_size(
    found: DeepSkyObject, major_arcmin: float | None, minor_arcmin: float | None, position_angle_deg: float | None
) -> Outline | None:
    """Return the outline by the person's own figures, None when they gave none."""
    if major_arcmin is None and minor_arcmin is None and position_angle_deg is None:
        return None
    major = found.major_arcmin if major_arcmin is None else major_arcmin
    if major is None:
        message = "A minor axis or a position angle needs the major axis as well."
        raise BadInput(Problem(message, key="major_arcmin", suggestion="Give major_arcmin."))
    known_minor = found.minor_arcmin if major_arcmin is None else None
    minor = minor_arcmin if minor_arcmin is not None else known_minor or major
    if not (np.isfinite(major) and np.isfinite(minor)) or not 0.0 < minor <= major:
        message = f"The axes {major} and {minor} arcminutes are no size."
        raise BadInput(Problem(message, key="major_arcmin", expected="0 < minor_arcmin <= major_arcmin"))
    angle = found.position_angle_deg if position_angle_deg is None else position_angle_deg
    angle = None if angle is None or minor == major else float(angle) % 180.0
    return Outline(found.name, found.ra_deg, found.dec_deg, major / 2.0, minor / 2.0, angle)


def _what_is_missing(found: DeepSkyObject, own: Outline | None) -> tuple[str, ...]:
    """Return sentences about the size that framing has to do without."""
    outline = own or outline_of(found)
    if outline.semi_major_arcmin == 0.0:
        return ("The size is not known: it is framed as a point. Give major_arcmin to frame all of it.",)
    if own is None and found.minor_arcmin is None:
        return ("Only one axis is known: it is framed as a circle.",)
    if outline.semi_minor_arcmin < outline.semi_major_arcmin and outline.position_angle_deg is None:
        return ("The position angle is not known: a circle with the longer axis is kept in the frame.",)
    return ()


def shifted_pointing(
    ra_deg: float, dec_deg: float, shift_east_arcmin: float, shift_north_arcmin: float
) -> tuple[float, float]:
    """Return (right ascension, declination) moved east and north on the tangent plane; exact at any declination."""
    if shift_east_arcmin == 0.0 and shift_north_arcmin == 0.0:
        return float(ra_deg), float(dec_deg)
    centre = unit_vector(ra_deg, dec_deg)
    ra, dec = np.radians(ra_deg), np.radians(dec_deg)
    east = np.array([-np.sin(ra), np.cos(ra), 0.0])
    north = np.array([-np.sin(dec) * np.cos(ra), -np.sin(dec) * np.sin(ra), np.cos(dec)])
    moved = centre + np.radians(shift_east_arcmin / 60.0) * east + np.radians(shift_north_arcmin / 60.0) * north
    moved_ra, moved_dec = direction_deg(moved)
    return float(moved_ra), float(moved_dec)
