"""Records of the pictures for property tests, with odd names, empty rings, full circles and gaps."""

import datetime as dt

import numpy as np
from hypothesis import strategies as st

from sidelight.pictures import chart_records as charts
from sidelight.pictures import records
from sidelight.pictures.collected import CollectedRow, CollectedView

names = st.one_of(
    st.sampled_from(["NGC 2903", "", 'a <b> & "c"', "Ω" * 60, "x\x00\x1f\ufffey"]), st.text(max_size=40)
)
angles = st.floats(-720.0, 720.0)
sides = st.sampled_from(["east", "west", "any"])
themes = st.sampled_from(["day", "night", "print"])
widths = st.sampled_from(["wide", "narrow"])
arc = st.tuples(st.floats(0.0, 360.0), st.floats(0.01, 360.0)).map(lambda pair: (pair[0], pair[0] + pair[1]))

rings = st.builds(
    records.DialRing,
    target=names,
    side=sides,
    arcs_deg=st.lists(arc, max_size=5).map(tuple),
    needed=st.booleans(),
    slack_deg=st.one_of(st.none(), st.floats(0.0, 180.0)),
    note=names,
)
dials = st.builds(
    records.Dial,
    title=names,
    rings=st.lists(rings, max_size=12).map(tuple),
    needle_deg=st.one_of(st.none(), angles),
    angle_name=names,
)

_offsets = st.floats(-90.0, 90.0)
_mags = st.floats(-1.0, 15.0)
fields = st.builds(
    records.FieldView,
    title=names,
    stars=st.lists(st.builds(records.FieldStar, _offsets, _offsets, _mags), max_size=6).map(tuple),
    outlines=st.lists(
        st.builds(
            records.FieldOutline,
            names,
            _offsets,
            _offsets,
            st.floats(0.0, 90.0),
            st.floats(0.0, 40.0),
            st.one_of(st.none(), angles),
        ),
        max_size=5,
    ).map(tuple),
    frame_width_arcmin=st.floats(0.5, 200.0),
    frame_height_arcmin=st.floats(0.5, 200.0),
    camera_angle_deg=angles,
    footprints=st.lists(
        st.builds(records.Footprint, sides, angles, st.floats(1.0, 90.0), st.floats(0.1, 10.0), st.floats(0.1, 10.0)),
        max_size=3,
    ).map(tuple),
    guide_stars=st.lists(st.builds(records.GuideStarMark, sides, _offsets, _offsets, _mags, names), max_size=2).map(
        tuple
    ),
    radius_arcmin=st.one_of(st.none(), st.floats(1.0, 120.0)),
)

_readings = st.one_of(st.none(), st.builds(records.Reading, st.floats(0.0, 90.0), names))
backs = st.builds(
    records.BackView,
    title=names,
    camera_top_deg=angles,
    stem_deg=st.one_of(st.none(), angles),
    camera_width_mm=st.floats(1.0, 60.0),
    camera_height_mm=st.floats(1.0, 60.0),
    stem_radius_mm=st.floats(5.0, 60.0),
    view=st.sampled_from(["back", "fork", "focuser"]),
    camera_clock=names,
    stem_clock=names,
    camera_reading=_readings,
    stem_reading=_readings,
    notes=st.lists(names, max_size=3).map(tuple),
)

sensors = st.builds(
    records.GuideSensorView,
    title=names,
    width_px=st.integers(1, 5000),
    height_px=st.integers(1, 5000),
    places=st.lists(
        st.builds(records.SensorPlace, names, st.floats(-3000, 3000), st.floats(-3000, 3000), names), max_size=4
    ).map(tuple),
    usable_width_px=st.one_of(st.none(), st.floats(0.0, 5000.0)),
    usable_height_px=st.one_of(st.none(), st.floats(0.0, 5000.0)),
)

_CLOCK = np.linspace(4.0, 20.0, 17)
_dates = st.dates(dt.date(2024, 1, 1), dt.date(2040, 1, 1))
_hours = st.lists(
    st.tuples(st.floats(4.0, 18.0), st.floats(0.1, 6.0)).map(lambda pair: (pair[0], pair[0] + pair[1])), max_size=2
).map(tuple)


@st.composite
def years(draw: st.DrawFn) -> charts.YearView:
    """Draw a year of few nights, some without darkness, some with gaps in the altitudes."""
    first = draw(_dates)
    nights = []
    for index in range(draw(st.integers(0, 12))):
        altitudes = np.array(draw(st.lists(st.floats(-90, 90), min_size=17, max_size=17)))
        if draw(st.booleans()):
            altitudes[draw(st.integers(0, 16))] = np.nan
        nights.append(
            charts.YearNight(
                first + dt.timedelta(days=index),
                draw(_hours),
                draw(_hours),
                altitudes,
                draw(_hours),
                draw(st.floats(0.0, 1.0)),
            )
        )
    today = draw(st.one_of(st.none(), st.just(first), _dates))
    return charts.YearView(draw(names), _CLOCK, tuple(nights), today, draw(st.floats(0.0, 80.0)), draw(names))


