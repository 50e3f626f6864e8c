"""Text files that a person hands in, read as what they are meant to be or refused in words."""

from pathlib import Path

from sidelight.ground.errors import BadInput, Problem

MOST_BYTES = 20_000_000


def read_text(path: Path, what: str, expected: str) -> str:
    """Return a text in UTF-8 without its byte order mark.

    what : begins the refusal, such as "The table". Raises BadInput for what is no file (a folder, a pipe, a device),
    for one that is absurdly large, and for what is not UTF-8.
    """
    try:
        if path.exists() and not path.is_file():
            raise _refused(path, what, "it is no file", expected)
        if path.stat().st_size > MOST_BYTES:
            raise _refused(path, what, f"it has more than {MOST_BYTES // 1_000_000} million bytes", expected)
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused(path, what, "it is not saved as UTF-8", expected) from error
    except (OSError, ValueError) as error:  # ValueError: a name with a NUL
        raise _refused(path, what, str(getattr(error, "strerror", None) or error), expected) from error


def _refused(path: Path, what: str, why: str, expected: str) -> BadInput:
    """Return the refusal."""
    return BadInput(Problem(f"{what} cannot be read: {why}.", file=str(path), expected=expected))
