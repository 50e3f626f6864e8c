"""One set-up question made ready to be solved: rings and frames of every target, the shadow, what is held fixed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from sidelight.ground import spans
from sidelight.ground.types import FloatArray, IntArray
from sidelight.rig.guide_light import GuideLight
from sidelight.rig.guider import GuideRectangle, usable_rectangle
from sidelight.rig.records import Rig
from sidelight.rig.shadow import shadow_free_arcs
from sidelight.setup import framing
from sidelight.setup.arcwork import point_arc
from sidelight.setup.reach import Reach, StarTable, arcmin_to_mm, load_reaches
from sidelight.setup.records import Constraints, Frame, Side, SideNeed, Want
from sidelight.setup.rings import side_arcs
from sidelight.stars.cone import Catalogue

SPARE_ARCMIN = 15.0
SPARE_MM = 6.0
"""Stars are looked up this far beyond the guide sensor's reach, so that shifts and other stem radii can be tried."""


@dataclass(frozen=True)
class LitRing:
    """One ring as the solver uses it: rows (m, 2) of g, the star of each row, and their union."""

    subject: int
    need: SideNeed
    rows: FloatArray
    star: IntArray
    lit: FloatArray

    @property
    def side(self) -> Side:
        """The side of the meridian."""
        return self.need.side


@dataclass(frozen=True)
class Subject:
    """One target about one pointing: its usable stars, its frame, and whether anything of it is needed.

    stars : None without a guider. shift_mm : radius of the granted shift. free_arcs : camera angles at which it fits
    as it is pointed. waived : too large for the frame at any angle, with any granted shift, so that its frame cannot
    be asked for.
    """

    want: Want
    pointing_deg: tuple[float, float]
    stars: StarTable | None
    shift_mm: float
    frame: Frame
    free_arcs: FloatArray
    waived: bool
    required: bool

    @property
    def key(self) -> str:
        """The target's name."""
        return self.want.target.key

    @property
    def camera_arcs(self) -> FloatArray:
        """Camera angles that this target allows in a joint solution."""
        return spans.FULL_CIRCLE if self.waived else self.free_arcs


@dataclass(frozen=True)
class Task:
    """Everything that a joint solution needs; nothing here asks a catalogue or a file."""

    rig: Rig
    reaches: tuple[Reach, ...]
    subjects: tuple[Subject, ...]
    rings: tuple[LitRing, ...]
    rectangle: GuideRectangle | None
    stem_arcs: FloatArray
    shadow_everywhere: bool
    constraints: Constraints
    limit_mag: float | None
    bright_mag: float | None

    @property
    def guided(self) -> bool:
        """Whether there is an off-axis guider to serve."""
        return self.rectangle is not None

    @property
    def turning(self) -> bool:
        """Whether each target has its own camera angle: a rotator that is not held still."""
        return self.rig.rotator and self.constraints.camera_angle_deg is None

    @property
    def tolerance_deg(self) -> float:
        """Least slack of a recommended set-up."""
        return self.rig.tolerances.angle_deg

    @property
    def focal_mm(self) -> float:
        """Focal length that the camera sees."""
        return self.rig.telescope.effective_focal_length_mm

    @cached_property
    def needed(self) -> tuple[LitRing, ...]:
        """The rings that have to be served."""
        return tuple(ring for ring in self.rings if ring.need.needed and self.subjects[ring.subject].required)

    @cached_property
    def fixed_camera(self) -> FloatArray:
        """Camera angles that the constraints leave."""
        fixed = self.constraints.camera_angle_deg
        return spans.FULL_CIRCLE if fixed is None else point_arc(fixed)

    @cached_property
    def fixed_stem(self) -> FloatArray:
        """Stem offsets θ that the constraints leave; the shadow counts only where the stem may still be turned."""
        fixed = self.constraints.stem_offset_deg
        return self.stem_arcs if fixed is None else point_arc(fixed)


def sides_of(rig: Rig) -> tuple[Side, ...]:
    """Return the sides of the meridian that a rig distinguishes."""
    return ("east", "west") if rig.mount.flips else ("any",)


def granted_arcmin(want: Want, constraints: Constraints) -> float:
    """Return how far the pointing of one target may be moved."""
    granted = constraints.grant_shift_arcmin
    return want.target.shift_allowed_arcmin if granted is None else granted


