"""Full pictures for the unit tests: invented targets and figures, as crowded as the job gets."""

import datetime as dt
import math

import numpy as np

from sidelight.pictures import chart_records as charts
from sidelight.pictures import records
from sidelight.pictures.collected import CollectedRow, CollectedView

TARGETS = (
    "Heron", "Lantern Nebula", "Quay 7", "Old Pier", "Saltmarsh", "Anvil <&>", "Long Reach Galaxy Group East", "Fen",
    "Weir 12", "Millrace",
)  # fmt: skip


def dial(count: int = 10, needle_deg: float | None = 217.4) -> records.Dial:
    """Return a dial of `count` targets on both sides, every third ring not needed."""
    rings = []
    for index in range(count):
        for place, side in enumerate(("west", "east")):
            start = (217.4 - 3.0 - index * 0.3 + place * 0.2) % 360
            arcs = [(start, start + 8.0), (20.0 * index + 30 * place, 20.0 * index + 30 * place + 15.0)]
            needed = (2 * index + place) % 3 != 2
            rings.append(records.DialRing(TARGETS[index], side, tuple(arcs), needed=needed, note="9.8 mag"))  # type: ignore[arg-type]
    return records.Dial("All targets on both sides", tuple(rings), needle_deg)


def field(camera_angle_deg: float = 34.5, guider_deg: float = 217.4) -> records.FieldView:
    """Return a field with three objects close together and both places of the guide sensor."""

    def at(radius: float, angle_deg: float) -> tuple[float, float]:
        angle = math.radians(angle_deg)
        return radius * math.sin(angle), radius * math.cos(angle)

    stars = tuple(
        records.FieldStar(*at(1.3 * (index * 17 % 50), index * 137.5), 5.0 + index % 7) for index in range(80)
    )
    return records.FieldView(
        "Heron and its neighbours",
        stars,
        (
            records.FieldOutline("Heron", 0.0, 0.0, 5.3, 1.9, 171.0),
            records.FieldOutline("Reed bed", -11.0, -27.0, 2.2, 2.2, None),
            records.FieldOutline("Snipe", -7.0, -25.0),
        ),
        50.4,
        33.7,
        camera_angle_deg,
        (
            records.Footprint("west", guider_deg, 42.9, 3.4, 6.0),
            records.Footprint("east", guider_deg + 180.0, 42.9, 3.4, 6.0),
        ),
        (
            records.GuideStarMark("west", *at(42.5, guider_deg), 9.8, "star 14"),
            records.GuideStarMark("east", *at(43.1, guider_deg + 180.0), 8.7, "star 3"),
        ),
    )


def back(camera_top_deg: float = 304.5, stem_deg: float | None = 307.4, view: str = "back") -> records.BackView:
    """Return the back of a telescope with readings."""
    return records.BackView(
        "Back of the telescope",
        camera_top_deg,
        stem_deg,
        23.5,
        15.7,
        20.0,
        view,  # type: ignore[arg-type]
        "1:51",
        "1:45",
        records.Reading(34.5, "at the right"),
        records.Reading(37.4, "at the prism"),
        ("Corrected for the pole of date by 0.15°.",),
    )


def sensor() -> records.GuideSensorView:
    """Return a guide sensor with the places before and after the flip."""
    return records.GuideSensorView(
        "Guide sensor",
        1304,
        976,
        (records.SensorPlace("before", 212.0, -148.0, "9.8 mag"), records.SensorPlace("after", -310.0, 95.0)),
        1180.0,
        850.0,
    )


def year(count: int = 365) -> charts.YearView:
    """Return a year dark from 7 to 17 h after noon, in which the target culminates 4 min earlier each day."""
    clock = np.linspace(4.0, 20.0, 97)
    first = dt.date(2027, 1, 1)
    nights = []
    for index in range(count):
        transit = 30.0 - index * 24.0 / 365.25
        hour_angle = (clock - transit + 12.0) % 24.0 - 12.0
        altitude = 75.0 - 7.5 * np.abs(hour_angle)
        low, high = max(7.0, transit - 6.0), min(17.0, transit + 6.0)
        windows = ((low, high),) if high > low else ()
        phase = (index % 29.53) / 29.53
        lit = (1 - math.cos(2 * math.pi * phase)) / 2
        rise = 6.0 + 24.0 * phase - 12.0
        moon = ((max(4.0, rise), min(20.0, rise + 12.0)),) if rise < 20 and rise + 12 > 4 else ()
        nights.append(
            charts.YearNight(first + dt.timedelta(days=index), ((7.0, 17.0),), windows, altitude, moon, lit)
        )
    return charts.YearView("Heron's year", clock, tuple(nights), dt.date(2027, 7, 14), 30.0, "37 nights are left.")


