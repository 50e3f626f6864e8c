"""The order of work on a bench day, and what turns with what afterwards, in words."""

from sidelight.desk.bench_records import BenchAngle
from sidelight.rig.bench import GaugeReading
from sidelight.rig.records import Rig

_ROUND_CAMERA = (
    "A round camera: lay the gauge on a flat parallel to the sensor's long side; if there is none, set by the clock "
    "and check with a first image."
)
_MARK = "Mark {clamps} across the joint with tape or pen, so that a slip shows."
_FOCUS = (
    "Focus the guide camera by day on something far away, with the main camera in focus; never near the Sun: cap on "
    "until the tube points away from it."
)
_FLATS = "Take new flats: the parts you turned throw other shadows now."


def reading_words(reading: GaugeReading) -> str:
    """Return a gauge reading in words, with its low end."""
    if reading.low_end != "neither":
        return f"{reading.tilt_deg:.1f}° from level, {reading.low_end} end low"
    return "level" if reading.tilt_deg < 45 else "upright"


def bench_steps(rig: Rig, camera: BenchAngle, stem: BenchAngle | None, *, southern: bool = False) -> tuple[str, ...]:
    """Return the order of work, from the tube's stand to what has to be done anew at the telescope."""
    level = _level_step(rig, guided=stem is not None, southern=southern)
    read_camera = f"Gauge {camera.face}: {reading_words(camera.gauge)}; its top points to {camera.clock}."
    if stem is None:
        return (
            level,
            f"Hold the camera, then loosen its clamp and turn it. {read_camera} {_ROUND_CAMERA}",
            "Clamp, read the gauge again, and note the reading.",
            _MARK.format(clamps="the clamp"),
            _FLATS,
        )
    return (
        level,
        "Hold camera and guider, then loosen the clamp between telescope and guider; it turns both together.",
        f"Turn until the stem points to {stem.clock}. Gauge {stem.face}: {reading_words(stem.gauge)}. Clamp.",
        "Hold the camera, then loosen the clamp between guider and camera; it turns the camera alone.",
        f"Turn the camera without moving the stem. {read_camera} Clamp. {_ROUND_CAMERA}",
        "Read both gauges again: a clamp often takes its part along. Note both readings.",
        _MARK.format(clamps="both clamps"),
        _FOCUS,
        "Calibrate the guiding anew: the guide camera has turned.",
        _FLATS,
    )


def _level_step(rig: Rig, *, guided: bool, southern: bool) -> str:
    """Say how the tube has to stand while the gauge is read.

    On a fork the way from the drive base, with the tube level on the meridian, is straight up: the arms lie in the
    meridian's plane, and what of them stands square to the tube is upright. At any other altitude up leans.
    """
    if rig.telescope.newtonian:
        stand = (
            "Stand the tube upright on the floor, open end up, held or strapped"
            if rig.mount.flips
            else "Turn the tube to the meridian and straight up, open end up, its axis clamped"
        )
        return f"{stand}, cover on: nothing may fall on the mirror. Zero the gauge on a level surface."
    if rig.mount.flips:
        free = "so that a stem that points down hangs free" if guided else "so that the camera hangs free"
        return (
            f"Rest the tube on its dovetail on a level table, the camera end beyond the table's edge {free}, the "
            "tube wedged so that it cannot roll or tip. Zero the gauge on the table. On the mount the gauge does not "
            "hold, since up leans with the polar axis there; the clock positions do."
        )
    return (
        f"Turn the tube to the meridian and lay it level, towards the {'north' if southern else 'south'} horizon, "
        "drive base below; zero the gauge on a level surface. At any other altitude the gauge does not hold; the "
        "clock positions do."
    )


def turns_together(rig: Rig, *, guided: bool) -> str:
    """Say what turns with what from now on."""
    if not guided:
        return "Only the camera's own clamp matters."
    if rig.rotator:
        return (
            "The rotator turns camera and guider together, so the stem offset stays; only the clamp between guider "
            "and camera can spoil it. Set it with the rotator at the position at which the camera's top is at 0."
        )
    flip = " At the flip all of it turns with the tube." if rig.mount.flips else ""
    return (
        "The clamp at the telescope turns camera and guider together and keeps the stem offset; the clamp between "
        f"guider and camera turns the camera alone and changes it.{flip}"
    )
