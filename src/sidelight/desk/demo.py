"""The demo: an invented garden and telescope under the real sky, in a case that is hard by hand.

Five galaxies of spring, a focal length of 1.6 m, a guide sensor of five and a half millimetres: about two per cent of
all guider angles have a guide star for all five before and after the flip. Everything but the sky is made up.
"""

import datetime as dt
from pathlib import Path
from typing import Any

from sidelight.notebook.new import write_new_notebook

DATE = dt.date(2027, 3, 6)
"""A new-Moon week in March; the demo's pages show this night whenever it is made."""

ANSWERS: dict[str, Any] = {
    "site.name": "Hollerhof, behind the barn",
    "site.latitude_deg": 47.42,
    "site.longitude_deg": 14.96,
    "site.elevation_m": 690,
    "site.time_zone": "Europe/Vienna",
    "rig.name": "Eight-inch Cassegrain on the pier",
    "rig.telescope.aperture_mm": 203,
    "rig.telescope.focal_length_mm": 1624,
    "rig.telescope.mirrors_count": 2,
    "rig.camera.width_px": 6248,
    "rig.camera.height_px": 4176,
    "rig.camera.pixel_um": 3.76,
    "rig.guider.stem_radius_mm": 19,
    "rig.guider.prism_along_mm": 7,
    "rig.guider.prism_across_mm": 8,
    "rig.guider.prism_distance_mm": 45,
    "rig.guider.limit_mag": 12.0,
    "rig.guider.camera.width_px": 1936,
    "rig.guider.camera.height_px": 1216,
    "rig.guider.camera.pixel_um": 2.9,
    "rig.mount.flip_past_meridian_min": 5,
    "horizon": [
        (0, 14), (25, 12), (48, 17), (60, 34), (84, 36), (96, 21), (118, 16), (140, 12), (165, 9), (188, 8),
        (205, 15), (222, 24), (236, 27), (250, 19), (275, 11), (300, 13), (322, 22), (340, 18),
    ],
    "targets": ["NGC 2903", "M 96", "M 81", "NGC 4490", "NGC 5907"],
}  # fmt: skip


def make_demo(folder: Path) -> list[Path]:
    """Write the demo's notebook; raises BadInput when the folder holds a notebook already."""
    return write_new_notebook(folder, ANSWERS)
