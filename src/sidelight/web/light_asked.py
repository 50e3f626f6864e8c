"""What the light page may be asked: figures in place of the notebook's own, an empty box for none."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import Query

from sidelight.ground.errors import BadInput, Problem
from sidelight.web.asked import Night

Typed = Annotated[str | None, Query(max_length=40, pattern=r"^[-+−0-9.,eE ]*$")]


@dataclass(frozen=True)
class Exposing:
    """A question about exposures; None takes the notebook's figure."""

    date: Night
    target: str | None
    hours_h: float | None
    brightness_mag_arcsec2: float | None
    wanted_snr: float | None
    read_noise_share_percent: float | None
    star_mag: float | None


def exposing(
    date: Night = None,
    target: Annotated[str | None, Query(max_length=200)] = None,
    hours: Typed = None,
    brightness: Typed = None,
    snr: Typed = None,
    share: Typed = None,
    star: Typed = None,
) -> Exposing:
    """Read a question as a form sends it: an empty box stands for the notebook's own figure."""
    problems: list[Problem] = []
    number = _reader(problems)
    asked = Exposing(
        date,
        target or None,
        number("hours", hours),
        number("brightness", brightness),
        number("snr", snr),
        number("share", share),
        number("star", star),
    )
    if problems:
        raise BadInput(problems)
    return asked


def _reader(problems: list[Problem]) -> Callable[[str, str | None], float | None]:
    """Return what reads one number, or notes that it is none."""

    def read(name: str, text: str | None) -> float | None:
        plain = (text or "").strip().replace("−", "-").replace(",", ".")
        if not plain:
            return None
        try:
            value = float(plain)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            problems.append(Problem(f'"{text}" is no number.', key=name, expected="a number, or nothing"))
            return None
        return value

    return read


def figure_texts(asked: Exposing) -> dict[str, str]:
    """Return the figures as they stand in the form's boxes, by the names of its fields."""
    values = {
        "hours": asked.hours_h,
        "brightness": asked.brightness_mag_arcsec2,
        "snr": asked.wanted_snr,
        "share": asked.read_noise_share_percent,
        "star": asked.star_mag,
    }
    return {name: "" if value is None else f"{value:g}" for name, value in values.items()}
