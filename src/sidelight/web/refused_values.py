"""What is wrong with one value of a request, in the house's words instead of the checking library's."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from sidelight.ground.dates import FIRST_DATE, LAST_DATE
from sidelight.ground.errors import Problem

Error = Mapping[str, Any]
SHOWN_LETTERS = 40
A_DATE = f"a date such as 2027-03-06, between {FIRST_DATE.year} and {LAST_DATE.year}"
A_NUMBER, A_WHOLE = "a number such as 12.5", "a whole number such as 30"


def refused_value(error: Error) -> Problem:
    """Return the problem of one value, from pydantic's record of it: what it is, what is expected, what to do."""
    kind = str(error.get("type", ""))
    place = [str(part) for part in error.get("loc", ()) if part not in ("query", "body", "path")]
    found = WORDS.get(kind, _other)(error)
    return replace(found, key=".".join(place) or None)


def _given(error: Error) -> str:
    """Return what was given, shortened, in quotation marks; "That" for what is no short text or number."""
    value = error.get("input")
    if not isinstance(value, str | int | float) or isinstance(value, bool):
        return "That"
    text = str(value)
    return f'"{text}"' if len(text) <= SHOWN_LETTERS else f'"{text[:SHOWN_LETTERS]} …"'


def _limit(error: Error) -> str:
    """Return the limit that a value breaks, as a person writes it."""
    limits = error.get("ctx") or {}
    value = next((limits[name] for name in ("ge", "gt", "le", "lt") if name in limits), "")
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _is_dated(error: Error) -> bool:
    """Tell whether a limit that is broken is one for dates."""
    return not isinstance(next(iter((error.get("ctx") or {}).values()), 0), int | float)


def _bound(words: str, expected: str) -> Callable[[Error], Problem]:
    """Return what puts a broken limit into words."""

    def put(error: Error) -> Problem:
        if _is_dated(error):
            return _date(error)
        return Problem(f"{_given(error)} is {words}.", expected=f"{expected} {_limit(error)}")

    return put


def _no(what: str, expected: str) -> Callable[[Error], Problem]:
    """Return what says that a value is not of its kind."""
    return lambda error: Problem(f"{_given(error)} is no {what}.", expected=expected)


def _date(error: Error) -> Problem:
    """Say that a value is no date that can be used."""
    return Problem(f"{_given(error)} is no date that can be used.", expected=A_DATE)


def _too_short(error: Error) -> Problem:
    """Say that a text is empty, or too short."""
    least = int((error.get("ctx") or {}).get("min_length", 1))
    if least > 1:
        return Problem(f"{_given(error)} is too short.", expected=f"at least {least} signs")
    named = str((error.get("loc") or ("",))[-1]) in ("name", "target", "text")
    return (
        Problem("Type a name first.") if named else Problem("There is nothing in it.", expected="at least one sign")
    )


def _too_long(error: Error) -> Problem:
    """Say that a text is too long."""
    return Problem("That is too long.", expected=f"at most {(error.get('ctx') or {}).get('max_length', '')} signs")


def _too_many(error: Error) -> Problem:
    """Say that a list is too long."""
    return Problem("These are too many.", expected=f"at most {(error.get('ctx') or {}).get('max_length', '')}")


def _too_few(error: Error) -> Problem:
    """Say that a list is too short."""
    return Problem("These are too few.", expected=f"at least {(error.get('ctx') or {}).get('min_length', '')}")


def _choice(error: Error) -> Problem:
    """Say what there is to choose from."""
    return Problem(f"{_given(error)} is not among the choices.", expected=str((error.get("ctx") or {})["expected"]))


def _missing(_: Error) -> Problem:
    """Say that nothing was given."""
    return Problem("It is missing.", expected="a value", suggestion="Give it and try again.")


def _unknown(_: Error) -> Problem:
    """Say that a name is none."""
    return Problem("There is nothing of this name.", suggestion="Leave it out, or look how it is spelt.")


def _no_json(_: Error) -> Problem:
    """Say that a body cannot be read."""
    return Problem("The request cannot be read.", expected="JSON (RFC 8259)")


def _other(_: Error) -> Problem:
    """Say as much as can be said of any other fault."""
    return Problem("This cannot be used.", suggestion="Change it and try again.")


WORDS: dict[str, Callable[[Error], Problem]] = {
    "missing": _missing,
    "extra_forbidden": _unknown,
    "json_invalid": _no_json,
    "string_too_short": _too_short,
    "string_too_long": _too_long,
    "string_type": _no("text", "text"),
    "string_unicode": _no("text", "text"),
    "string_pattern_mismatch": lambda error: Problem(
        f"{_given(error)} cannot be used here.", suggestion="Change it and try again."
    ),
    "too_long": _too_many,
    "too_short": _too_few,
    "literal_error": _choice,
    "enum": _choice,
    "greater_than": _bound("too small", "more than"),
    "greater_than_equal": _bound("too small", "at least"),
    "less_than": _bound("too large", "less than"),
    "less_than_equal": _bound("too large", "at most"),
    "bool_type": _no("yes or no", "true or false"),
    "bool_parsing": _no("yes or no", "true or false"),
    "list_type": _no("list", "a list"),
    "tuple_type": _no("pair", "a pair of numbers"),
    "dict_type": _no("table of names and values", "names with their values"),
    "model_type": _no("table of names and values", "names with their values"),
    "model_attributes_type": _no("table of names and values", "names with their values"),
    **dict.fromkeys(("float_type", "float_parsing", "finite_number"), _no("number", A_NUMBER)),
    **dict.fromkeys(("int_type", "int_parsing", "int_parsing_size", "int_from_float"), _no("whole number", A_WHOLE)),
    **dict.fromkeys(("date_type", "date_parsing", "date_from_datetime_parsing", "date_from_datetime_inexact"), _date),
}
"""By the kind of fault as pydantic names it (its documentation, "Validation Errors")."""
