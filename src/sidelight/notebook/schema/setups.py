"""The description of setups.toml: set-ups kept by name."""

import datetime as dt

from sidelight.notebook.schema.fields import Field, Page, Table, number, text

POINTING = Table(
    "pointing",
    "Pointing",
    "Where one target is pointed at in this set-up, when not at its own place.",
    (
        text("target", "The target's name in targets.toml.", required=True, example="NGC 4565"),
        Field("ra_deg", "right_ascension", "Right ascension, ICRS.", 0, 360, required=True, example=189.087),
        Field("dec_deg", "declination", "Declination, ICRS.", -90, 90, required=True, example=25.988),
        number("camera_angle_deg", -360, 360, "This target's own camera angle, with a rotator.", example=12.5),
    ),
    many=True,
    example={"target": "NGC 4565", "ra_deg": 189.087, "dec_deg": 25.988},
)

SETUP = Table(
    "setup",
    "Set-up",
    "One set-up under a name of yours.",
    (
        text("name", "What you call it, once in this file.", required=True, example="Autumn galaxies"),
        Field("kept_on", "date", "The day on which it was kept.", example=dt.date(2027, 3, 6)),
        Field("in_use", "yes_no", "Whether it is the one on the telescope.", default=False),
        number(
            "camera_angle_deg",
            -360,
            360,
            "Position angle of the image's up, for targets in the west.",
            example=12.5,
        ),
        number(
            "guider_angle_deg",
            -360,
            360,
            "Position angle of the guide sensor from the middle of the field, for targets in the west.",
            example=101.3,
        ),
        number(
            "stem_offset_deg",
            -360,
            360,
            "Guider angle less camera angle: fixed once the stem is clamped.",
            example=88.8,
        ),
        Field("targets", "texts", "The targets that it serves.", default=(), example=("NGC 4565", "M 33")),
        text("note", "Anything worth remembering.", example="Stem clamp replaced"),
    ),
    (POINTING,),
    many=True,
    example={"name": "Autumn galaxies", "camera_angle_deg": 12.5, "stem_offset_deg": 88.8},
)

HEAD = Table("", "Kept set-ups", "", (), (SETUP,))

SETUPS = Page(
    "setups.toml",
    "Kept set-ups",
    "Set-ups kept by name. The program adds to this file; you may edit it.",
    HEAD,
    written_by_program=True,
)
