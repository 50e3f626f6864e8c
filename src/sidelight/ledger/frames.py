"""Light frames: the record of one, from a header, and why a file gives none."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from sidelight.ledger.cards import Cards, clean_text, is_number
from sidelight.ledger.files import FoundFile
from sidelight.ledger.headers import FitsHeader, Trouble, Unreadable, read_header
from sidelight.ledger.instants import start_of
from sidelight.ledger.pointing import Source, pointing_of

AsideKind = Trouble | Literal["not_light", "stack", "no_exposure", "no_time"]

_LONGEST_EXPOSURE_S = 86400.0
_LIGHT = ("light", "object", "science")
_NOT_LIGHT = ("bias", "dark", "flat", "offset", "zero", "master", "focus", "skyflat")


@dataclass(frozen=True)
class Frame:
    """One exposure of the sky.

    identity : tells this exposure from any other, wherever its file lies and whatever it is called.
    exposure_key : same for copies of the exposure in another form (calibrated, compressed); None when unknown.
    start_mjd : UTC. ra_deg, dec_deg : the middle, ICRS, from `pointing` ("solution", "mount"), None when unknown.
    pixel_um : as the header has it (with binning or without, practice differs). notes : what was odd about it.
    """

    identity: str
    exposure_key: str | None
    file: FoundFile
    object_name: str
    filter_name: str
    exposure_s: float
    start_mjd: float
    ra_deg: float | None
    dec_deg: float | None
    pointing: Source
    camera: str
    telescope: str
    temperature_c: float | None
    gain: float | None
    binning: int
    pixel_um: float | None
    focal_length_mm: float | None
    width_px: int
    height_px: int
    notes: tuple[str, ...] = ()

    @property
    def middle_mjd(self) -> float:
        """The middle of the exposure, UTC."""
        return self.start_mjd + self.exposure_s / 2 / 86400.0

    @property
    def hours_h(self) -> float:
        """Exposure in hours."""
        return self.exposure_s / 3600.0


@dataclass(frozen=True)
class SetAside:
    """A file that gives no light frame, and why."""

    file: FoundFile
    kind: AsideKind
    reason: str


def read_frame(file: FoundFile) -> Frame | SetAside:
    """Return the light frame in a file, or why there is none; never raises."""
    header = read_header(file.path)
    if isinstance(header, Unreadable):
        return SetAside(file, header.trouble, header.reason)
    return frame_of(header, file)


def frame_of(header: FitsHeader, file: FoundFile) -> Frame | SetAside:
    """Return the light frame that a header describes, or why it describes none.

    Keywords are those that cameras commonly write (common practice; exposure, date and the place on the sky as
    FITS 4.0 has them). What is missing or makes no sense, and is not needed to count the frame, is noted.
    """
    cards = header.cards
    notes: list[str] = []
    refused = _not_light(cards, notes)
    if refused is not None:
        return SetAside(file, *refused)
    exposure_s = _first_number(cards, ("EXPTIME", "EXPOSURE", "XPOSURE"), 0.0, _LONGEST_EXPOSURE_S, notes)
    if not exposure_s:
        return SetAside(file, "no_exposure", "The header has no exposure time between 0 and 86,400 s (EXPTIME).")
    moment = start_of(cards, exposure_s)
    if moment.mjd is None:
        return SetAside(file, "no_time", f"{moment.notes[0]} Without it the frame has no night.")
    return _frame(header, file, exposure_s, moment.mjd, [*notes, *moment.notes])


def _frame(header: FitsHeader, file: FoundFile, exposure_s: float, start_mjd: float, notes: list[str]) -> Frame:
    """Put the record together."""
    cards = header.cards
    pointing = pointing_of(header)
    camera, telescope = _text(cards, "INSTRUME", "CAMERA"), _text(cards, "TELESCOP")
    filter_name = _text(cards, "FILTER", "FILTER1", "FILTNAM")
    stamp = f"{round(start_mjd * 86400e3)} {exposure_s:.3f}"
    size = f"{header.width_px} {header.height_px}"
    return Frame(
        identity=_hash(stamp, size, header.content),
        # several exposures under a second may bear one time stamp
        exposure_key=_hash(stamp, camera, telescope, filter_name) if camera and exposure_s >= 1.0 else None,
        file=file,
        object_name=_text(cards, "OBJECT", "OBJNAME"),
        filter_name=filter_name,
        exposure_s=exposure_s,
        start_mjd=start_mjd,
        ra_deg=pointing.ra_deg,
        dec_deg=pointing.dec_deg,
        pointing=pointing.source,
        camera=camera,
        telescope=telescope,
        temperature_c=_first_number(cards, ("CCD-TEMP", "DET-TEMP", "TEMPERAT"), -274.0, 100.0, notes),
        gain=_first_number(cards, ("GAIN", "GAINRAW"), -1e6, 1e6, notes),
        binning=int(_first_number(cards, ("XBINNING", "BINNING", "CCDXBIN"), 0.99, 64.0, notes) or 1),
        pixel_um=_first_number(cards, ("XPIXSZ", "PIXSIZE1"), 0.0, 1000.0, notes) or None,
        focal_length_mm=_first_number(cards, ("FOCALLEN",), 0.0, 1e6, notes) or None,
        width_px=header.width_px,
        height_px=header.height_px,
        notes=tuple(notes) + pointing.notes,
    )


def _not_light(cards: Cards, notes: list[str]) -> tuple[AsideKind, str] | None:
    """Return why this is no light frame, or None when it is one."""
    for keyword in ("NCOMBINE", "STACKCNT"):
        count = cards.get(keyword)
        if is_number(count) and count > 1:
            return "stack", f"This is a stack of {count} frames; the frames themselves are counted."
    kind = _text(cards, "IMAGETYP", "FRAME", "IMGTYPE", "FRAMETYP", "OBSTYPE")
    words = kind.casefold().replace("_", " ").replace("-", " ").split()
    if any(word.startswith(_NOT_LIGHT) for word in words):
        return "not_light", f'This is a frame of the kind "{kind}", not a light frame.'
    if any(word.startswith(_LIGHT) for word in words):
        return None
    name = _text(cards, "OBJECT").casefold()
    if not kind and name.removesuffix("s") in ("bias", "bia", "dark", "flat"):
        return "not_light", f'The header says no kind, and the object is "{name}"; not a light frame.'
    notes.append(
        f'The kind of frame "{kind}" is unknown; taken as a light frame.'
        if kind
        else "The header says no kind of frame; taken as a light frame."
    )
    return None


def _text(cards: Cards, *keywords: str) -> str:
    """Return the first of these cards that holds text, or a number written as one."""
    for keyword in keywords:
        value = cards.get(keyword)
        if is_number(value):
            value = str(value)
        if isinstance(value, str) and (text := clean_text(value)):
            return text
    return ""


def _first_number(cards: Cards, keywords: Iterable[str], above: float, most: float, notes: list[str]) -> float | None:
    """Return the first of these cards that is a number (as text, too) in the range; notes those that are not."""
    for keyword in keywords:
        value = cards.get(keyword)
        if value is None:
            continue
        if isinstance(value, str):
            try:
                value = float(value) if len(value) < 40 else None
            except ValueError:
                value = None
        if is_number(value) and above <= value <= most:
            return float(value)
        notes.append(f"{keyword} makes no sense and is left out.")
    return None


def _hash(*parts: str) -> str:
    """Return a short fingerprint of some texts."""
    return hashlib.blake2b("\x1f".join(parts).encode("utf-8", "replace"), digest_size=16).hexdigest()
