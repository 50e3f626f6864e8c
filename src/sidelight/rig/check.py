"""Everything that can be wrong with a rig, found at once, each problem with its key."""

import math
from collections.abc import Iterator
from typing import NamedTuple

from sidelight.ground import spans
from sidelight.ground.errors import Problem
from sidelight.rig.guider import lost_each_side_mm, usable_rectangle, whole_rectangle
from sidelight.rig.optics import field_deg, pixel_scale_arcsec
from sidelight.rig.records import Rig
from sidelight.rig.shadow import shadow_free_arcs


class _Range(NamedTuple):
    """What a number must lie in; `above` excludes the lower end."""

    limits: tuple[float, float]
    note: str
    above: bool = False

    def holds(self, value: float) -> bool:
        low, high = self.limits
        return math.isfinite(value) and low <= value <= high and not (self.above and value == low)

    @property
    def expected(self) -> str:
        low, high = self.limits
        words = f"above {low:g}, up to {high:g}" if self.above else f"{low:g} to {high:g}"
        return f"{words}; {self.note}" if self.note else words


_SENSOR: dict[str, _Range] = {
    "width_px": _Range((1, 100_000), "pixels, a whole number"),
    "height_px": _Range((1, 100_000), "pixels, a whole number"),
    "pixel_um": _Range((0.3, 100), "micrometres"),
    "quantum_efficiency": _Range((0, 1), "a fraction, not per cent", above=True),
    "read_noise_e": _Range((0, 1000), "electrons"),
    "dark_e_per_s": _Range((0, 1000), "electrons per pixel and second"),
    "full_well_e": _Range((0, 10_000_000), "electrons; 0 when not known"),
    "gain_e_per_adu": _Range((0, 1000), "electrons per count; 0 when not known"),
    "bits": _Range((1, 64), "of the camera's counts, a whole number"),
}

_RANGES: dict[str, _Range] = {
    "telescope.aperture_mm": _Range((10, 20_000), "millimetres"),
    "telescope.focal_length_mm": _Range((20, 200_000), "millimetres, without the reducer"),
    "telescope.reducer": _Range((0.1, 10), "1 for none, 0.67 shortens, 2 doubles"),
    "telescope.mirrors": _Range((0, 12), "reflections before the camera, a whole number"),
    "telescope.focuser_position_deg": _Range((-360, 360), "counter-clockwise from up, seen from behind"),
    "telescope.obstruction_mm": _Range((0, 20_000), "0 for a refractor"),
    "telescope.transmission_fraction": _Range((0, 1), "a fraction, not per cent", above=True),
    **{f"camera.{key}": limits for key, limits in _SENSOR.items()},
    "guider.stem_radius_mm": _Range((0, 500), "from the optical axis to the guide sensor's centre", above=True),
    **{f"guider.sensor.{key}": limits for key, limits in _SENSOR.items()},
    "guider.prism_along_mm": _Range((0, 200), "millimetres", above=True),
    "guider.prism_across_mm": _Range((0, 200), "millimetres", above=True),
    "guider.prism_distance_mm": _Range((0, 2000), "millimetres from the prism to the camera's sensor"),
    "mount.flip_past_meridian_min": _Range((-360, 360), "minutes of hour angle past the meridian"),
    "tolerances.angle_deg": _Range((0, 45), "1 is the usual"),
    "tolerances.guide_box_px": _Range((0, 100_000), "guide pixels, the whole box"),
    "tolerances.pointing_arcmin": _Range((0, 120), ""),
    "tolerances.guide_edge_mm": _Range((0, 100), "millimetres on each side"),
    "tolerances.frame_border_arcmin": _Range((0, 600), ""),
    "tolerances.gauge_deg": _Range((0, 45), "0.1 is common"),
    "tolerances.seat_deg": _Range((0, 45), "0.5 to 1 is common"),
    "guide_limit_mag": _Range((-2, 25), "V magnitude of the faintest guide star"),
    "guide_bright_mag": _Range((-2, 25), "V magnitude of the brightest guide star"),
}
_WHOLE = ("width_px", "height_px", "bits", "mirrors")
_CHOICES = {
    "guider.long_side": ("along", "across"),
    "guider.picture": ("as_drawn", "half_turn", "left_right", "top_bottom"),
    "mount.kind": ("german", "fork"),
}


def check_rig(rig: Rig) -> tuple[Problem, ...]:
    """Return everything that is wrong with a rig, each with its key ("guider.stem_radius_mm"); none is empty.

    Numbers must be finite and in range; only when they are, what they say together is checked: the prism must stand
    clear of the camera's sensor, and tolerances must leave something of the guide sensor and of the frame. What is
    odd but possible is told by `rig_doubts`.
    """
    alone = tuple(_out_of_range(rig))
    return alone or (*_telescope(rig), *_guider(rig), *_limits(rig))


def _values(rig: Rig) -> Iterator[tuple[str, object]]:
    """Yield each key that is present with its value."""
    for key in (*_RANGES, *_CHOICES):
        value: object = rig
        for part in key.split("."):
            value = getattr(value, part, None)
        if value is not None:
            yield key, value


