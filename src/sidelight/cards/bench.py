"""The bench card: one page with the angles to set and the order of steps."""

from sidelight.cards.drawings import bench_picture
from sidelight.cards.page import blanks, cautions, columns, figure, figures, heading, notes, page, steps, table
from sidelight.desk.bench_records import BenchAngle, BenchReport
from sidelight.desk.bench_steps import reading_words
from sidelight.pictures.palette import Theme


def bench_card(report: BenchReport, theme: Theme = "print") -> str:
    """Return the bench card as a self-contained HTML page."""
    parts = [part for part in (report.stem, report.camera) if part]
    body = [
        figures([pair for part in parts for pair in _figures(part)]),
        cautions(report.cautions),
        columns(
            heading("In this order") + steps(report.steps),
            figure(bench_picture(report, theme, "narrow")),
        ),
        heading("Both readings, once clamped" if report.stem else "The reading, once clamped"),
        blanks([["stem"] * bool(report.stem) + ["camera", "date"]] * 2),
        heading("The angles"),
        _angles(report, parts),
        notes([line for line in (report.turns_together, report.budget_sentence, pole_words(report)) if line]),
        notes([line for line in (learnt_words(report), *report.notes) if line]),
    ]
    setup = f'set-up "{report.setup}"' if report.setup else "set-up"
    about = f"{report.rig}: {setup} for the nights from {report.date}. {report.view}"
    return page("Bench card", about, body, theme, "Sidelight")


def _figures(part: BenchAngle) -> list[tuple[str, str]]:
    """Return the large figures of one part."""
    return [(f"{part.part}: clock", part.clock), (f"{part.part}: gauge", reading_words(part.gauge))]


def _angles(report: BenchReport, parts: list[BenchAngle]) -> str:
    """Return all angles as a table."""
    head = ["part", "clock", "bench angle", "gauge", "on the sky"]
    if report.newtonian:
        head.insert(4, "gauge, tube lying")
    rows = []
    for part in parts:
        row = [part.part, part.clock, f"{part.bench_deg:.1f}°", f"{reading_words(part.gauge)} ({part.face})"]
        if report.newtonian:
            row.append(reading_words(part.gauge_lying) if part.gauge_lying else "")
        rows.append([*row, f"{part.sky_angle_deg % 360:.1f}°"])
    return table(head, rows, wrapped=True)


def pole_words(report: BenchReport) -> str:
    """Say how the pole of date was allowed for."""
    worst = max((abs(turn.left_over_deg) for turn in report.pole_turns), default=0.0)
    return (
        f"The mount turns about the pole of date, {report.mean_pole_turn_deg:+.2f}° from ICRS north at these "
        f"targets; the angles contain it, and up to {worst:.2f}° is left over for single targets."
    )


def learnt_words(report: BenchReport) -> str:
    """Say what a first image has taught, if any has."""
    if report.gauge_to_sky_date is None:
        return ""
    error = "" if report.gauge_to_sky_error_deg is None else f" ± {report.gauge_to_sky_error_deg:.1f}°"
    return f"Gauge to sky: {report.gauge_to_sky_deg:+.1f}°{error}, learnt on {report.gauge_to_sky_date}; contained."
