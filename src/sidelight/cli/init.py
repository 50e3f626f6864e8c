"""``sidelight init``: a new notebook from answers or flags."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sidelight.ground.errors import BadInput, Problem

if TYPE_CHECKING:
    from sidelight.desk.beginning import AskedTable
    from sidelight.desk.forms import KeyForm

Answers = dict[str, str]


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
    answers: Answers = dict(_pair(text) for text in given)
    if no_questions:
        guided = any(key.startswith("rig.guider.") for key in answers) and not no_guider
        missing = open_questions(answers, with_guider=guided)
        if missing:
            raise BadInput(
                [Problem(f"{one.key} is not given.", expected=one.expected, suggestion=one.advice) for one in missing]
            )
    else:
        _ask_everything(answers, no_guider)
        targets = targets or _ask_targets()
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


def _ask_everything(answers: Answers, no_guider: bool) -> None:
    """Ask what decides the answers most, file by file; what has a usual value may be passed over with Enter."""
    from sidelight.desk.beginning import asked_parts

    guided = None if not no_guider else False
    click.echo("Enter takes what stands in brackets. Everything can be changed later in the files.")
    for part in asked_parts():
        for table in part.tables:
            if table.optional and guided is None:
                click.echo()
                said = any(key.startswith("rig.guider.") for key in answers)
                guided = said or click.confirm("Is there an off-axis guider?", default=True)
            if not table.optional or guided:
                _ask_table(table, answers)


def _ask_table(table: "AskedTable", answers: Answers) -> None:
    """Ask the questions of one table that are open and matter for what was answered before."""
    from sidelight.desk.beginning import matters

    headed = False
    for form in table.keys:
        if form.path in answers or not matters(form.path, answers):
            continue
        if not headed:
            click.echo(f"\n{table.title}{': ' if table.help else ''}{table.help}")
            headed = True
        _ask(form, answers)


def _ask(form: "KeyForm", answers: Answers) -> None:
    """Ask one question until its answer can be used."""
    from sidelight.desk.begin import fault_of

    more = "" if form.help.rstrip(".") == form.label else f" {form.help}"
    click.echo(f"  {form.label}.{more} ({_wanted(form)})")
    while True:
        answer = click.prompt("   ", default=form.usual, show_default=bool(form.usual), prompt_suffix=" ").strip()
        if not answer:
            if not form.required:
                return
            click.echo("    This one is needed.")
            continue
        fault = fault_of(form.path, answer)
        if fault is None:
            if answer != form.usual:
                answers[form.path] = answer
            return
        click.echo(f"    {fault}")


def _wanted(form: "KeyForm") -> str:
    """Return what an answer may be; text needs no quotes here."""
    if form.kind == "text":
        return f"such as {form.example or form.usual}"
    return form.expected + (f"; such as {form.example}" if form.example else "")


def _ask_targets() -> tuple[str, ...]:
    """Ask for targets one by one; each is looked up at once."""
    from sidelight.desk.begin import fault_of_target

    click.echo('\nTargets: a name such as "M 51" in each line; an empty line ends the list, which may stay empty.')
    names: list[str] = []
    while True:
        name = click.prompt("   ", default="", show_default=False, prompt_suffix=" ").strip()
        if not name:
            return tuple(names)
        fault = fault_of_target(name, names)
        if fault:
            click.echo(f"    {fault}")
        else:
            names.append(name)
