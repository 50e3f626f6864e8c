"""The person's own horizon as a silhouette, as old charts show a coast from the sea, with targets passing over it.

Azimuth across, altitude up: the direction one faces is in the middle. Faced south, east is to the left.
"""

import math

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.pictures.axes import Scale, Tick
from sidelight.pictures.chart_records import HorizonView, SkyTrack
from sidelight.pictures.frame import left_side, outline
from sidelight.pictures.lettering import Box, fit, text_box, width_of
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.pictures.regions import thin
from sidelight.pictures.sheet import Sheet, zebra
from sidelight.pictures.svg import (
    Anchor,
    Element,
    Point,
    circle,
    element,
    group,
    line,
    path,
    polyline_data,
    rect,
    tip,
)

_POINTS = {0: "N", 45: "NE", 90: "E", 135: "SE", 180: "S", 225: "SW", 270: "W", 315: "NW"}


def draw_horizon(view: HorizonView, *, theme: Theme = "day", width: Width = "wide", prefix: str = "horizon") -> str:
    """Return the horizon as SVG text, all round once."""
    sheet = Sheet(theme, width, prefix)
    left = sheet.margin + width_of("90°", sheet.small_size) + 14
    top = sheet.below_heading + 6
    box = Box(left, top, sheet.across - sheet.margin - 4, top + (210.0 if sheet.narrow else 330.0))
    x = Scale(view.centre_azimuth_deg - 180.0, view.centre_azimuth_deg + 180.0, box.left, box.right)
    y = Scale(0.0, 90.0, box.bottom, box.top)
    clip = element("clipPath", rect(left, top, box.right - left, box.bottom - top), id=sheet.id("clip"))
    marks = 30 if sheet.narrow else 10
    ticks = [Tick(at, f"{at}°" if at % marks == 0 else "") for at in range(0, 91, 10)]
    return sheet.finish(
        clip,
        group(
            rect(left, top, box.right - left, box.bottom - top, fill=sheet.colours.sky[-1]),
            *[_track(sheet, track, x, y) for track in view.tracks],
            _silhouette(sheet, view, x, y, box),
            clip_path=f"url(#{sheet.id('clip')})",
        ),
        left_side(sheet, box, y, range(0, 91, 10), ticks),
        _floor(sheet, view, box, y),
        _compass(sheet, box, x),
        _names(sheet, view, box, x, y),
        height=box.bottom + sheet.small_size * 2 + sheet.margin,
        title=view.title,
        desc=describe_horizon(view),
    )


def describe_horizon(view: HorizonView) -> str:
    """Return the horizon in words."""
    if not len(view.azimuth_deg):
        return "A horizon without points."
    top, low = int(np.argmax(view.altitude_deg)), int(np.argmin(view.altitude_deg))
    tracks = " ".join(f"Path of {track.name}." for track in view.tracks)
    return (
        f"Horizon all round, from {view.altitude_deg[low]:.0f}° at azimuth {view.azimuth_deg[low]:.0f}° "
        f"to {view.altitude_deg[top]:.0f}° at azimuth {view.azimuth_deg[top]:.0f}°. {tracks}"
    ).strip()


def _silhouette(sheet: Sheet, view: HorizonView, x: Scale, y: Scale, box: Box) -> Element | None:
    """Draw the land: the measured points joined, and repeated to both sides so that north closes."""
    if not len(view.azimuth_deg):
        return None
    azimuth = np.concatenate([view.azimuth_deg + turn for turn in (-720.0, -360.0, 0.0, 360.0, 720.0)])
    altitude = np.tile(view.altitude_deg, 5)
    near = (azimuth >= x.low - 360) & (azimuth <= x.high + 360)
    edge = [(x.at(float(a)), y.at(float(h))) for a, h in zip(azimuth[near], altitude[near], strict=True)]
    shore = polyline_data(edge)
    foot = box.bottom + 40
    closed = polyline_data([(edge[0][0], foot), *edge, (edge[-1][0], foot)], closed=True)
    colours = sheet.colours
    return group(
        path(closed, fill=colours.land),
        path(closed, fill=sheet.hatch("land")),
        path(shore, fill="none", stroke=colours.ink, stroke_width=2, stroke_linejoin="round"),
        id=sheet.id("land"),
    )


def _floor(sheet: Sheet, view: HorizonView, box: Box, y: Scale) -> Element:
    """Draw the floor altitude as a broken line with its name."""
    at, ink = y.at(view.floor_deg), sheet.colours.overlay
    words = f"floor {view.floor_deg:.0f}°"
    return group(
        line((box.left, at), (box.right, at), stroke=ink, stroke_width=1.4, stroke_dasharray="8 5"),
        sheet.write((box.right - 6, at - 6), words, anchor="end", ink=ink, halo=sheet.colours.sky[-1]),
    )


