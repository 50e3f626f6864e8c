"""``sidelight init``: a new notebook from answers or flags."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sidelight.ground.errors import BadInput, Problem

if TYPE_CHECKING:
    from sidelight.desk.begin import OpenQuestion


@click.command("init")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--set", "given", multiple=True, metavar="KEY=VALUE",
              help="Answer a question, such as site.latitude_deg=47.4; may be repeated.")  # fmt: skip
@click.option("--target", "targets", multiple=True, metavar="NAME", help="A target for the list; may be repeated.")
@click.option("--no-guider", is_flag=True, help="There is no off-axis guider; framing only.")
@click.option("--no-questions", is_flag=True, help="Ask nothing; what is missing is an error.")
def command(
    folder: Path, given: tuple[str, ...], targets: tuple[str, ...], no_guider: bool, no_questions: bool
) -> None:
    """Make a new notebook in FOLDER: commented files that every editor opens.

    What the flags do not answer is asked. Nothing that exists is overwritten.
    """
    from sidelight.desk.begin import begin_notebook, open_questions, refuse_existing

    refuse_existing(folder)
    answers: dict[str, Any] = dict(_pair(text) for text in given)
    asked_guider = any(key.startswith("rig.guider.") for key in answers)
    missing = open_questions(answers, with_guider=asked_guider and not no_guider)
    if missing and no_questions:
        raise BadInput(
            [Problem(f"{one.key} is not given.", expected=one.expected, suggestion=one.advice) for one in missing]
        )
    _ask(missing, answers)
    if not (asked_guider or no_guider or no_questions) and click.confirm(
        "Is there an off-axis guider?", default=True
    ):
        _ask(open_questions(answers, with_guider=True), answers)
    if not targets and not no_questions:
        listed = click.prompt("Targets, with commas between them (may stay empty)", default="", show_default=False)
        targets = tuple(name.strip() for name in listed.split(",") if name.strip())
    written = begin_notebook(folder, answers, targets)
    for path in written:
        click.echo(f"Wrote {path}")
    click.echo(f"Measure your horizon into {folder / 'horizon.txt'}, then try: sidelight season {folder}")


def _pair(text: str) -> tuple[str, str]:
    """Split KEY=VALUE."""
    key, equals, value = text.partition("=")
    if not equals or not key.strip():
        raise BadInput(Problem(f'"{text}" is not KEY=VALUE.', expected="such as site.latitude_deg=47.4"))
    return key.strip(), value.strip()


def _ask(questions: "Sequence[OpenQuestion]", answers: dict[str, Any]) -> None:
    """Ask each question until its answer can be used."""
    from sidelight.desk.begin import fault_of

    for one in questions:
        while True:
            answer = click.prompt(f"{one.help} ({one.expected})", type=str)
            fault = fault_of(one.key, answer)
            if fault is None:
                answers[one.key] = answer
                break
            click.echo(fault)
