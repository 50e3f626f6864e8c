"""The description of site.toml: where the telescope stands and what it can see from there."""

from sidelight.notebook.schema.fields import Field, Page, Table, choice, number, text

HORIZON = Table(
    "horizon",
    "Bearings",
    "The skyline itself stands in horizon.txt. Here it says how its bearings were measured.",
    (
        choice(
            "bearings",
            ("true", "magnetic"),
            'Whether the bearings in horizon.txt count from true north or from a compass needle ("magnetic").',
            default="true",
        ),
        number(
            "magnetic_declination_deg",
            -180,
            180,
            "How far the needle points east of true north at this site; it is added to each magnetic bearing.",
            example=4.5,
        ),
    ),
)

HEAD = Table(
    "",
    "The place",
    "",
    (
        text("name", "What you call the place; it stands on cards and pictures.", default="Home"),
        Field("latitude_deg", "latitude", "Latitude.", -90, 90, required=True, example=48.2083),
        Field("longitude_deg", "longitude", "Longitude.", -180, 180, required=True, example=16.3725),
        number("elevation_m", -500, 9000, "Height above sea level; the air's refraction follows from it.", default=0),
        text(
            "time_zone",
            "The time zone as region and city of the IANA list; clock changes follow from it.",
            required=True,
            example="Europe/Vienna",
        ),
        number(
            "floor_deg",
            0,
            85,
            "Below this altitude you do not photograph, whatever the skyline allows: the air is too thick.",
            default=30,
        ),
        number(
            "twilight_deg",
            -30,
            -3,
            "It is dark while the Sun's centre is below this altitude: -18 is astronomical twilight, -12 nautical.",
            default=-18,
        ),
    ),
    (HORIZON,),
)

SITE = Page("site.toml", "Site", "Where the telescope stands, and how low it may look.", HEAD, required=True)
