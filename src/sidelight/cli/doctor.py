"""``sidelight doctor``: versions, data, computer, notebook, and what is odd."""

import sys
from itertools import groupby
from pathlib import Path

import click

from sidelight.cli.answers import Answer, answered
from sidelight.desk.doctor import DoctorReport

HEADS = {"program": "Program", "data": "Data that came with it", "computer": "This computer", "notebook": "Notebook"}
SIGNS = {"fine": "  ", "note": "  ", "odd": "! "}


@click.command("doctor")
@click.argument("notebook", type=click.Path(path_type=Path), required=False)
@answered()
def command(notebook: Path | None, answer: Answer) -> None:
    """Look at the program, its data, this computer and NOTEBOOK [here], and say what is odd.

    Nothing is changed and nothing is fetched. The exit code is 1 when something is odd, else 0.
    """
    from sidelight.desk.doctor import doctor_report

    report = doctor_report(notebook or Path(), named=notebook is not None)
    answer.give(report, doctor_text)
    sys.exit(0 if report.sound else 1)


def doctor_text(report: DoctorReport) -> str:
    """Return the report for a person at a terminal; what is odd has an exclamation mark, and is said again."""
    lines: list[str] = []
    width = max(len(one.name) for one in report.findings)
    for part, findings in groupby(report.findings, key=lambda one: one.part):
        lines += [HEADS[part] + (f" {report.notebook}" if part == "notebook" and report.notebook else "")]
        lines += [f"{SIGNS[one.state]}{one.name.ljust(width)}  {one.sentence}" for one in findings]
        lines.append("")
    lines.append(report.sentence)
    lines += [f"! {one.name}: {one.sentence}" for one in report.findings if one.state == "odd"]
    return "\n".join(lines)
