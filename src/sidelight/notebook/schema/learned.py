"""The description of learned.toml: what solved images said about the metal."""

import datetime as dt

from sidelight.notebook.schema.fields import Field, Page, Table, number, text, whole

MEASURED = Table(
    "measured",
    "Measured",
    "What one check of solved images gave. The newest entry that has a figure is used; after a change of the metal"
    " say used = false.",
    (
        Field("date", "date", "The date of the evening.", required=True, example=dt.date(2027, 3, 6)),
        Field("used", "yes_no", "Whether it counts; false keeps it for the record only.", default=True),
        number(
            "camera_offset_deg",
            -180,
            180,
            "Camera angle on the sky less the angle set on the bench.",
            example=-1.4,
        ),
        number("camera_offset_error_deg", 0, 180, "Its uncertainty.", example=0.2),
        number(
            "guider_offset_deg",
            -180,
            180,
            "Guider angle on the sky less the angle set on the bench.",
            example=-1.1,
        ),
        number("guider_offset_error_deg", 0, 180, "Its uncertainty.", example=0.2),
        number(
            "stem_radius_mm", 0, 500, "The stem radius as the guide star showed it.", above_low=True, example=21.8
        ),
        number("stem_radius_error_mm", 0, 1000, "Its uncertainty.", example=0.1),
        number("focal_length_mm", 20, 200000, "Focal length with the reducer, from the scale.", example=1588.0),
        number("focal_length_error_mm", 0, 10000, "Its uncertainty.", example=2.0),
        number("cone_error_arcmin", -600, 600, "Half the difference of the pointing on the two sides.", example=3.5),
        whole("images_count", 1, 100000, "How many images it rests on.", default=1),
        text("note", "Anything worth remembering.", example="After the new adapter"),
    ),
    many=True,
    example={"date": dt.date(2027, 3, 6), "camera_offset_deg": -1.4, "camera_offset_error_deg": 0.2},
)

HEAD = Table("", "Learned", "", (), (MEASURED,))

LEARNED = Page(
    "learned.toml",
    "Learned",
    "What first images said about the angles. The program adds to this file; you may edit it.",
    HEAD,
    written_by_program=True,
)
