"""``sidelight init``: a new notebook from answers or flags."""

from pathlib import Path
from typing import Any

import click

from sidelight.ground.errors import BadInput, Problem


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
    r"""Make a new notebook in FOLDER: commented files that every editor opens.

    \b
    What the flags do not answer is asked. Nothing that exists is overwritten.
    """
    from sidelight.desk.begin import begin_notebook, open_questions, refuse_existing

    refuse_existing(folder)
    answers: dict[str, Any] = dict(_pair(text) for text in given)
    guider = not no_guider and (any(key.startswith("rig.guider.") for key in answers) or _ask_guider(no_questions))
    missing = open_questions(answers, with_guider=guider)
    if missing and no_questions:
        raise BadInput(
            [Problem(f"{one.key} is not given.", expected=one.expected, suggestion=one.advice) for one in missing]
        )
    for one in missing:
        answers[one.key] = click.prompt(f"{one.help} ({one.expected})", type=str)
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


def _ask_guider(no_questions: bool) -> bool:
    """Ask whether there is an off-axis guider; without questions there is one only if a flag says so."""
    return False if no_questions else click.confirm("Is there an off-axis guider?", default=True)
