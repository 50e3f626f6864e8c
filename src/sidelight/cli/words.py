"""Figures as words and rows for a terminal."""

from collections.abc import Sequence

from sidelight.desk.labels import turn


def sky_angle(value_deg: float | None) -> str:
    """Return an angle of the circle, such as "37.4°"; empty for none."""
    return "" if value_deg is None else f"{round(value_deg, 1) % 360.0:.1f}°"


def angle(value_deg: float | None) -> str:
    """Return a turn; empty for none."""
    return turn(value_deg, "")


def star_mag(mag: float | None) -> str:
    """Return a guide star's magnitude."""
    return "none" if mag is None else f"{mag:.1f} mag"


def counted(count: int, one: str, many: str = "") -> str:
    """Return a number with its noun, such as "1 frame" or "12 frames"."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def star_snr(snr: float | None, doubtful: bool = False) -> str:
    """Return a guide star's signal-to-noise, marked when something speaks against the star; empty for none."""
    return "" if snr is None else f"{snr:.0f}{' !' if doubtful else ''}"


def table(head: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """Return an aligned text table; columns named in `right` are set flush right."""
    every = [list(head), *[list(row) for row in rows]]
    widths = [max(len(row[i]) for row in every) for i in range(len(head))]

    def line(row: Sequence[str]) -> str:
        cells = [cell.rjust(widths[i]) if i in right else cell.ljust(widths[i]) for i, cell in enumerate(row)]
        return "  ".join(cells).rstrip()

    return "\n".join([line(head), "  ".join("─" * width for width in widths), *map(line, rows)])
