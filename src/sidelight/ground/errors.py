"""The one family of errors.

    SidelightError            what is wrong, where, what would be accepted, what to do next
    ├── BadInput              the person's files or words cannot be used      exit code 2
    ├── SkySaysNo             the request is fine, the sky or the rig is not   exit code 1
    └── OurFault              a damaged installation or a bug                 exit code 3

"Never" is not an error: a target that never rises is a stated outcome in a report.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

LONGEST = 600


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong, where it stands, and what to do about it.

    What is quoted from a file may be of any length; the middle of a text that is too long to read is left out.
    """

    message: str
    file: str | None = None
    key: str | None = None
    line: int | None = None
    expected: str | None = None
    suggestion: str | None = None

    def __post_init__(self) -> None:
        for name in ("message", "file", "key", "expected", "suggestion"):
            said = getattr(self, name)
            if said is not None and len(said) > LONGEST:
                object.__setattr__(self, name, f"{said[: LONGEST - 200]} … {said[-150:]}")

    def __str__(self) -> str:
        place = ", ".join(
            part
            for part in (
                self.file,
                f"line {self.line}" if self.line is not None else None,
                self.key,
            )
            if part
        )
        text = f"{place}: {self.message}" if place else self.message
        if self.expected:
            text += f" Expected: {self.expected}."
        if self.suggestion:
            text += f" {self.suggestion}"
        return text


class SidelightError(Exception):
    """Anything that Sidelight refuses, with every problem found at once."""

    exit_code = 3

    def __init__(self, problems: str | Problem | Iterable[Problem]) -> None:
        if isinstance(problems, str):
            problems = Problem(problems)
        if isinstance(problems, Problem):
            problems = (problems,)
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class BadInput(SidelightError):
    """The person's files or words cannot be used; nothing was written."""

    exit_code = 2


class SkySaysNo(SidelightError):
    """What was asked is well formed, but the sky or the rig does not allow it."""

    exit_code = 1


class OurFault(SidelightError):
    """A damaged installation or a mistake of the program's own."""

    exit_code = 3


def did_you_mean(given: str, accepted: Iterable[str]) -> str | None:
    """Return a sentence that names the accepted words nearest to `given`, or None if none is near."""
    by_folded = {word.casefold(): word for word in accepted}
    near = get_close_matches(given.casefold(), list(by_folded), n=3, cutoff=0.6)
    if not near:
        return None
    return "Did you mean " + " or ".join(f'"{by_folded[word]}"' for word in near) + "?"
