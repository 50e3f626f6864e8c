"""The description of rig.toml: telescope, cameras, guider, mount, and the room for error."""

from sidelight.notebook.schema.fields import Field, Page, Table, choice, number, text, whole


def _yes_no(key: str, line: str, *, default: bool = False) -> Field:
    """Describe a yes or no."""
    return Field(key, "yes_no", line, default=default)


TELESCOPE = Table(
    "telescope",
    "Telescope",
    "Everything in front of the camera.",
    (
        number("aperture_mm", 10, 20000, "Clear aperture.", required=True, example=200),
        number(
            "focal_length_mm",
            20,
            200000,
            "Focal length of the telescope itself, without reducer or extender.",
            required=True,
            example=1600,
        ),
        number(
            "reducer_factor",
            0.1,
            10,
            "What a reducer (below 1) or an extender (above 1) makes of the focal length; 1 without.",
            default=1.0,
            into="reducer",
        ),
        whole(
            "mirrors_count",
            0,
            12,
            "Reflections on the way to the camera: refractor 0, Newtonian 2, Cassegrain types 2, one more for a"
            " star diagonal.",
            default=0,
            into="mirrors",
        ),
        _yes_no("newtonian", "Whether the camera looks in from the side of the tube."),
        number(
            "focuser_position_deg",
            -360,
            360,
            "Newtonian only: where the focuser sits around the tube, counter-clockwise from up, seen from behind"
            " (the mirror's end).",
            default=0.0,
        ),
        number(
            "obstruction_mm",
            0,
            20000,
            "Diameter of the secondary mirror with its holder; 0 for a refractor.",
            default=0.0,
        ),
        number(
            "transmission_fraction",
            0,
            1,
            "What all glass and mirrors together let through, filters apart.",
            above_low=True,
            default=0.8,
        ),
        _yes_no(
            "rotator", "Whether a motor turns camera and guider together, so that each target has its own angle."
        ),
    ),
    required=True,
)


def _sensor(example: tuple[int, int, float]) -> tuple[Field, ...]:
    """Describe a camera's sensor; the same keys for both cameras."""
    width_px, height_px, pixel_um = example
    return (
        whole("width_px", 1, 100000, "Pixels across the picture: its width.", required=True, example=width_px),
        whole("height_px", 1, 100000, "Pixels up the picture: its height.", required=True, example=height_px),
        number(
            "pixel_um",
            0.3,
            100,
            "Side of one pixel, unbinned.",
            required=True,
            example=pixel_um,
        ),
        number(
            "quantum_efficiency_fraction",
            0,
            1,
            "Share of the light that the sensor turns into electrons.",
            above_low=True,
            default=0.6,
            into="quantum_efficiency",
        ),
        number("read_noise_e", 0, 1000, "Read noise at the gain you use.", default=2.0),
        number("dark_e_per_s", 0, 1000, "Dark current of one pixel at the temperature you use.", default=0.01),
        number("full_well_e", 1, 10000000, "Electrons that a pixel holds at the gain you use.", default=20000.0),
        number(
            "gain_e_per_adu",
            0,
            1000,
            "Electrons for one step of the converter at the gain you use.",
            above_low=True,
            default=1.0,
        ),
        whole("converter_bits", 8, 32, "Depth of the camera's converter.", default=16, into="bits"),
    )


CAMERA = Table(
    "camera",
    "Camera",
    "The camera that takes the picture.",
    _sensor((6248, 4176, 3.76)),
    required=True,
)

GUIDE_CAMERA = Table(
    "camera",
    "Guide camera",
    "The camera behind the prism.",
    _sensor((1936, 1096, 2.9)),
    required=True,
)

