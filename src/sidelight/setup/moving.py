"""Set-ups in which pointings move: which search applies to which rig, and the poses that come of it."""

from dataclasses import replace

from sidelight.ground import spans
from sidelight.ground.types import FloatArray
from sidelight.setup.arcwork import point_arc, shrink, sum_of
from sidelight.setup.cameras import CameraRule, shift_arcs
from sidelight.setup.framelimit import FrameLimit
from sidelight.setup.joint import unguided_choices
from sidelight.setup.place import Pose, describe
from sidelight.setup.records import SetUp
from sidelight.setup.shifts import Search, ShiftedChoice
from sidelight.setup.task import Task


def may_move(task: Task) -> bool:
    """Tell whether any needed target's pointing may move."""
    return any(subject.required and subject.shift_mm > 0 for subject in task.subjects)


def moved_setup(task: Task, at_rest: SetUp | None) -> SetUp | None:
    """Return the set-up that serves the most with the least worst shift; None when shifts bring nothing.

    at_rest : the best set-up without shifts; with a rotator its stem offset is kept and each target moves by itself.
    """
    if not task.guided:
        poses = _framed_by_shifts(task)
        return None if poses is None else describe(task, poses)
    if task.turning:
        return None if at_rest is None else _each_by_itself(task, at_rest)
    choice = Search(task, CameraRule(task)).run(_domain(task))
    return None if choice is None else replace(describe(task, _poses(task, choice)), shifts_proved=choice.proved)


def _domain(task: Task) -> FloatArray:
    """Return the guider angles to search: with the camera held, those whose stem offset is free of the shadow."""
    camera, stem = task.constraints.camera_angle_deg, task.constraints.stem_offset_deg
    if camera is None:
        return spans.FULL_CIRCLE
    if stem is not None:
        return point_arc(camera + stem)
    free = shrink(task.stem_arcs, task.tolerance_deg)
    return sum_of(point_arc(camera), free if len(free) else task.stem_arcs)


def _poses(task: Task, choice: ShiftedChoice) -> list[Pose]:
    """Return a pose for each subject, those that are not needed at rest."""
    return [
        Pose(
            choice.camera_angle_deg,
            choice.guider_angle_deg,
            choice.moves[index].shift_mm if index in choice.moves else (0.0, 0.0),
        )
        for index in range(len(task.subjects))
    ]


def _each_by_itself(task: Task, at_rest: SetUp) -> SetUp:
    """Return the set-up with the stem as it is and every target that is not served moved on its own."""
    served = {one.target for one in at_rest.places if one.needed}
    served -= {one.target for one in at_rest.places if one.needed and one.slack_deg < task.tolerance_deg}
    served -= {
        one.target for one in at_rest.targets if one.frame_slack_deg < task.tolerance_deg and not one.frame_waived
    }
    held = replace(task.constraints, stem_offset_deg=at_rest.stem_offset_deg)
    poses, proved = [], True
    for index, subject in enumerate(task.subjects):
        place = at_rest.targets[index]
        pose = Pose(place.camera_angle_deg, place.guider_angle_deg)
        if subject.required and subject.key not in served:
            alone = tuple(replace(one, required=one is subject) for one in task.subjects)
            single = replace(task, subjects=alone, constraints=held)
            choice = Search(single, CameraRule(single)).run()
            if choice is not None and index in choice.moves:
                proved &= choice.proved
                pose = Pose(choice.camera_angle_deg, choice.guider_angle_deg, choice.moves[index].shift_mm)
        poses.append(pose)
    return replace(describe(task, poses), shifts_proved=proved)


def _framed_by_shifts(task: Task) -> list[Pose] | None:
    """Return poses without a guider: the camera angle that frames the most with shifts, then the shortest shifts."""
    freer = replace(
        task, subjects=tuple(replace(subject, free_arcs=shift_arcs(subject)) for subject in task.subjects)
    )
    choices = unguided_choices(freer)
    if not choices:
        return None
    camera = choices[0].camera_angle_deg
    return [
        Pose(camera, None, FrameLimit(task, index, camera).shortest() or (0.0, 0.0))
        for index in range(len(task.subjects))
    ]
