"""Write docs/accuracy.md from a run: each model's typical and largest difference from an outside reference.

python builders/build_accuracy.py
"""

import re
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import fill

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.comparisons.all import every_comparison  # noqa: E402 - the tests live beside the package
from tests.comparisons.records import Comparison  # noqa: E402

PAGE = ROOT / "docs" / "accuracy.md"
HEAD = """<!-- Made by builders/build_accuracy.py; run it instead of editing this page. -->

# How accurate it is

Every row below holds something that you rely on against a reference from outside: a printed table, an observatory's
almanac, a JPL ephemeris, another library, an exact probability. *Typical* is the median difference and *largest* the
worst of all cases, both found by the run that wrote this page. *Allowed* is what the tests refuse to exceed
(`tests/reference/test_accuracy.py`); why it is that much stands beside it, and comes from the model's own words or
from the reference, never from what was found. Latitudes, declinations and years are those of the cases themselves.
"""
NO_BREAK = "\N{NO-BREAK SPACE}"
RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
LIMB = "moonrise and moonset, as the altitude of the Moon's limb"
ARC = "ends of a star's arc"
POLAR = "edges of windows near the poles, where the Sun sinks slowly"
FRAMED = "ends of the camera angles that frame a target"
SPELLS = "odds by each night, weather in spells"
PLAYED = "worth of how the season is played"
NEBULA = "signal-to-noise of a nebula's pixel after hours"
NOT_HERE = """
## What no table can tell

These figures say how well the arithmetic follows its references, not how the night will be: air that bends light
more than the standard air does, haze, a town's lamps, a mount that points a little wrong. What each model leaves out
stands in its own words in the code, and on the pages about [light](light.md) and the [campaign](campaign.md).
"""


class Figures:
    """The comparisons of a run, to be asked for figures in sentences."""

    def __init__(self, every: Sequence[Comparison]) -> None:
        self.every = every

    def of(self, model: str, unit: str) -> list[Comparison]:
        """Return the comparisons of a model in a unit; there must be one."""
        found = [one for one in self.every if one.model == model and one.unit == unit]
        if not found:
            raise KeyError((model, unit))
        return found

    def largest(self, model: str, unit: str) -> str:
        """Return the largest difference of a model as text with its unit."""
        return measure(max(one.largest for one in self.of(model, unit)), unit)

    def typical(self, model: str, unit: str) -> str:
        """Return the largest of a model's typical differences as text with its unit."""
        return measure(max(one.typical for one in self.of(model, unit)), unit)

    def count(self, model: str, unit: str) -> str:
        """Return how many values of a model were compared."""
        return f"{sum(one.count for one in self.of(model, unit)):,}"


@dataclass(frozen=True)
class Section:
    """What a person relies on: its title, its line of the summary, and what its figures mean for a night."""

    title: str
    line: Callable[[Figures], tuple[str, str, str]]
    words: Callable[[Figures], str]


def figure(value: float, digits: int = 2) -> str:
    """Return a few significant figures, as people write them; what is only rounding as "under 10⁻⁹"."""
    if value == 0 or 1e-3 <= abs(value) < 1e4:
        return f"{float(f'{value:.{digits}g}'):g}" if abs(value) < 100 else f"{value:.0f}"
    if abs(value) < 1e-9:
        return "under 10⁻⁹"
    mantissa, exponent = f"{value:.0e}".split("e")
    power = "10" + str(int(exponent)).translate(RAISED)
    return power if mantissa == "1" else f"{mantissa} × {power}"


def measure(value: float, unit: str, digits: int = 2) -> str:
    """Return a value with its unit; signs of angle stand close."""
    name = unit.removesuffix("s") if value == 1.0 and len(unit) > 1 else unit
    return f"{figure(value, digits)}{'' if unit in '°′″' else NO_BREAK}{name}"


def _night(f: Figures) -> str:
    """Return what the figures of Sun and Moon mean."""
    tables = [one for one in f.every if one.model.endswith("a whole year")]
    inside, count = sum(one.within_rounding for one in tables), sum(one.count for one in tables)
    return f"""
        Dusk and dawn are within {f.largest("dusk and dawn", "s")} of JPL's ephemeris, the Earth's rotation being the
        same in both; the Earth itself runs up to 0.9 s ahead or behind, and nobody knows it years before. The Moon
        rises and sets where its limb stands within {f.largest(LIMB, "″")} of the horizon, a second or so of time
        where it moves steeply. In two whole-year tables of the US Naval Observatory all {count:,} risings
        and settings are met, none missing and none too many on any day (`tests/reference/test_sky_usno_tables.py`),
        and {100 * inside / count:.0f} % of them lie within the tables' own rounding to the minute, which alone makes
        15 s typical. The air of a real night moves a rising by more than all this.
        """


def _target(f: Figures) -> str:
    """Return what the figures of targets mean."""
    return f"""
        Up to the polar circles a window opens and closes within {f.largest("edges of windows", "s")} of where the
        whole arithmetic of the sky has it, {f.typical("edges of windows", "s")} typically; by the poles, where the
        Sun takes days to sink by 1°, its dusk is found to {f.largest(POLAR, "s")}. Transit and flip are within
        {f.largest("the flip", "s")}. Against all this the measured skyline is the large error: 1° of it is four
        minutes or more of any star's way.
        """


