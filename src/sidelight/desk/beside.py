"""Targets of the list that a kept set-up was not made for: what its angles give them all the same."""

from sidelight.desk.setup import SetupReport
from sidelight.setup.records import Side


def lit_sides(setup: SetupReport, key: str) -> tuple[Side, ...]:
    """Return the sides on which a target has a guide star at the set-up's angles."""
    return tuple(ring.side for ring in setup.of(key).rings if ring.target == key and ring.star is not None)


def cut_off(setup: SetupReport, key: str) -> bool:
    """Tell whether a target that the set-up was not made for does not fit its frame; one too large for any does."""
    if setup.of(key) is setup:
        return False
    return any(place.target == key and not place.framed and not place.frame_waived for place in setup.of(key).targets)


def beside_note(setup: SetupReport, key: str, guided: bool) -> str | None:
    """Say what the kept angles give a target that the set-up was not made for; None for one of its own."""
    if setup.of(key) is setup:
        return None
    head = f'{key} is not in the set-up "{setup.kept_as}"'
    sides = lit_sides(setup, key)
    advice = f"ask \"sidelight setup NOTEBOOK --only '{key}'\" what serves it."
    if cut_off(setup, key):
        return f"{head} and is cut off at its camera angle: {advice}"
    if not guided:
        held = any(place.target == key and place.framed for place in setup.of(key).targets)
        return f"{head}, but fits its frame." if held else f"{head} and is too large for the frame at any angle."
    if not sides:
        return f"{head} and has no guide star at its angles: {advice}"
    every = len(sides) == sum(ring.target == key for ring in setup.of(key).rings)
    where = "" if every else f" {sides[0]} of the flip only"
    return f"{head}, but has a guide star at its angles{where}; that is counted on."