GUIDER = Table(
    "guider",
    "Off-axis guider",
    "The prism at the edge of the field, and its camera. Without this table only framing is planned.",
    (
        number(
            "stem_radius_mm",
            0,
            500,
            "From the middle of the field to the middle of the guide sensor's picture in the focal plane. "
            "How to measure it, and what an error does: docs/angles.md.",
            above_low=True,
            required=True,
            example=22,
        ),
        choice(
            "long_side",
            ("along", "across"),
            "Whether the guide sensor's width lies along the stem or across it.",
            default="across",
        ),
        Field(
            "picture",
            "choice",
            "How the guide camera's picture stands against the guide sensor as drawn: the same, half a turn round,"
            " turned about left to right, or top to bottom. Leave it out as long as you do not know; check finds it"
            " by guide stars.",
            choices=("as_drawn", "half_turn", "left_right", "top_bottom"),
            example="left_right",
        ),
        number("prism_along_mm", 0, 200, "The prism's face along the stem.", above_low=True, default=8.0),
        number("prism_across_mm", 0, 200, "The prism's face across the stem.", above_low=True, default=8.0),
        number(
            "prism_distance_mm",
            0,
            2000,
            "From the prism to the main sensor, measured along the light's way.",
            default=60.0,
        ),
        number(
            "limit_mag",
            -2,
            25,
            "Faintest guide star you trust. Leave it out to let it be computed from rig and sky.",
            example=11.5,
        ),
        number(
            "bright_mag",
            -2,
            25,
            "Brightest guide star you want. Leave it out for no limit.",
            example=4.0,
        ),
        number("exposure_s", 0, 600, "Exposure of one guide picture.", above_low=True, default=2.0),
        number(
            "least_snr",
            1,
            1000,
            "How far a guide star must stand out of the noise: 10 at least, 20 is better.",
            default=10.0,
        ),
        number(
            "off_axis_arcsec",
            0,
            120,
            "Width of a star at the prism at half height, from the optics alone; the seeing is added.",
            default=2.0,
        ),
        _yes_no("refuse_saturating", "Never guide on a star that fills its pixels in one exposure; else it is said."),
        _yes_no(
            "refuse_companions",
            "Never guide on a star with another of similar brightness within half the guiding box; else it is said.",
        ),
    ),
    (GUIDE_CAMERA,),
)

MOUNT = Table(
    "mount",
    "Mount",
    "What carries the telescope, and when it flips.",
    (
        choice(
            "kind",
            ("german", "fork"),
            '"german" flips at the meridian; "fork" (a fork on a wedge) never does.',
            default="german",
        ),
        number(
            "flip_past_meridian_min",
            -360,
            360,
            "German only: minutes after the meridian at which the mount flips; negative when it flips before.",
            default=0.0,
        ),
    ),
)

TOLERANCES = Table(
    "tolerances",
    "Room for error",
    "What every recommended set-up leaves free.",
    (
        number("angle_deg", 0, 45, "The least turn that a recommended set-up must survive.", default=1.0),
        number(
            "guide_box_px",
            0,
            10000,
            "Side of the box round the guide star, in pixels of the guide camera.",
            default=32.0,
        ),
        number("pointing_arcmin", 0, 60, "How far off the telescope may point.", default=0.5),
        number(
            "guide_edge_mm",
            0,
            50,
            "Lost to the prism's own edge, on each side of the guide sensor.",
            default=0.0,
        ),
        number("frame_border_arcmin", 0, 600, "Free border round each object in the frame.", default=1.0),
        number("gauge_deg", 0, 10, "How well your angle gauge reads.", default=0.1),
        number("seat_deg", 0, 10, "How well the gauge sits on the camera.", default=0.5),
    ),
)

HEAD = Table(
    "",
    "The rig",
    "",
    (text("name", "What you call this rig; it stands on cards.", default="My rig"),),
    (TELESCOPE, CAMERA, GUIDER, MOUNT, TOLERANCES),
)

RIG = Page(
    "rig.toml",
    "Rig",
    "Everything on the pier. Measure the metal as well as you can: the angles follow from it.",
    HEAD,
    required=True,
)
