"""docs/mutation.md, from what was found and from the reasons in survivors.toml."""

import tomllib
from collections import Counter
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from mutation.spots import Spot
from mutation.store import Store
from mutation.subjects import ROOT

PAGE = ROOT / "docs" / "mutation.md"
REASONS = Path(__file__).with_name("survivors.toml")
HEAD = """<!-- Made by builders/mutation_run.py; run it, do not edit this page. -->

# Disturbed on purpose

Do the tests notice when the physics is wrong? One spot at a time is made wrong, and the tests that pass through it
are run until one fails. {tried} of {spots} spots were tried; some test noticed **{noticed} of them,
{share:.1%}**{slow}.
{reasons}

The tests asked about a spot are those whose functions pass through it, the quickest few seconds' worth of them,
property tests with a few examples each. {took}
The share is a lower bound: where the tests asked were cut short, others may notice.

A spot is one of these:

- a sign or an operator: `+` for `-`, `*` for `/` and the other way round, a minus lost;
- a number put off by 1 %, whole numbers too where they belong to a formula (15, 24, 360, a factor, a power);
- two arguments swapped that stand beside each other in a call;
- `<` for `>`, `<=` for `>=`, the smallest for the largest.

Left out by rule, as no physics: refusals with their messages and bounds, texts, indices and axes, annotations,
defaults of arguments and of records' fields, the ±1 and ±90 that hold a sine or an altitude within its range,
numbers up to 10⁻⁶ that are no factor (they guard against rounding), and swaps in calls whose order cannot matter
(the smaller of two, a union, the two parts of a Julian date).

Not disturbed are modules that hold no physics (files, words, pictures, pages, the command), and searches: of set-ups
through pairs of angles and shifts, and of the campaign's plan. A search that is spoilt finds less, and what it finds
is reckoned anew by the modules below; how much less than the best is held as a whole, against exhaustive scans and
exact optima ([accuracy](accuracy.md)).

To run it: `python builders/mutation_run.py FOLDER`; the folder keeps what was found, so that a run may be
interrupted. It wants a system that can fork (Linux, macOS).

| module | spots | tried | noticed | not noticed | share |
| --- | --: | --: | --: | --: | --: |
"""


@dataclass(frozen=True)
class Reason:
    """Why nobody need notice: of one function, the spots whose text has one of these parts."""

    module: str
    function: str
    spots: tuple[str, ...]
    why: str

    def fits(self, spot: Spot) -> bool:
        """Tell whether it is about a spot."""
        return (self.module, self.function) == (spot.module, spot.function) and any(
            part in spot.text for part in self.spots
        )


def reasons() -> list[Reason]:
    """Return the reasons that are kept beside this module."""
    kept = tomllib.loads(REASONS.read_text(encoding="utf-8")).get("survivor", [])
    return [Reason(one["module"], one["function"], tuple(one["spots"]), one["why"]) for one in kept]


def write_page(store: Store, spots: list[Spot]) -> tuple[list[str], list[str]]:
    """Write the page; return the survivors without a reason, and the reasons that fit no survivor."""
    kept = reasons()
    tried = [spot for spot in spots if store.holds(spot)]
    survivors = [spot for spot in tried if store.outcomes[spot.key].status == "survived"]
    lines, unexplained = ["", "## Not noticed, and why nobody need notice", ""], []
    for module, some in groupby(survivors, key=lambda spot: spot.module):
        lines += [f"### {module.removesuffix('.py')}", ""]
        for spot in some:
            why = next((reason.why for reason in kept if reason.fits(spot)), None)
            unexplained += [] if why else [spot.key]
            inside = f"`{spot.function}`: " if spot.function else ""
            lines.append(f"- {inside}{spot.text}. {why or 'Not explained yet.'}")
        lines.append("")
    stale = [f"{one.module} | {one.function} | {part}" for one in kept for part in one.spots
             if not any(Reason(one.module, one.function, (part,), "").fits(spot) for spot in survivors)]  # fmt: skip
    body = "\n".join([*_rows(spots, tried, survivors), *lines])
    text = _head(store, spots, tried, survivors, len(unexplained)) + body
    PAGE.write_text(text.rstrip() + "\n", encoding="utf-8", newline="\n")
    return unexplained, stale


def _head(store: Store, spots: list[Spot], tried: list[Spot], survivors: list[Spot], unexplained: int) -> str:
    survived, told = len(survivors), len(survivors) - unexplained
    slow = sum(store.outcomes[spot.key].status == "too long" for spot in tried)
    minutes = sum(store.outcomes[spot.key].seconds for spot in tried) / 60.0
    return HEAD.format(
        tried=len(tried),
        spots=len(spots),
        noticed=len(tried) - survived,
        share=(len(tried) - survived) / max(1, len(tried)),
        reasons=f"Of the {survived} that none noticed, {told} have their reason below"
        + (f", {unexplained} not yet." if unexplained else ": they change no answer, or by less than is promised."),
        slow=f", {slow} of these because the tests ran many times longer than they should" if slow else "",
        took=f"On two cores the spots took {minutes:.0f} minutes, added up.",
    )


def _rows(spots: list[Spot], tried: list[Spot], survivors: list[Spot]) -> list[str]:
    every, done, left = (Counter(spot.module for spot in some) for some in (spots, tried, survivors))
    return [
        f"| `{name.removesuffix('.py')}` | {every[name]} | {done[name]} | {done[name] - left[name]} | {left[name]} "
        f"| {_share(done[name], left[name])} |"
        for name in every
    ]


def _share(tried: int, left: int) -> str:
    return f"{(tried - left) / tried:.0%}" if tried else "–"
