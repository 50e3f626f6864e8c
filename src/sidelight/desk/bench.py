"""The set-up as angles on the metal: what to set, in which order, and how far it can be trusted."""

import datetime as dt

import numpy as np

from sidelight.desk.bench_records import BenchAngle, BenchReport, PoleTurn
from sidelight.desk.bench_steps import bench_steps, turns_together
from sidelight.desk.beside import beside_note
from sidelight.desk.cautions import bench_cautions
from sidelight.desk.chosen import NO_TARGETS
from sidelight.desk.setup import SetupReport
from sidelight.ground.angles import wrap_360
from sidelight.ground.errors import Problem, SkySaysNo
from sidelight.notebook.read import Notebook
from sidelight.rig.bench import (
    BenchBudget,
    bench_budget,
    camera_bench_deg,
    camera_width_bench_deg,
    clock_position,
    gauge_reading,
    gauge_reading_lying,
    pole_of_date_turn_deg,
    stem_bench_deg,
)
from sidelight.rig.records import Rig

LEAST_LEAN = 0.5
"""A focuser nearer than 30 degrees to straight up or down is not read with the tube lying; our choice."""

_TELLING_DEG = 0.05
"""Half the last figure shown: an angle that differs by less shows no difference."""


def bench_report(notebook: Notebook, setup: SetupReport) -> BenchReport:
    """Turn a set-up into bench angles for the middle of its nights.

    Raises SkySaysNo when there is no set-up, or when a rotator turns the camera for each target and so leaves no one
    camera angle to set (then the stem offset is what the bench sets, with the camera at 0).
    """
    if not notebook.targets:
        raise SkySaysNo(NO_TARGETS)
    if setup.best is None:
        raise SkySaysNo(
            Problem(
                "There is no set-up to set on the bench.",
                expected='a set-up that "sidelight setup" can recommend',
                suggestion=setup.sentence,
            )
        )
    camera_deg, guider_deg = _angles(setup)
    turns = _pole_turns(setup)
    mean_turn = float(np.mean([turn.turn_deg for turn in turns])) if turns else 0.0
    learned = notebook.learned
    camera = _camera(notebook, camera_deg, mean_turn - learned.camera_offset_deg)
    stem = None
    if guider_deg is not None:
        stem = _stem(notebook, guider_deg, mean_turn - learned.guider_offset_deg)
    entry = learned.newest("camera_offset_deg")
    budget = bench_budget(notebook.rig) if notebook.rig.guider else None
    return BenchReport(
        date=setup.date,
        setup=setup.kept_as,
        rig=notebook.rig_name,
        mount=notebook.rig.mount.kind,
        camera_angle_deg=camera_deg,
        guider_angle_deg=guider_deg,
        stem_offset_deg=setup.stem_offset_deg,
        slack_deg=setup.slack_deg,
        view=_view(notebook.rig),
        camera=camera,
        stem=stem,
        mean_pole_turn_deg=mean_turn,
        pole_turns=turns,
        gauge_to_sky_deg=learned.camera_offset_deg,
        gauge_to_sky_error_deg=entry.camera_offset_error_deg if entry else None,
        gauge_to_sky_date=entry.date if entry else None,
        budget=budget,
        budget_sentence=_budget_sentence(budget, setup),
        steps=bench_steps(notebook.rig, camera, stem, southern=notebook.site.latitude_deg < 0),
        turns_together=turns_together(notebook.rig, guided=stem is not None),
        newtonian=notebook.rig.telescope.newtonian,
        camera_width_mm=notebook.rig.camera.width_mm,
        camera_height_mm=notebook.rig.camera.height_mm,
        stem_radius_mm=notebook.rig.guider.stem_radius_mm if notebook.rig.guider else None,
        notes=_notes(notebook, setup, entry is not None),
        cautions=bench_cautions(notebook.rig),
    )


def _angles(setup: SetupReport) -> tuple[float, float | None]:
    """Return camera and guider angle; with a rotator the camera at 0 and the stem at its offset."""
    if setup.camera_angle_deg is not None:
        return setup.camera_angle_deg, setup.guider_angle_deg
    return 0.0, setup.stem_offset_deg


