"""The process that does one job: the task comes in as a line, progress and answer go out as lines."""

import json
import sys
from pathlib import Path
from typing import Any, TextIO

from sidelight.ground.errors import OurFault, Problem, SidelightError
from sidelight.ground.plain import to_plain
from sidelight.web.job_kinds import KINDS
from sidelight.web.refusals import MISTAKE, of_error, shaped


def main(tasks: TextIO = sys.stdin, answers: TextIO = sys.stdout) -> None:
    """Do the task that stands in the first line."""

    def say(**values: Any) -> None:  # noqa: ANN401 - whatever JSON holds
        answers.write(json.dumps(values) + "\n")
        answers.flush()

    task = json.loads(tasks.readline())
    try:
        work = KINDS[task["kind"]]
        result = work(Path(task["folder"]), task["asked"], lambda done, words: say(done_fraction=done, words=words))
        say(result=to_plain(result))
    except SidelightError as error:
        say(refusal=shaped(of_error(error)[0], error.problems))
    except Exception as error:  # noqa: BLE001 - the page must hear of it whatever it is
        print(f"{type(error).__name__}: {error}", file=sys.stderr)
        say(refusal=shaped("our_fault", OurFault(Problem(MISTAKE)).problems))


if __name__ == "__main__":
    main()
