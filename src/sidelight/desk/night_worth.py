"""What a night's plan is worth: effective hours of each stay, what the Moon takes, which filter keeps most."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.campaign.tonight import Stretch
from sidelight.desk.hours_words import moon_name
from sidelight.desk.light import camera_floor_ratio, main_filter
from sidelight.light.hours import effective_hours
from sidelight.notebook.read import Notebook

TELLING_SHARE = 0.005
"""What the Moon takes is told from here on; less rounds to nothing."""
FAR_MORE_RATIO = 2.0
"""Another filter is named where it keeps so many times as much of the night; our choice."""


@dataclass(frozen=True)
class PlanWorth:
    """A plan's stays in the filter that each target's hours are counted in.

    filters, effective_h : of each stay. moonless_h : of all, had there been no Moon. best_filter, best_h : the filter
    of the notebook that keeps most of the whole plan under this Moon, and what the plan is worth in it.
    """

    filters: tuple[str, ...] = ()
    effective_h: tuple[float, ...] = ()
    moonless_h: float = 0.0
    best_filter: str = ""
    best_h: float = 0.0

    @property
    def total_h(self) -> float:
        """What the whole plan is worth."""
        return sum(self.effective_h)

    @property
    def moon_takes_share(self) -> float:
        """What the Moon takes of it, 0 to 1."""
        return 0.0 if self.moonless_h <= 0 else max(0.0, 1.0 - self.total_h / self.moonless_h)


def plan_worth(notebook: Notebook, run: Sequence[Stretch]) -> PlanWorth:
    """Return what the stays of a plan are worth in each filter of the notebook."""
    if not run:
        return PlanWorth()
    targets = {target.key: target for target in notebook.targets}
    stays = [targets[one.key] for one in run]
    filters = notebook.light.filters
    found = effective_hours(
        notebook.site,
        notebook.light.sky,
        filters,
        np.array([one.start_mjd for one in run]),
        np.array([one.end_mjd for one in run]),
        np.array([one.ra_deg for one in stays]),
        np.array([one.dec_deg for one in stays]),
        [camera_floor_ratio(notebook, one) for one in filters],
    )
    own = np.array([filters.index(main_filter(notebook, target)) for target in stays]), np.arange(len(run))
    whole, moonless = found.effective_h.sum(axis=1), found.moonless_h.sum(axis=1)
    best = int(np.argmax(whole / np.maximum(moonless, 1e-9)))
    return PlanWorth(
        tuple(filters[int(k)].name for k in own[0]),
        tuple(float(value) for value in found.effective_h[own]),
        float(found.moonless_h[own].sum()),
        filters[best].name,
        float(whole[best]),
    )


def worth_words(worth: PlanWorth, moon_illuminated_fraction: float) -> str:
    """Return what a plan is worth as the end of a sentence, without its stop."""
    named = list(dict.fromkeys(worth.filters))
    words = f"worth {worth.total_h:.1f} effective hours in {' and '.join(named)}"
    if worth.moon_takes_share < TELLING_SHARE:
        return words
    words += f": {moon_name(moon_illuminated_fraction)} takes {100 * worth.moon_takes_share:.0f} %"
    if worth.best_filter in named or worth.best_h < FAR_MORE_RATIO * worth.total_h:
        return words
    return f"{words}; in {worth.best_filter} they would be worth {worth.best_h:.1f}"
