"""Sites, dates, instants and skylines for property tests: both hemispheres, the poles, the date line."""

import datetime as dt

from hypothesis import strategies as st

from sidelight.sky.site import Site

latitudes = st.one_of(st.floats(-90.0, 90.0), st.sampled_from([-90.0, -66.56, -23.44, 0.0, 66.56, 89.99, 90.0]))
longitudes = st.one_of(st.floats(-180.0, 180.0), st.sampled_from([-180.0, 0.0, 180.0]))
elevations = st.floats(0.0, 5000.0)
zones = st.sampled_from(
    [
        "UTC",
        "Europe/Berlin",
        "Europe/Dublin",
        "America/New_York",
        "Pacific/Kiritimati",
        "Pacific/Pago_Pago",
        "Pacific/Chatham",
        "Australia/Lord_Howe",
        "Asia/Kolkata",
        "Antarctica/McMurdo",
        "America/St_Johns",
        "Africa/Casablanca",
    ]
)
sites = st.builds(
    Site,
    name=st.just("somewhere"),
    latitude_deg=latitudes,
    longitude_deg=longitudes,
    elevation_m=elevations,
    time_zone=zones,
    twilight_deg=st.sampled_from([-18.0, -12.0, -15.0]),
)
dates = st.dates(dt.date(2012, 1, 2), dt.date(2099, 12, 1))
instants = st.floats(51544.0, 88000.0)
altitudes = st.one_of(st.floats(-90.0, 90.0), st.sampled_from([-90.0, -1.0, 0.0, 90.0]))
hour_angles = st.one_of(st.floats(-720.0, 720.0), st.sampled_from([-540.0, -180.0, 0.0, 180.0, 540.0]))