@st.composite
def nights(draw: st.DrawFn) -> charts.NightView:
    """Draw a night with any curves, any plan, and instants that may lie outside it."""
    count = draw(st.sampled_from([0, 2, 9]))
    times = 61000.0 + np.linspace(0.0, 0.6, count) if count else np.empty(0)

    def curve() -> np.ndarray:
        values = np.array(draw(st.lists(st.floats(-90, 90), min_size=count, max_size=count)))
        if count and draw(st.booleans()):
            values[draw(st.integers(0, count - 1))] = np.nan
        return values

    instants = st.floats(60999.5, 61001.0)
    spans = st.tuples(instants, st.floats(0.001, 0.3)).map(lambda pair: (pair[0], pair[0] + pair[1]))
    curves = tuple(
        charts.NightCurve(draw(names), curve(), tuple(draw(st.lists(spans, max_size=2))))
        for _ in range(draw(st.integers(0, 4)))
    )
    known = st.sampled_from([one.name for one in curves] or ["nobody"])
    plan = tuple(
        charts.PlannedStretch(draw(known), start, end, draw(sides))
        for start, end in draw(st.lists(spans, max_size=3))
    )
    return charts.NightView(
        title=draw(names),
        times_mjd=times,
        curves=curves,
        sun_altitude_deg=curve() if draw(st.booleans()) else np.empty(0),
        moon_altitude_deg=curve() if draw(st.booleans()) else np.empty(0),
        moon_illuminated_fraction=draw(st.floats(0.0, 1.0)),
        moon_waxing=draw(st.booleans()),
        plan=plan,
        flips_mjd=tuple((draw(known), draw(instants)) for _ in range(draw(st.integers(0, 2)))),
        floor_deg=draw(st.floats(0.0, 80.0)),
        now_mjd=draw(st.one_of(st.none(), instants)),
    )


@st.composite
def horizons(draw: st.DrawFn) -> charts.HorizonView:
    """Draw a horizon with any number of points and tracks with gaps."""
    azimuth = np.array(sorted(draw(st.sets(st.floats(0.0, 359.9), max_size=12))))
    altitude = np.array(draw(st.lists(st.floats(-5, 89), min_size=len(azimuth), max_size=len(azimuth))))
    tracks = []
    for _ in range(draw(st.integers(0, 3))):
        count = draw(st.integers(0, 6))
        track_azimuth = np.array(draw(st.lists(st.floats(0, 360), min_size=count, max_size=count)))
        track_altitude = np.array(
            draw(st.lists(st.floats(-90, 90) | st.just(np.nan), min_size=count, max_size=count))
        )
        labels = tuple(draw(st.lists(names, max_size=count)))
        tracks.append(charts.SkyTrack(draw(names), track_azimuth, track_altitude, labels))
    return charts.HorizonView(draw(names), azimuth, altitude, draw(st.floats(0, 80)), tuple(tracks), draw(angles))


_hours_of_nights = st.lists(st.floats(0.0, 15.0) | st.just(np.nan), max_size=40).map(np.array)
seasons = st.builds(
    charts.SeasonView,
    title=names,
    first_date=_dates,
    rows=st.lists(st.builds(charts.SeasonRow, names, _hours_of_nights, names), max_size=6).map(tuple),
    today=st.one_of(st.none(), _dates),
    hours_name=names,
)


wishes = st.builds(
    CollectedView,
    names,
    st.lists(
        st.builds(CollectedRow, names, names, st.floats(0, 1e4), st.floats(0, 1e4), st.floats(0, 1e4)), max_size=8
    ).map(tuple),
)


@st.composite
def campaigns(draw: st.DrawFn) -> charts.CampaignView:
    """Draw a campaign whose stretches may lie outside its nights."""
    first, count = draw(_dates), draw(st.integers(0, 200))
    days = st.integers(-20, 220).map(lambda offset: first + dt.timedelta(days=offset))
    rows = st.builds(
        charts.CampaignRow,
        names,
        st.lists(st.builds(charts.CampaignStretch, days, st.floats(0, 12)), max_size=6).map(tuple),
        st.floats(0, 100),
        st.floats(0, 100),
        st.one_of(st.none(), st.floats(0, 1)),
        st.one_of(st.none(), days),
    )
    drawn = tuple(draw(st.lists(rows, max_size=5)))
    return charts.CampaignView(draw(names), first, count, drawn, draw(st.one_of(st.none(), days)))


@st.composite
def curves(draw: st.DrawFn) -> charts.CurvesView:
    """Draw curves with gaps and bands over linear, logarithmic and date axes."""
    kind = draw(st.sampled_from(["plain", "log", "dates"]))
    low, high = {"plain": (-50.0, 50.0), "log": (0.001, 5000.0), "dates": (730000.0, 730400.0)}[kind]
    series = []
    for _ in range(draw(st.integers(0, 4))):
        count = draw(st.integers(0, 8))
        x = np.array(sorted(draw(st.lists(st.floats(low, high), min_size=count, max_size=count))))
        y = np.array(draw(st.lists(st.floats(-1e4, 1e4) | st.just(np.nan), min_size=count, max_size=count)))
        band = draw(st.booleans())
        series.append(
            charts.Series(draw(names), x, y, y - 1 if band else np.empty(0), y + 1 if band else np.empty(0))
        )
    rules = tuple(
        charts.Rule(draw(st.sampled_from(["x", "y"])), draw(st.floats(low, high)), draw(names))
        for _ in range(draw(st.integers(0, 2)))
    )
    return charts.CurvesView(
        draw(names),
        draw(names),
        draw(names),
        tuple(series),
        rules,
        x_dates=kind == "dates",
        x_log=kind == "log",
        y_percent=draw(st.booleans()),
        y_from_zero=draw(st.booleans()),
    )
