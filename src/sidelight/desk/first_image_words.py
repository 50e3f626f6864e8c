"""The sentences of the first image: turn it, or leave it, and what to know about it."""

from collections.abc import Sequence
from pathlib import Path

from sidelight.desk.first_image_records import PlaceNow, TurnReport
from sidelight.desk.setup import SetupReport
from sidelight.desk.solved import SolvedFrame
from sidelight.notebook.read import Notebook

_LITTLE_DEG = 0.05
_SURE_ERRORS = 3.0
"""A difference of more than so many standard errors is there (common practice, no source)."""


def verdict_of(
    plan: SetupReport,
    now: SetupReport,
    places: Sequence[PlaceNow],
    turns: Sequence[TurnReport],
    difference_deg: float,
    *,
    turning: bool = False,
    error_deg: float = 0.0,
    apart_deg: float = 0.0,
) -> tuple[str, str]:
    """Return ("leave", "turn", "better_turned" or "undecided", the sentence that says so and why).

    Leave it while everything that the plan serves is served with the slack that a recommended set-up must have, or
    with all that the plan had; turn it when something is lost; between the two it is better turned. turning : a
    rotator does it, which costs nothing. error_deg : standard error of the difference by the images, 0 for one;
    apart_deg : how far the images disagree. Undecided while the error is greater than the slack it is judged by, but
    for a difference so great that it is to be turned whatever the truth is.
    """
    if _too_uncertain(now, places, difference_deg, error_deg):
        return "undecided", (
            f"The images disagree by {apart_deg:.1f}°: a clamp slipped between them, or the mount is far off its "
            "pole. Nothing is decided: clamp, take one image on each side in one night, check again."
        )
    off = f"The camera stands {abs(difference_deg):.1f}° {'past' if difference_deg >= 0 else 'short of'} its plan"
    if turning:
        return _rotator(off, now, turns)
    lost = [f"{one.target}{_side(one.side)}" for one in places if one.lost]
    if not places:
        return _framing(plan, now, off, turns)
    served = [one for one in places if one.needed and not one.lost and one.star is not None]
    worst = min(served, key=lambda one: one.slack_deg, default=None)
    if lost:
        said = f"Turn it: {_turns_words(turns)}. {off}, and so {_list(lost)} would be lost."
        return "turn", said
    if worst is None:
        return "turn", f"Turn it: {_turns_words(turns)}. {off}, and no target has a guide star."
    at = f"{worst.slack_deg:.1f}° of slack at the least ({worst.target}{_side(worst.side)})"
    kept = "every target that the plan serves keeps its guide star and its frame"
    planned = min((one.planned_slack_deg for one in served), default=0.0)
    if worst.slack_deg >= min(now.tolerance_deg, planned) - _LITTLE_DEG:
        return "leave", f"Leave it: {kept}, with {at}. {off}."
    return "better_turned", (
        f"Better turn it: {_turns_words(turns)}. {off}; {kept}, but only with {at}, where the plan has "
        f"{planned:.1f}°."
    )


def _too_uncertain(now: SetupReport, places: Sequence[PlaceNow], difference_deg: float, error_deg: float) -> bool:
    """Tell whether the images leave open what they are asked."""
    slacks = [one.slack_deg for one in places if one.needed and not one.lost and one.star is not None]
    if not places:
        slacks = [one.frame_slack_deg for one in now.targets if one.framed]
    lost = any(one.lost for one in places) or not slacks
    if lost and abs(difference_deg) > _SURE_ERRORS * error_deg:
        return False
    return error_deg > (now.tolerance_deg if lost else min(slacks))


def flip_note(flip_deg: float | None, tolerance_deg: float) -> tuple[str, ...]:
    """Say what a difference between the sides means, where it is greater than the tolerance."""
    if flip_deg is None or abs(flip_deg) <= tolerance_deg:
        return ()
    said = (
        f"West less east is {flip_deg:+.1f}°, more than the {tolerance_deg:g}° of slack asked for: from one side of "
        "the meridian to the other the camera turned against the sky, as a clamp that slips at the flip or a mount "
        "far off its pole makes it."
    )
    return (said,)


