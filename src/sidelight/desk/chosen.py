"""The targets that a person names: one way of reading names for every question."""

from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.notebook.read import Notebook
from sidelight.targets.listed import meant_by, object_called, usual_name
from sidelight.targets.records import Target

FILE = "targets.toml"
NO_TARGETS = (
    'There is no target on the list yet: add one to targets.toml, or see "sidelight suggest NOTEBOOK --fresh".'
)
"""What every question says of an empty list."""


def chosen_targets(notebook: Notebook, only: tuple[str, ...], leave_out: tuple[str, ...] = ()) -> tuple[Target, ...]:
    """Return the notebook's targets by the person's choice; raises BadInput for a name that is not on the list.

    Capitals and spaces do not count, and any name of the object in the catalogue will do.
    """
    meant: dict[str, str] = {}
    problems: list[Problem] = []
    for name in (*only, *leave_out):
        found = meant_by(name, notebook.targets)
        if len(found) == 1:
            meant[name] = found[0].key
        else:
            keys = [target.key for target in found]
            problems.append(_several(name, keys) if keys else not_listed(notebook, name))
    if problems:
        raise BadInput(problems)
    wanted = {meant[name] for name in only} or {target.key for target in notebook.targets}
    dropped = {meant[name] for name in leave_out}
    return tuple(target for target in notebook.targets if target.key in wanted - dropped)


def _several(name: str, keys: list[str]) -> Problem:
    """Return the problem of a name that two framings of one object share."""
    return Problem(f'"{name}" may be {" or ".join(keys)}.', FILE, suggestion="Give the name as the list has it.")


def not_listed(notebook: Notebook, name: str) -> Problem:
    """Return the problem of a name that is not on the list; another target is guessed only where no object has it."""
    keys = [target.key for target in notebook.targets]
    found = object_called(name)
    said = f'"{name}" is not on this notebook\'s list of targets.'
    if found is None:
        expected = ", ".join(keys) or "a target added first"
        return Problem(said, FILE, expected=expected, suggestion=did_you_mean(name, keys))
    usual = usual_name(found)
    also = "" if usual == name else f"It is {usual}. "
    advice = f'{also}To add it, write [[target]] and name = "{usual}" in two lines of targets.toml.'
    return Problem(said, FILE, expected=", ".join(keys) or "a target added first", suggestion=advice)