def _out_of_range(rig: Rig) -> Iterator[Problem]:
    """Yield a problem for each value that is no number, not finite, out of range, not whole, or no known word."""
    for key, value in _values(rig):
        if key in _CHOICES:
            if value not in _CHOICES[key]:
                words = " or ".join(f'"{word}"' for word in _CHOICES[key])
                yield Problem(f'"{value}" is not known here.', key=key, expected=words)
            continue
        limits = _RANGES[key]
        if isinstance(value, bool) or not isinstance(value, int | float):
            yield Problem("Not a number.", key=key, expected=limits.expected)
        elif not math.isfinite(value):
            yield Problem("Not a finite number.", key=key, expected=limits.expected)
        elif not limits.holds(value):
            yield Problem(f"{value:g} is out of range.", key=key, expected=limits.expected)
        elif key.rsplit(".", 1)[-1] in _WHOLE and value != int(value):
            yield Problem(f"{value:g} is not a whole number.", key=key, expected=limits.expected)


def _telescope(rig: Rig) -> Iterator[Problem]:
    """Yield what does not fit together in the telescope."""
    telescope = rig.telescope
    if telescope.obstruction_mm >= telescope.aperture_mm:
        yield Problem(
            f"The obstruction of {telescope.obstruction_mm:g} mm leaves nothing of the aperture.",
            key="telescope.obstruction_mm",
            expected=f"less than the aperture of {telescope.aperture_mm:g} mm",
        )
    if telescope.newtonian and telescope.mirrors == 1:
        yield Problem(
            "A Newtonian has two mirrors.",
            key="telescope.mirrors",
            expected="2, or 3 with a star diagonal",
        )
    border_deg = 2 * rig.tolerances.frame_border_arcmin / 60.0
    shorter_mm = min(rig.camera.width_mm, rig.camera.height_mm)
    least_deg = float(field_deg(telescope.effective_focal_length_mm, shorter_mm))
    if border_deg >= least_deg:
        yield Problem(
            f"The frame's border leaves nothing of a field {least_deg * 60:.1f}′ high.",
            key="tolerances.frame_border_arcmin",
            expected=f"less than {least_deg * 30:.1f}",
        )


def _guider(rig: Rig) -> Iterator[Problem]:
    """Yield what does not fit together in the off-axis guider."""
    if rig.guider is None:
        return
    whole = whole_rectangle(rig.guider)
    inner_mm = whole.stem_radius_mm - whole.half_along_mm
    camera_mm = min(rig.camera.width_mm, rig.camera.height_mm) / 2
    if inner_mm <= camera_mm:
        least_mm = camera_mm + whole.half_along_mm
        yield Problem(
            f"A stem radius of {whole.stem_radius_mm:g} mm puts the guide sensor inside the camera's sensor, "
            "however the stem is turned.",
            key="guider.stem_radius_mm",
            expected=f"more than {least_mm:.2f} mm: half the camera's shorter side and half the guide sensor",
            suggestion="Measure from the optical axis to the middle of the prism.",
        )
    usable = usable_rectangle(rig)
    if min(usable.half_along_mm, usable.half_across_mm) <= 0:
        narrower_mm = min(
            whole.half_along_mm,
            whole.half_across_mm,
            rig.guider.prism_along_mm / 2,
            rig.guider.prism_across_mm / 2,
        )
        yield Problem(
            f"Guiding box, pointing error and prism edge take {lost_each_side_mm(rig):.2f} mm off each side: nothing "
            "is left of the guide sensor.",
            key="tolerances.guide_box_px",
            expected=f"less than {narrower_mm:.2f} mm in all",
            suggestion="Lower guide_box_px, pointing_arcmin or guide_edge_mm.",
        )


def _limits(rig: Rig) -> Iterator[Problem]:
    """Yield a bright limit that is fainter than the faint one."""
    faint, bright = rig.guide_limit_mag, rig.guide_bright_mag
    if faint is not None and bright is not None and bright >= faint:
        yield Problem(
            f"The brightest guide star, {bright:g} mag, is no brighter than the faintest, {faint:g} mag.",
            key="guide_bright_mag",
            expected=f"less than {faint:g}: magnitudes run backwards",
        )


def rig_doubts(rig: Rig) -> tuple[str, ...]:
    """Return sentences about what is possible but often a slip. Expects a rig without problems."""
    doubts = []
    ratio = rig.telescope.focal_ratio
    if not 1.5 <= ratio <= 40.0:
        doubts.append(
            f"A focal ratio of {ratio:.1f} is rare: are aperture and focal length both in millimetres, and is the "
            "focal length given without the reducer?"
        )
    scale = float(pixel_scale_arcsec(rig.telescope.effective_focal_length_mm, rig.camera.pixel_um))
    if not 0.05 <= scale <= 20.0:
        doubts.append(f"A camera pixel covers {scale:.2f}″: is the pixel size in micrometres?")
    if rig.guider is not None and not len(shadow_free_arcs(rig)):
        doubts.append(
            "The prism throws a shadow on the camera's sensor at every stem offset; flats take out part of it. "
            f"A stem radius greater than {rig.guider.stem_radius_mm:g} mm or a smaller prism would keep it off."
        )
    if rig.guider is not None and spans.total(shadow_free_arcs(rig)) >= 360.0:
        reach_mm = rig.guider.stem_radius_mm * 2
        if reach_mm > 60.0:
            doubts.append(
                f"The guide sensor stands {rig.guider.stem_radius_mm:g} mm from the axis: check that the telescope "
                f"lights a circle {reach_mm:.0f} mm across."
            )
    return tuple(doubts)