def night(count: int = 10) -> charts.NightView:
    """Return a night of 12 hours with `count` targets, three of them planned, and one flip."""
    start = 61327.7
    times = start + np.linspace(0.0, 0.5, 121)
    hours = (times - start) * 24
    curves = []
    for index in range(count):
        altitude = 80.0 - 3 * index - 1.3 * (hours - 1.2 * index) ** 2 / 2
        usable = ((start + 0.1, start + 0.4),)
        curves.append(charts.NightCurve(TARGETS[index], altitude, usable))
    plan = (
        charts.PlannedStretch(TARGETS[0], start + 0.1, start + 0.15, "west"),
        charts.PlannedStretch(TARGETS[2], start + 0.16, start + 0.24, "east"),
        charts.PlannedStretch(TARGETS[2], start + 0.245, start + 0.3, "west"),
        charts.PlannedStretch(TARGETS[4], start + 0.31, start + 0.4, "east"),
    )
    return charts.NightView(
        "The night of 14 October",
        times,
        tuple(curves),
        sun_altitude_deg=20.0 * np.abs(hours - 6.0) / 6.0 * 1.5 - 28.0,
        moon_altitude_deg=25.0 - 6.0 * hours,
        moon_illuminated_fraction=0.34,
        plan=plan,
        flips_mjd=((TARGETS[2], start + 0.242),),
        now_mjd=start + 0.2,
    )


def horizon() -> charts.HorizonView:
    """Return a horizon with a house in the east and two tracks, one across north."""
    hours = np.radians(np.linspace(-100, 100, 41))
    azimuth = np.degrees(np.arctan2(-np.sin(hours) * 0.83, 0.37 - 0.6 * np.cos(hours))) % 360
    tracks = (
        charts.SkyTrack(
            "Heron", azimuth, 70 * np.cos(hours * 0.8), tuple("20:00" if i == 20 else "" for i in range(41))
        ),
        charts.SkyTrack("Fen", np.linspace(300, 420, 41) % 360, np.linspace(20, 60, 41)),
    )
    return charts.HorizonView(
        "The garden's horizon",
        np.array([5.0, 60.0, 61.0, 95.0, 96.0, 200.0, 300.0]),
        np.array([12.0, 25.0, 38.0, 38.0, 18.0, 9.0, 20.0]),
        tracks=tracks,
    )


def season() -> charts.SeasonView:
    """Return a season of ten targets."""
    days = np.arange(365)
    rows = tuple(
        charts.SeasonRow(name, np.maximum(0.0, 10 * np.cos((days - 36 * index) / 58.0)), "37 nights left")
        for index, name in enumerate(TARGETS)
    )
    return charts.SeasonView("The season", dt.date(2026, 11, 25), rows, dt.date(2027, 2, 14))


def collected() -> CollectedView:
    """Return wishes in all and by filter: done, over, begun, and with a long name and large figures."""
    wishes = (("", 20.0, 31.4, 27.6), ("L", 12.0, 0.0, 0.0), ("Ha", 118.5, 101.2, 97.9), ("OIII", 40.0, 41.0, 39.97))
    rows = [
        CollectedRow(target, *wish)
        for number, target in enumerate(TARGETS)
        for wish in (wishes[1:] if number % 3 == 2 else wishes[:1])
    ]
    return CollectedView("Collected, and still wanted", tuple(rows))


def campaign() -> charts.CampaignView:
    """Return a campaign of five targets."""
    first = dt.date(2026, 11, 25)
    rows = tuple(
        charts.CampaignRow(
            name,
            tuple(
                charts.CampaignStretch(first + dt.timedelta(days=at), 1.0 + at % 5)
                for at in range(3 + index, 120, 7 + index)
            ),
            6.0 * index,
            30.0,
            0.2 * index,
            first + dt.timedelta(days=60 + index),
        )
        for index, name in enumerate(TARGETS[:5])
    )
    return charts.CampaignView("The campaign", first, 120, rows, dt.date(2027, 1, 3))


def odds() -> charts.CurvesView:
    """Return curves over dates whose ends lie close together."""
    days = np.arange(120.0) + dt.date(2026, 11, 25).toordinal()
    series = tuple(
        charts.Series(name, days, np.linspace(0.0, 0.9 + 0.01 * index, 120)) for index, name in enumerate(TARGETS[:5])
    )
    return charts.CurvesView(
        "Odds", "night", "odds", series, (charts.Rule("y", 0.9, "90 %"),), x_dates=True, y_percent=True
    )
