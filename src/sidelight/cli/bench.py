"""``sidelight bench``: the set-up as angles on the metal."""

import datetime as dt
from pathlib import Path

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered
from sidelight.cli.words import table
from sidelight.desk.bench_records import BenchAngle, BenchReport
from sidelight.desk.bench_steps import reading_words
from sidelight.pictures.palette import Theme


@click.command("bench")
@options.notebook
@options.date("First night that the set-up must serve.")
@options.setup
@answered(drawn=True, printed=True)
def command(
    notebook: Path,
    date: dt.date | None,
    kept: str | None,
    answer: Answer,
) -> None:
    """Turn the set-up into angles on the metal: clock positions, gauge readings, and the order of steps."""
    from sidelight.desk.bench import bench_report
    from sidelight.desk.kept import setup_in_use
    from sidelight.desk.open import open_for

    book, day = open_for(notebook, date)
    report = bench_report(book, setup_in_use(book, day, kept))
    answer.give(report, bench_text, _pictures, _card)


def _pictures(report: BenchReport, look: Theme) -> dict[str, str]:
    """Draw the back of the telescope."""
    from sidelight.cards.drawings import bench_picture

    return {"bench": bench_picture(report, look)}


def _card(report: BenchReport, look: Theme) -> str:
    """Return the printable page."""
    from sidelight.cards.bench import bench_card

    return bench_card(report, look)


def bench_text(report: BenchReport) -> str:
    """Return the report for a person at a terminal."""
    parts = [part for part in (report.stem, report.camera) if part]
    lines = [f"Bench for {report.date}, {report.rig}", "", report.view, "", _parts(parts), ""]
    lines += ["Take care", *[f"  {caution}" for caution in report.cautions], ""]
    lines += [f"{i}. {step}" for i, step in enumerate(report.steps, start=1)]
    lines += ["", report.turns_together, report.budget_sentence]
    lines.append(
        f"The mount's pole of date stands {report.mean_pole_turn_deg:+.2f}° from ICRS north at these targets; the "
        "angles above contain it."
    )
    if report.gauge_to_sky_date:
        error = report.gauge_to_sky_error_deg
        spread = f" ± {error:.1f}°" if error is not None else ""
        lines.append(f"Gauge to sky: {report.gauge_to_sky_deg:+.1f}°{spread}, learnt on {report.gauge_to_sky_date}.")
    lines += [f"Note: {note}" for note in report.notes]
    return "\n".join(line for line in lines if line is not None)


def _parts(parts: list[BenchAngle]) -> str:
    """Return one row for each thing to set."""
    rows = [
        [
            part.part,
            part.clock,
            f"{part.bench_deg:.1f}°",
            reading_words(part.gauge),
            *([reading_words(part.gauge_lying)] if part.gauge_lying else []),
            f"{part.sky_angle_deg % 360:.1f}°",
        ]
        for part in parts
    ]
    head = ["part", "clock", "bench", "gauge", *(["tube lying"] if parts[0].gauge_lying else []), "on the sky"]
    return table(head, rows, right=(1, 2))
