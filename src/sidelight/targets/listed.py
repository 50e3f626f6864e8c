"""Which target of a list a name means: as the person wrote it, or by any name of the object in the catalogue."""

from collections.abc import Sequence

from sidelight.ground.errors import BadInput
from sidelight.targets.catalogue import DeepSkyObject
from sidelight.targets.lookup import key_of, row_of, short_names_by_row
from sidelight.targets.names import find
from sidelight.targets.records import Target


def folded(name: str) -> str:
    """Return a name without capitals and doubled spaces."""
    return " ".join(name.casefold().split())


def usual_name(found: DeepSkyObject) -> str:
    """Return the name that people use: the Messier number where there is one, else the catalogue's own."""
    return found.messier or found.name


def object_called(name: str) -> DeepSkyObject | None:
    """Return the object of the catalogue that a name means, None for none."""
    try:
        return find(name)
    except BadInput:
        return None


def short_names_of(found: DeepSkyObject) -> tuple[str, ...]:
    """Return an object's names cut short, such as "bodes", that mean no other object."""
    row = row_of(found.name)
    return () if row is None else short_names_by_row().get(row, ())


def meant_by(name: str, targets: Sequence[Target]) -> tuple[Target, ...]:
    """Return the targets that a name may mean; several only where two framings of one object are meant alike.

    The person's own name goes first, then the same name written otherwise ("m96", "NGC2903"), then another name of
    the same object ("NGC 3368" for M 96).
    """
    exact = tuple(target for target in targets if folded(target.key) == folded(name))
    if exact:
        return exact
    key = key_of(name)
    alike = tuple(target for target in targets if key and key_of(target.key) == key)
    if alike:
        return alike
    found = object_called(name)
    return tuple(target for target in targets if found is not None and target.object_name == found.name)