def _bench(f: Figures) -> str:
    """Return what the figures of the bench mean."""
    return f"""
        The geometry is exact: over {f.count(ARC, "°")} ends of arcs what is left is rounding
        ({f.largest(ARC, "°")}), and bench angles follow rays traced through the optics as closely. Where an outline
        should just touch the picture's border it sticks out by {f.largest(FRAMED, "″")} at the most. The error of a
        real set-up is that of the gauge, of its seat and of the pointing, for which every answer keeps room.
        """


def _light(f: Figures) -> str:
    """Return what the figures of light mean."""
    return f"""
        Effective hours follow the published equations to {f.largest("effective hours of a window", "%")}, and a
        signal-to-noise follows electrons drawn at random to {f.largest(NEBULA, "%")}, as closely as the drawing
        allows. The equations themselves are worth less: their authors state 8 to 23 % for moonlight, and a camera's
        rates are known to some 20 %. So two nights compare better than the hours of one of them can be trusted.
        """


def _odds(f: Figures) -> str:
    """Return what the figures of the odds mean."""
    from scipy.stats import binom

    from sidelight.desk.campaign import WEATHERS

    stated, less = (100 * float(binom(40, chance).sf(11)) for chance in (0.35, 0.30))
    return f"""
        Odds differ from exact probabilities by the throw of the simulated weathers and no more: here by
        {f.largest(SPELLS, "points")} (percentage points) at the most, {f.typical(SPELLS, "points")} typically. A
        campaign is played in {WEATHERS:,} weathers, whose standard error is {50 / WEATHERS**0.5:.1g} points at even
        odds. In small seasons the way it is played reaches the best possible worth to {f.typical(PLAYED, "%")}
        typically and {f.largest(PLAYED, "%")} at worst, and the odds that are told are those of that way. The chance
        of a usable night that you state matters more: twelve usable nights of forty have odds of {stated:.0f} % if
        each has 35 %, and of {less:.0f} % if it has 30 %.
        """


SECTIONS = {
    "night": Section(
        "When it is dark, when the Moon is up",
        lambda f: ("dusk and dawn", f.typical("dusk and dawn", "s"), f.largest("dusk and dawn", "s")),
        _night,
    ),
    "target": Section(
        "When a target can be photographed",
        lambda f: ("the edges of a window", f.typical("edges of windows", "s"), f.largest("edges of windows", "s")),
        _target,
    ),
    "bench": Section(
        "The angles of camera and guider",
        lambda f: (
            "the ends of a guide star's arc",
            f.typical(ARC, "°"),
            f.largest(ARC, "°"),
        ),
        _bench,
    ),
    "light": Section(
        "What an hour is worth",
        lambda f: (
            "the effective hours of a window",
            f.typical("effective hours of a window", "%"),
            f.largest("effective hours of a window", "%"),
        ),
        _light,
    ),
    "odds": Section(
        "The odds of finishing",
        lambda f: (
            "the odds, weather in spells",
            f.typical(SPELLS, "points"),
            f.largest(SPELLS, "points"),
        ),
        _odds,
    ),
}
ROW_HEAD = """| what | held against | where and when | cases | typical | largest | allowed, because |
| --- | --- | --- | --: | --: | --: | --- |
"""


def row(one: Comparison) -> str:
    """Return a comparison as a row of its table."""
    against = one.reference + (f" ({one.remark})" if one.remark else "")
    largest = measure(one.largest, one.unit)
    if one.rounding:
        largest += f"; {one.within_rounding:,} of {one.count:,} within the reference's rounding"
    allowed = f"{measure(one.allowed, one.unit, 3)}: {one.reason}"
    cells = (
        one.model,
        against,
        one.cases.words or "–",
        f"{one.count:,}",
        measure(one.typical, one.unit),
        largest,
        allowed,
    )
    return "| " + " | ".join(cells) + " |"


def summary(every: Sequence[Comparison]) -> str:
    """Return what the page says in short."""
    figures = Figures(every)
    over = [one.model for one in every if one.largest > one.allowed]
    verdict = "no difference was larger than allowed" if not over else "larger than allowed: " + ", ".join(over)
    references = len({one.reference for one in every})
    values = sum(one.count for one in every)
    lines = [
        "",
        f"This run: {len(every)} comparisons, {values:,} values, {references} references; {verdict}.",
        "",
        "| for example | typical | largest | more |",
        "| --- | --: | --: | --- |",
    ]
    for section in SECTIONS.values():
        what, typical, largest = section.line(figures)
        anchor = section.title.lower().replace(",", "").replace(" ", "-")
        lines.append(f"| {what} | {typical} | {largest} | [{section.title}](#{anchor}) |")
    return "\n".join(lines) + "\n"


def page() -> str:
    """Return the page of this run."""
    every = every_comparison()
    parts = [HEAD, summary(every)]
    for subject, section in SECTIONS.items():
        rows = "\n".join(row(one) for one in every if one.subject == subject)
        words = fill(re.sub(r"[ \n]+", " ", section.words(Figures(every))).strip(), 118, break_on_hyphens=False)
        parts.append(f"\n## {section.title}\n\n{words}\n\n{ROW_HEAD}{rows}\n")
    return "".join(parts) + NOT_HERE


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