def reaches_for(
    rig: Rig,
    wants: Sequence[Want],
    catalogue: Catalogue,
    guiding: GuideLight | None = None,
    granted_arcmin: float | None = None,
) -> tuple[Reach, ...]:
    """Look up the stars of every want, with room to try shifts and other stem radii; empty without a guider.

    guiding : how they are exposed and judged; None leaves them unjudged, and none is refused. granted_arcmin : the
    shift that the question grants to all, beside what each target allows itself.
    """
    if rig.guider is None:
        return ()
    focal_mm = rig.telescope.effective_focal_length_mm
    largest = max([SPARE_ARCMIN, granted_arcmin or 0.0, *(want.target.shift_allowed_arcmin for want in wants)])
    spare_mm = SPARE_MM + arcmin_to_mm(largest, focal_mm)
    reaches = load_reaches(wants, catalogue, usable_rectangle(rig), focal_mm, spare_mm)
    return reaches if guiding is None else tuple(reach.judged_by(rig, guiding) for reach in reaches)


def build_task(
    rig: Rig,
    wants: Sequence[Want],
    reaches: tuple[Reach, ...],
    constraints: Constraints,
    limit_mag: float | None,
    bright_mag: float | None,
) -> Task:
    """Make the rings and frames of every want, about its own pointing."""
    rectangle = usable_rectangle(rig) if rig.guider is not None else None
    subjects = tuple(
        _subject(rig, want, reaches[i] if reaches else None, constraints, limit_mag, bright_mag)
        for i, want in enumerate(wants)
    )
    rings = tuple(
        lit_ring(i, subject.want.need(side), subject.stars, rectangle)
        for i, subject in enumerate(subjects)
        if subject.stars is not None and rectangle is not None
        for side in sides_of(rig)
    )
    stem_arcs = shadow_free_arcs(rig) if rig.guider is not None else spans.FULL_CIRCLE
    return Task(
        rig=rig,
        reaches=reaches,
        subjects=subjects,
        rings=rings,
        rectangle=rectangle,
        stem_arcs=stem_arcs if len(stem_arcs) else spans.FULL_CIRCLE,
        shadow_everywhere=not len(stem_arcs),
        constraints=constraints,
        limit_mag=limit_mag,
        bright_mag=bright_mag,
    )


def _subject(
    rig: Rig,
    want: Want,
    reach: Reach | None,
    constraints: Constraints,
    limit_mag: float | None,
    bright_mag: float | None,
) -> Subject:
    """Make one target ready."""
    target = want.target
    granted = granted_arcmin(want, constraints)
    required = want.required
    result, with_shift = framing.frame(target, rig, required, granted)
    free = with_shift if granted <= 0 else framing.frame_arcs(framing.plane_outlines(target, rig))
    return Subject(
        want=want,
        pointing_deg=(target.ra_deg, target.dec_deg),
        stars=reach.usable(limit_mag, bright_mag) if reach is not None else None,
        shift_mm=arcmin_to_mm(granted, rig.telescope.effective_focal_length_mm),
        frame=result,
        free_arcs=free,
        waived=not result.fits,
        required=required,
    )


def lit_ring(subject: int, need: SideNeed, stars: StarTable, rectangle: GuideRectangle) -> LitRing:
    """Return one ring from the stars about one pointing."""
    rows, star = side_arcs((stars.x_mm, stars.y_mm), need.side, rectangle)
    return LitRing(subject, need, rows, star, spans.arcs(rows))


def with_rig(task: Task, rig: Rig, limit_mag: float | None, without: str | None = None) -> Task:
    """Return the same question with another guider, faint limit, or one target less; frames are kept.

    The rig may differ from the task's in its guider only.
    """
    rectangle = usable_rectangle(rig)
    subjects = tuple(
        replace(
            subject,
            stars=reach.usable(limit_mag, task.bright_mag),
            required=subject.required and subject.key != without,
        )
        for subject, reach in zip(task.subjects, task.reaches, strict=True)
    )
    rings = tuple(
        lit_ring(ring.subject, ring.need, stars, rectangle)
        for ring in task.rings
        if (stars := subjects[ring.subject].stars) is not None
    )
    stem_arcs = shadow_free_arcs(rig)
    return replace(
        task,
        rig=rig,
        subjects=subjects,
        rings=rings,
        rectangle=rectangle,
        stem_arcs=stem_arcs if len(stem_arcs) else spans.FULL_CIRCLE,
        shadow_everywhere=not len(stem_arcs),
        limit_mag=limit_mag,
    )