def _pole_turns(setup: SetupReport) -> tuple[PoleTurn, ...]:
    """Return each needed target's turn between ICRS north and the mount's north, in the middle of the nights."""
    middle = setup.date + dt.timedelta(days=setup.nights // 2)
    years = (middle - dt.date(2000, 1, 1)).days / 365.25
    needed = [place for place in setup.targets if place.needed] or list(setup.targets)
    turns = [float(pole_of_date_turn_deg(place.pointing_ra_deg, place.pointing_dec_deg, years)) for place in needed]
    mean = float(np.mean(turns)) if turns else 0.0
    return tuple(PoleTurn(place.target, turn, turn - mean) for place, turn in zip(needed, turns, strict=True))


def _camera(notebook: Notebook, camera_deg: float, turn_deg: float) -> BenchAngle:
    """Return the camera's bench angle; the gauge lies along its long side (the sensor's width)."""
    southern = notebook.site.latitude_deg < 0
    set_deg = float(wrap_360(camera_deg + turn_deg))
    top = float(camera_bench_deg(set_deg, notebook.rig, southern=southern))
    width = float(camera_width_bench_deg(set_deg, notebook.rig, southern=southern))
    return _angle(notebook.rig, "camera", "along the camera's long side", (camera_deg, top), width)


def _stem(notebook: Notebook, guider_deg: float, turn_deg: float) -> BenchAngle:
    """Return the stem's bench angle; the gauge lies along the stem."""
    southern = notebook.site.latitude_deg < 0
    bench = float(stem_bench_deg(float(wrap_360(guider_deg + turn_deg)), notebook.rig, southern=southern))
    return _angle(notebook.rig, "guider stem", "along the guider's stem", (guider_deg, bench), bench)


def _angle(rig: Rig, part: str, face: str, angles_deg: tuple[float, float], face_deg: float) -> BenchAngle:
    """Return a bench angle with its clock position and gauge readings."""
    sky_deg, bench_deg = angles_deg
    telescope = rig.telescope
    # with the focuser on top or below, every face of it is level while the tube lies: the gauge would tell nothing
    tells = telescope.newtonian and abs(np.sin(np.radians(telescope.focuser_position_deg))) > LEAST_LEAN
    lying = gauge_reading_lying(face_deg, telescope.focuser_position_deg) if tells else None
    return BenchAngle(part, face, sky_deg, bench_deg, clock_position(bench_deg), gauge_reading(face_deg), lying)


def _view(rig: Rig) -> str:
    """Say from where the angles are seen and what up is."""
    if rig.telescope.newtonian:
        return "Look into the focuser; up is towards the open end of the tube; angles run counter-clockwise."
    up = "from the dovetail to the tube" if rig.mount.flips else "away from the drive base, tube on the meridian"
    mirrored = " The odd number of mirrors is allowed for." if rig.telescope.mirrors % 2 else ""
    return f"Stand behind the telescope; up is {up}; angles run counter-clockwise.{mirrored}"


def _budget_sentence(budget: BenchBudget | None, setup: SetupReport) -> str:
    """Compare what the bench may be off with the slack there is."""
    if budget is None or setup.slack_deg is None:
        return ""
    parts = f"gauge {budget.gauge_deg:.1f}°, its seat {budget.seat_deg:.1f}°"
    set_error = float(np.hypot(budget.gauge_deg, budget.seat_deg))
    verdict = (
        "enough" if setup.slack_deg >= set_error else "too little: check with a first image before you rely on it"
    )
    return (
        f"Setting by gauge is good to about {set_error:.1f}° ({parts}); the set-up has {setup.slack_deg:.1f}° of "
        f"slack, from which {budget.pointing_deg:.1f}° for pointing is taken off already: {verdict}."
    )


def _notes(notebook: Notebook, setup: SetupReport, learned: bool) -> tuple[str, ...]:
    """Return what the person should know besides."""
    beside = [beside_note(setup, target.key, notebook.rig.guider is not None) for target in notebook.targets]
    notes = [one for one in (setup.goes_by, *beside) if one]
    if setup.outcome not in ("serves_all", "serves_all_tightly"):
        notes.append(f"This set-up does not serve everything. {setup.sentence}")
    if not learned:
        guider = ", which changes nothing for the guider" if notebook.rig.guider else ""
        notes.append(
            "Not yet checked on the sky: which way the camera's software flips its picture is settled by one solved "
            f"image; until then the camera may be half a turn off{guider}."
        )
    own = notebook.learned.guider_offset_deg
    if notebook.rig.guider is not None and abs(own - notebook.learned.camera_offset_deg) >= _TELLING_DEG:
        notes.append(f"The stem has a gauge to sky of its own, {own:+.1f}°, contained in its bench angle.")
    if notebook.rig.rotator:
        notes.append("With the rotator each target has its own camera angle; the night card gives it.")
    return tuple(notes)
