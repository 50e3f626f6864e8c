"""The night's plot, and the names along its curves, set where they cover neither each other nor a line."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.pictures.axes import Scale
from sidelight.pictures.chart_records import NightCurve, NightView, PlannedStretch
from sidelight.pictures.lettering import Box, fit, text_box
from sidelight.pictures.regions import thin
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, Point, group, polyline_data


@dataclass(frozen=True)
class NightChart:
    """The plot and its two scales."""

    sheet: Sheet
    view: NightView
    box: Box
    x: Scale
    y: Scale

    def points(self, altitudes_deg: FloatArray, start_mjd: float, end_mjd: float) -> list[list[Point]]:
        """Return a curve's points between two instants, both ends included, in runs without gaps."""
        times = self.view.times_mjd
        inner = times[(times > start_mjd) & (times < end_mjd)]
        at = np.concatenate([[start_mjd], inner, [end_mjd]])
        if not len(times):
            return []
        values = np.interp(at, times, altitudes_deg)
        runs: list[list[Point]] = [[]]
        for x, y, value in zip(self.x.all(at), self.y.all(values), values, strict=True):
            if np.isfinite(value):
                runs[-1].append((float(x), float(y)))
            elif runs[-1]:
                runs.append([])
        return [thin(run) for run in runs if len(run) > 1]

    def curve(self, altitudes_deg: FloatArray, start_mjd: float, end_mjd: float) -> str:
        """Return path data of a curve between two instants."""
        return "".join(polyline_data(run) for run in self.points(altitudes_deg, start_mjd, end_mjd))


def by_name(view: NightView, name: str) -> NightCurve | None:
    """Return the curve of a target, None if the night has none."""
    return next((curve for curve in view.curves if curve.name == name), None)


def draw_names(chart: NightChart) -> Element:
    """Write each target's name along its curve where no other name stands, planned targets first."""
    sheet, view = chart.sheet, chart.view
    planned = {stretch.name: stretch for stretch in view.plan}
    crowd = _crowd(chart)
    boxes = _signs(chart)
    drawn: list[Element | None] = []
    moon = [NightCurve("", view.moon_altitude_deg)] if len(view.moon_altitude_deg) else []
    for curve in [*sorted(view.curves, key=lambda one: one.name not in planned), *moon]:
        name = curve.name or f"Moon {view.moon_illuminated_fraction * 100:.0f} %"
        name = fit(name, 120 if sheet.narrow else 190, sheet.small_size)
        spot = _free_spot(chart, curve, name, boxes, crowd, planned.get(curve.name))
        if spot is None:
            continue
        boxes.append(text_box(spot, name, sheet.small_size * 1.05, "middle"))
        ink = sheet.colours.ink if curve.name else sheet.colours.soft_ink
        bold, halo = curve.name in planned, sheet.colours.sky[-1]
        drawn.append(sheet.write(spot, name, anchor="middle", bold=bold, italic=not curve.name, ink=ink, halo=halo))
    return group(*drawn, id=sheet.id("names"))


def _crowd(chart: NightChart) -> FloatArray:
    """Return points along all curves, shape (n, 2), close enough to tell whether a name would cover a line."""
    view = chart.view
    if len(view.times_mjd) < 2:
        return np.empty((0, 2))
    at = np.linspace(chart.x.low, chart.x.high, 240)
    every = [curve.altitude_deg for curve in view.curves]
    every += [view.moon_altitude_deg] if len(view.moon_altitude_deg) else []
    rows = [np.column_stack([chart.x.all(at), chart.y.all(np.interp(at, view.times_mjd, one))]) for one in every]
    for stretch in view.plan:  # a planned band is broad: its edges count as lines too
        curve = by_name(view, stretch.name)
        if curve is not None:
            inside = np.linspace(stretch.start_mjd, stretch.end_mjd, 40)
            x, y = chart.x.all(inside), chart.y.all(np.interp(inside, view.times_mjd, curve.altitude_deg))
            rows += [np.column_stack([x, y + aside]) for aside in (-6.0, -3.0, 3.0, 6.0)]
    return np.concatenate(rows) if rows else np.empty((0, 2))


def floor_word(chart: NightChart) -> tuple[Point, str, Box]:
    """Return where the floor is named, in the land below it, with what words, and their box."""
    words = f"below the floor of {chart.view.floor_deg:.0f}°"
    at = (chart.box.right - 8, chart.box.bottom - 8)
    box = text_box(at, words, chart.sheet.small_size * 1.1, "end")
    moon = _moon_box(chart)
    if moon is not None and box.meets(moon):  # the Moon rises there: the words go before it
        step = box.right - moon.left + 4
        at, box = (at[0] - step, at[1]), Box(box.left - step, box.top, box.right - step, box.bottom)
    return at, words, box


def _moon_box(chart: NightChart) -> Box | None:
    """Return the box of the Moon's disc at the highest point of its curve; None for no Moon."""
    moon = chart.view.moon_altitude_deg
    if not len(moon) or not np.any(np.isfinite(moon)):
        return None
    top = int(np.nanargmax(moon))
    x = min(max(chart.x.at(float(chart.view.times_mjd[top])), chart.box.left + 10), chart.box.right - 10)
    y = chart.y.at(float(moon[top]))
    return Box(x - 12, y - 11, x + 12, y + 11)


def _signs(chart: NightChart) -> list[Box]:
    """Return the boxes of the flips' signs and of the Moon's disc, which names keep clear of."""
    places = [(at, curve.altitude_deg) for name, at in chart.view.flips_mjd if (curve := by_name(chart.view, name))]
    moon = _moon_box(chart)
    boxes = [floor_word(chart)[2], *([moon] if moon else [])]
    for at, altitudes in places:
        x, y = chart.x.at(at), chart.y.at(float(np.interp(at, chart.view.times_mjd, altitudes)))
        boxes.append(Box(x - 12, y - 11, x + 12, y + 11))
    return boxes


def _free_spot(
    chart: NightChart,
    curve: NightCurve,
    name: str,
    taken: Sequence[Box],
    crowd: FloatArray,
    stretch: PlannedStretch | None,
) -> Point | None:
    """Return the place beside a curve that covers fewest lines and no name; high on the curve, or by its plan."""
    view, size = chart.view, chart.sheet.small_size
    away = size * (1.1 if stretch is not None else 0.7)
    best: tuple[float, Point] | None = None
    for index in range(0, len(view.times_mjd), max(1, len(view.times_mjd) // 70)):
        altitude, at = float(curve.altitude_deg[index]), float(view.times_mjd[index])
        if not altitude > 2:
            continue
        x, y = chart.x.at(at), chart.y.at(altitude)
        for baseline in (y - away, y + away + size * 0.75):
            box = text_box((x, baseline), name, size * 1.05, "middle")
            if not box.inside(chart.box) or any(box.meets(other) for other in taken):
                continue
            inside = (crowd[:, 0] > box.left) & (crowd[:, 0] < box.right)
            covered = np.sum(inside & (crowd[:, 1] > box.top - 3) & (crowd[:, 1] < box.bottom + 2))
            off_plan = stretch is not None and not stretch.start_mjd <= at <= stretch.end_mjd
            useless = not any(start <= at <= end for start, end in curve.usable_mjd)
            cost = (
                float(covered) + (30.0 if off_plan else 0.0) + (12.0 if useless else 0.0) + (90.0 - altitude) * 0.15
            )
            if best is None or cost < best[0]:
                best = (cost, (x, baseline))
    return best[1] if best is not None else None