def _compass(sheet: Sheet, box: Box, x: Scale) -> Element:
    """Draw azimuth along the bottom, filled each 15° in turn, with the points of the compass."""
    first = 15 * math.ceil(x.low / 15)
    steps = [float(first + 15 * step) for step in range(25) if first + 15 * step <= x.high]
    edges = sorted({x.low, *steps, x.high})
    names: list[Element | None] = []
    for at in steps:
        point = _POINTS.get(round(at) % 360)
        half = width_of(point or "", sheet.small_size) / 2
        if point and box.left - 10 <= x.at(at) - half and x.at(at) + half <= sheet.across:
            place = (x.at(at), box.bottom + 10 + sheet.small_size)
            names.append(sheet.write(place, point, anchor="middle", serif=True, bold=len(point) == 1))
    return group(zebra(sheet, [x.at(edge) for edge in edges], box.bottom, 6), outline(sheet, box), *names)


def _runs(track: SkyTrack, x: Scale) -> list[list[tuple[float, float, int]]]:
    """Return a track's points as (azimuth within the plot, altitude, index), cut where it leaves by a side."""
    runs: list[list[tuple[float, float, int]]] = [[]]
    for index, (azimuth, altitude) in enumerate(zip(track.azimuth_deg, track.altitude_deg, strict=True)):
        if not (np.isfinite(azimuth) and np.isfinite(altitude)):
            runs.append([])
            continue
        shown = (float(azimuth) - x.low) % 360.0 + x.low
        if runs[-1] and abs(shown - runs[-1][-1][0]) > 180.0:
            runs.append([])
        runs[-1].append((shown, float(altitude), index))
    return [run for run in runs if run]


def _track(sheet: Sheet, track: SkyTrack, x: Scale, y: Scale) -> Element:
    """Draw a target's path with a bead at each labelled point."""
    beads: list[Element | None] = []
    data = ""
    for run in _runs(track, x):
        data += polyline_data(thin([(x.at(azimuth), y.at(altitude)) for azimuth, altitude, _ in run]))
        beads += [
            circle((x.at(azimuth), y.at(altitude)), 3 if sheet.narrow else 4)
            for azimuth, altitude, index in run
            if index < len(track.labels) and track.labels[index]
        ]
    return group(
        tip(track.name),
        path(data, fill="none", stroke=sheet.colours.ink, stroke_width=1.8) if data else None,
        group(*beads, fill=sheet.colours.ink, stroke=sheet.colours.sky[-1], stroke_width=1),
    )


def _names(sheet: Sheet, view: HorizonView, box: Box, x: Scale, y: Scale) -> Element:
    """Write each track's name near its highest point and the labels of its beads where there is room."""
    shore = _shore(view)
    taken: list[Box] = []
    drawn: list[Element | None] = []
    wanted: list[tuple[float, float, str, bool]] = []
    for track in view.tracks:
        points = [point for run in _runs(track, x) for point in run]
        if points:
            azimuth, altitude, _ = max(points, key=lambda point: point[1])
            wanted.append((azimuth, altitude, track.name, True))
        wanted += [(a, h, track.labels[i], False) for a, h, i in points if i < len(track.labels) and track.labels[i]]
    for azimuth, altitude, words, bold in sorted(wanted, key=lambda want: not want[3]):
        if altitude < float(np.interp(azimuth % 360.0, *shore)):
            continue
        text = fit(words, 170, sheet.small_size)
        for at, anchor in _spots((x.at(azimuth), y.at(altitude)), sheet.small_size):
            area = text_box(at, text, sheet.small_size * (1.08 if bold else 1.0), anchor)
            if area.inside(box) and not any(area.meets(other) for other in taken):
                taken.append(area)
                ink = sheet.colours.ink if bold else sheet.colours.soft_ink
                drawn.append(sheet.write(at, text, anchor=anchor, bold=bold, ink=ink, halo=sheet.colours.sky[-1]))
                break
    return group(*drawn, id=sheet.id("names"))


def _spots(at: Point, size: float) -> list[tuple[Point, Anchor]]:
    """Return places about a point where its label may stand."""
    x, y = at
    return [
        ((x, y - size * 0.7), "middle"),
        ((x + 8, y - 3), "start"),
        ((x - 8, y - 3), "end"),
        ((x, y + size * 1.4), "middle"),
    ]


def _shore(view: HorizonView) -> tuple[FloatArray, FloatArray]:
    """Return the horizon over 0 to 360 degrees, closed across north, for interpolation."""
    if not len(view.azimuth_deg):
        return np.array([0.0, 360.0]), np.zeros(2)
    order = np.argsort(np.mod(view.azimuth_deg, 360.0))
    azimuth, altitude = np.mod(view.azimuth_deg, 360.0)[order], view.altitude_deg[order]
    return (
        np.concatenate([azimuth[-1:] - 360.0, azimuth, azimuth[:1] + 360.0]),
        np.concatenate([altitude[-1:], altitude, altitude[:1]]),
    )
