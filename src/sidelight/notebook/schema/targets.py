"""The description of targets.toml: what is wanted."""

from sidelight.notebook.schema.fields import Field, Page, Table, number, text


def _place(*, required: bool) -> tuple[Field, ...]:
    """Describe a place on the sky."""
    own = "" if required else " Leave it out for an object of the catalogue."
    return (
        Field(
            "ra_deg",
            "right_ascension",
            f"Right ascension, ICRS (J2000).{own}",
            0,
            360,
            required=required,
            example="02h 22m 33s",
        ),
        Field(
            "dec_deg",
            "declination",
            f"Declination, ICRS (J2000).{own}",
            -90,
            90,
            required=required,
            example="+42 20 57",
        ),
    )


def _size() -> tuple[Field, ...]:
    """Describe an ellipse."""
    return (
        number("major_arcmin", 0, 3600, "Full length; replaces the catalogue's.", above_low=True, example=12.0),
        number("minor_arcmin", 0, 3600, "Full width; replaces the catalogue's.", above_low=True, example=3.0),
        number(
            "position_angle_deg",
            -360,
            360,
            "Direction of the length, from north through east.",
            example=22.0,
        ),
    )


OUTLINE = Table(
    "outline",
    "One more outline",
    "Something else that must be in this target's frame, at a place of your own.",
    (
        text("name", "What you call it.", required=True, example="Faint arc"),
        *_place(required=True),
        *_size(),
    ),
    many=True,
    example={"name": "Faint arc", "ra_deg": "02h 22m 10s", "dec_deg": "+42 12 00", "major_arcmin": 4.0},
)

TARGET = Table(
    "target",
    "Target",
    "One object that you want. Repeat the whole block for each.",
    (
        text(
            "name",
            'What you call it, once in this file. A catalogue name ("NGC 4565", "M 31") finds place and size.',
            required=True,
            example="NGC 4565",
        ),
        text(
            "object",
            "Its name in the catalogue, when yours is another.",
            example="NGC 4565",
        ),
        *_place(required=False),
        *_size(),
        Field(
            "neighbours",
            "texts",
            "Objects of the catalogue that must be in the frame as well.",
            example=("NGC 898",),
        ),
        number(
            "hours_wanted_h",
            0,
            10000,
            "Hours you want in all.",
            above_low=True,
            default=20.0,
        ),
        number(
            "shift_east_arcmin",
            -600,
            600,
            "Moves the middle of the frame away from the object, eastward.",
            default=0.0,
        ),
        number("shift_north_arcmin", -600, 600, "The same, northward.", default=0.0),
        number(
            "shift_allowed_arcmin",
            0,
            600,
            "How far the frame may be moved to reach a guide star; 0 for not at all.",
            default=0.0,
        ),
        number("v_mag", -30, 30, "Total brightness in V; replaces the catalogue's.", example=10.1),
        number(
            "surface_brightness_mag_arcsec2",
            5,
            35,
            "Brightness of the part that you care for; replaces the catalogue's mean.",
            example=24.5,
        ),
    ),
    (OUTLINE,),
    many=True,
    example={"name": "NGC 4565", "hours_wanted_h": 20.0},
)

HEAD = Table("", "The list", "", (), (TARGET,))

TARGETS = Page("targets.toml", "Targets", "What you want to photograph.", HEAD, required=True)
