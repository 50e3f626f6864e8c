"""What a person wants to photograph: outlines on the sky and wishes about them."""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Outline:
    """An ellipse on the sky, ICRS.

    semi_major_arcmin, semi_minor_arcmin : 0 for an object whose size is not known.
    position_angle_deg : of the major axis, north through east; None when not known, then the outline is a circle
    with the major axis, so that nothing is cut off.
    """

    name: str
    ra_deg: float
    dec_deg: float
    semi_major_arcmin: float = 0.0
    semi_minor_arcmin: float = 0.0
    position_angle_deg: float | None = None


@dataclass(frozen=True)
class Target:
    """One object on the wish list, in ICRS.

    key : the name the person uses, unique in the notebook.
    ra_deg, dec_deg : the pointing before any shift (the object, plus the person's own pointing shift).
    outlines : the object and the neighbours that must be in the frame.
    shift_allowed_arcmin : how far the solver may move the pointing (radius), same on both sides; 0: not at all.
    sizes_known : False when the catalogue has no size; said wherever framing is reported.
    object_name : the catalogue's object that it was found as, "NGC 3031"; None for a place of the person's own.
    """

    key: str
    ra_deg: float
    dec_deg: float
    outlines: tuple[Outline, ...] = ()
    hours_wanted_h: float = 20.0
    shift_allowed_arcmin: float = 0.0
    common_name: str | None = None
    kind: str | None = None
    sizes_known: bool = True
    v_mag: float | None = None
    surface_brightness_mag_arcsec2: float | None = None
    object_name: str | None = None
    notes: tuple[str, ...] = field(default=())