def error_note(note: str, set_error_deg: float) -> str:
    """Return a note on the images, that on a single one with what the error beside it does contain."""
    if not note.startswith("One image says nothing about the error"):
        return note
    return f"± {set_error_deg:.1f}° is gauge and seat alone; a second image measures the rest."


def _rotator(off: str, now: SetupReport, turns: Sequence[TurnReport]) -> tuple[str, str]:
    """Return verdict and sentence of a rig with a rotator: a turn costs nothing, and all targets need the same."""
    if all(one.sense == "none" for one in turns):
        return "leave", f"Leave it: the rotator is where the plan has it. {now.sentence}"
    return "turn", f"Turn {_turns_words(turns)}, for every target alike. {off}. Then: {now.sentence}"


def _framing(plan: SetupReport, now: SetupReport, off: str, turns: Sequence[TurnReport]) -> tuple[str, str]:
    """Return verdict and sentence of a rig without a guider: the frame alone counts."""
    framed = {one.target for one in now.targets if one.framed or one.frame_waived}
    lost = [one.target for one in plan.targets if one.needed and one.framed and one.target not in framed]
    if lost:
        return "turn", f"Turn it: {_turns_words(turns)}. {off}, and so {_list(lost)} would be cut off."
    return "leave", f"Leave it: every target stays in the frame. {off}."


def _turns_words(turns: Sequence[TurnReport]) -> str:
    """Return the turns in words."""
    told = [f"{one.part} {one.by_deg:.1f}° {one.sense}" for one in turns if one.sense != "none"]
    return ", then ".join(told) or "by less than a gauge shows"


def _side(side: str) -> str:
    """Return a side behind a target's name."""
    return "" if side == "any" else f" {side}"


def _list(names: Sequence[str]) -> str:
    """Return names as a list in a sentence."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def image_notes(notebook: Notebook, frame: SolvedFrame) -> tuple[str, ...]:
    """Return what a person should know about one image."""
    name = Path(frame.file).name
    notes = [f"{name}: {note}" for note in frame.image.notes]
    if frame.image.mirrored != bool(notebook.rig.telescope.mirrors % 2):
        have, should = ("mirrored", "not") if frame.image.mirrored else ("not mirrored", "mirrored")
        notes.append(
            f"{name}: the picture is {have}, and by the number of mirrors in rig.toml it should be {should}: the "
            "camera's software flips it, or rig.toml is wrong. The camera angle is that of the picture's up."
        )
    if not frame.whole:
        camera = notebook.rig.camera
        notes.append(
            f"{name}: the picture does not show the whole sensor of {camera.width_px} × {camera.height_px} px, "
            "binned or not: its middle may not be the telescope's axis, and the focal length is not learnt."
        )
    if frame.target is None:
        notes.append(f"{name}: it shows none of the notebook's targets; angles can be measured all the same.")
    return tuple(notes)


def focal_words(notebook: Notebook, focal_mm: float, whole: bool, usable: bool) -> tuple[str, ...]:
    """Say so when the scale cannot prove the focal length."""
    if usable or not whole:
        return ()
    in_use = notebook.rig.telescope.effective_focal_length_mm
    said = (
        f"By its scale the focal length would be {focal_mm:.0f} mm, too far from the {in_use:.0f} mm in use to be "
        "believed: check the pixel size of the camera, reducer and binning. It is not learnt."
    )
    return (said,)


def overall_notes(notebook: Notebook, setup: str | None, half_turn: bool, stars: bool) -> tuple[str, ...]:
    """Return what a person should know about the comparison."""
    notes = []
    if setup is None:
        notes.append(
            "No set-up is kept in use, so the best one for these nights is the plan; "
            '"sidelight setup --keep NAME" keeps the one on the telescope.'
        )
    if half_turn:
        notes.append(
            "The picture stands on its head against the plan: the camera or its software turns it by half, or the "
            "tube was on the other side of the pier than the flip rule says (then say --side). The frame is the same."
        )
    if notebook.rig.guider is not None and not stars:
        notes.append(
            "The stem is taken to have turned with the camera, still clamped at its offset; a guide star's place on "
            "the guide camera (--guide-star) measures it."
        )
    return tuple(notes)
