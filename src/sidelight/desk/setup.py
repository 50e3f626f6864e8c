"""Which set-up serves the targets of a date: the question, answered as one report."""

import datetime as dt
from dataclasses import dataclass, field, replace
from typing import Literal

from sidelight.desk.chosen import NO_TARGETS, chosen_targets
from sidelight.desk.coverage import Arcs, shallow_arcs
from sidelight.desk.fields import FieldReport, field_report
from sidelight.desk.sides import needed_sides
from sidelight.desk.starlight import guide_catalogue, guide_limits, reach_of
from sidelight.notebook.read import Notebook
from sidelight.rig.guide_light import GuideLight
from sidelight.setup.records import (
    Blocked,
    Constraints,
    Frame,
    GuideStar,
    Help,
    LitArc,
    Ring,
    SetUp,
    Side,
    Solution,
    TargetPlace,
    Want,
)
from sidelight.setup.solve import solve

DEFAULT_NIGHTS = 30
Refusal = Literal["saturating", "companions"]


@dataclass(frozen=True)
class Pointing:
    """Where the telescope points, ICRS."""

    ra_deg: float
    dec_deg: float


@dataclass(frozen=True)
class RingReport:
    """One target on one side: where guide stars are, and which one serves at the chosen angle.

    arcs run upwards from from_deg to to_deg in guider angle g (for targets in the west), and may cross north.
    star, place_on_sensor_px : None when the ring is dark at the chosen angle or nothing was chosen.
    edge_distance_px : from the star to the guide sensor's nearest edge; near_edge : less than a guiding box.
    shallow_arcs_deg : (from, to) where coverage is partial and the stars are not known down to the guider's limit.
    """

    target: str
    side: Side
    needed: bool
    reason: str
    pointing: Pointing
    arcs: tuple[LitArc, ...]
    share_of_angles: float
    star: GuideStar | None
    place_on_sensor_px: tuple[float, float] | None
    slack_deg: float
    edge_distance_px: float | None
    near_edge: bool
    stars_in_reach_count: int
    catalogue: str
    depth_mag: float
    shallow_arcs_deg: Arcs


@dataclass(frozen=True)
class GuiderReport:
    """What the guide camera sees in one exposure, low in the sky (35°).

    reach_mag : the faintest star with the signal-to-noise wanted, least_snr. saturates_mag : brighter ones fill their
    pixels, null when the well is not known. limit_is_typed : the limit is the person's, not the reach.
    """

    exposure_s: float
    least_snr: float
    reach_mag: float
    saturates_mag: float | None
    fwhm_px: float
    limit_is_typed: bool
    sentence: str


@dataclass(frozen=True)
class SetupReport:
    """The set-up for the nights from `date` on; `None` where nothing can be chosen, and the sentence says why."""

    notebook: str
    date: dt.date
    nights: int
    outcome: str
    sentence: str
    camera_angle_deg: float | None
    guider_angle_deg: float | None
    stem_offset_deg: float | None
    slack_deg: float | None
    frame_slack_deg: float | None
    shadow_slack_deg: float | None
    tolerance_deg: float
    share_of_angles: float
    rings: tuple[RingReport, ...]
    targets: tuple[TargetPlace, ...]
    frames: tuple[Frame, ...]
    next_best: tuple[SetUp, ...]
    blocked: tuple[Blocked, ...]
    smallest_cover: tuple[SetUp, ...]
    cover_leaves_out: tuple[str, ...]
    help: tuple[Help, ...]
    limit_mag: float | None
    bright_mag: float | None
    guider: GuiderReport | None
    notes: tuple[str, ...]
    best: SetUp | None = field(default=None, metadata={"json": False}, repr=False)
    fields: tuple[FieldReport, ...] = field(default=(), metadata={"json": False}, repr=False)
    # the kept set-up's name; in a sentence, which set-up a bench or a night goes by; what the kept angles give the
    # targets that it was not made for
    kept_as: str | None = field(default=None, metadata={"json": False})
    goes_by: str = field(default="", metadata={"json": False})
    beside: "SetupReport | None" = field(default=None, metadata={"json": False}, repr=False)

    def of(self, key: str) -> "SetupReport":
        """Return the report that speaks for a target: this one, or that of the targets beside."""
        beside = self.beside
        return self if beside is None or key not in {one.target for one in beside.frames} else beside


@dataclass(frozen=True)
class SetupQuestion:
    """What the person asks beyond the notebook: dates, what is held fixed, granted, refused (beside rig.toml's)."""

    date: dt.date
    nights: int = DEFAULT_NIGHTS
    camera_angle_deg: float | None = None
    stem_offset_deg: float | None = None
    grant_shift_arcmin: float | None = None
    leave_out: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    refuse: tuple[Refusal, ...] = ()


def setup_report(notebook: Notebook, question: SetupQuestion) -> SetupReport:
    """Solve the set-up for the nights from the question's date on.

    Raises BadInput for unknown targets. That no angle serves all is an outcome, not an error.
    """
    targets = chosen_targets(notebook, question.only, question.leave_out)
    wants, season_notes = needed_sides(notebook, targets, question.date, question.nights)
    solution = solve_wants(notebook, wants, question)
    return _report(notebook, question, wants, solution, season_notes)


def solve_wants(notebook: Notebook, wants: tuple[Want, ...], question: SetupQuestion) -> Solution:
    """Call the solver with the notebook's rig, stars and limits."""
    faint, bright = guide_limits(notebook)
    rig = replace(notebook.rig, guide_limit_mag=faint, guide_bright_mag=bright)
    constraints = Constraints(
        camera_angle_deg=question.camera_angle_deg,
        stem_offset_deg=question.stem_offset_deg,
        grant_shift_arcmin=question.grant_shift_arcmin,
    )
    return solve(
        rig, wants, guide_catalogue(notebook, question.date), constraints, guiding=guiding_of(notebook, question)
    )


def guiding_of(notebook: Notebook, question: SetupQuestion) -> GuideLight:
    """Return how guide stars are judged, with what the question refuses."""
    asked, own = question.refuse, notebook.guiding
    return replace(
        own,
        refuse_saturating=own.refuse_saturating or "saturating" in asked,
        refuse_companions=own.refuse_companions or "companions" in asked,
    )


def guider_report(notebook: Notebook) -> GuiderReport | None:
    """Return what the guide camera sees; None without a guider."""
    reach = reach_of(notebook)
    if reach is None:
        return None
    return GuiderReport(
        exposure_s=reach.light.exposure_s,
        least_snr=reach.light.least_snr,
        reach_mag=reach.limit_mag,
        saturates_mag=reach.bright_mag,
        fwhm_px=reach.fwhm_px,
        limit_is_typed=notebook.rig.guide_limit_mag is not None,
        sentence=reach.sentence,
    )


FAULT_WORDS = {
    "too_faint": "is fainter than the guide camera reaches",
    "saturates": "fills its pixels in one guide exposure",
    "companion": "has another star of similar brightness within half the guiding box",
    "in_outline": "stands within the outline of an object, and may be a knot of it",
}


def star_notes(best: SetUp | None) -> tuple[str, ...]:
    """Say what speaks against the guide stars of a set-up's needed rings."""
    notes = []
    for one in best.places if best else ():
        if not one.needed or one.star is None:
            continue
        said = [FAULT_WORDS[fault] for fault in one.star.faults]
        if one.near_edge and one.edge_distance_px is not None:
            said.append(f"stands {one.edge_distance_px:.0f} px from the sensor's edge")
        where = "" if one.side == "any" else f" {one.side}"
        notes += [f"The guide star of {one.target}{where} ({one.star.mag:.1f} mag) {' and '.join(said)}."] * bool(
            said
        )
    return tuple(notes)


def _report(
    notebook: Notebook,
    question: SetupQuestion,
    wants: tuple[Want, ...],
    solution: Solution,
    season_notes: tuple[str, ...],
) -> SetupReport:
    """Flatten a solution into the report."""
    best = solution.best
    shallow = shallow_arcs(notebook, question.date, solution.rings, solution.limit_mag)
    return SetupReport(
        notebook=str(notebook.folder),
        date=question.date,
        nights=question.nights,
        outcome=solution.outcome,
        sentence=_sentence(notebook, wants, solution),
        camera_angle_deg=best.camera_angle_deg if best else None,
        guider_angle_deg=best.guider_angle_deg if best else None,
        stem_offset_deg=best.stem_offset_deg if best else None,
        slack_deg=best.slack_deg if best else None,
        frame_slack_deg=best.frame_slack_deg if best and best.frames_served else None,
        shadow_slack_deg=best.shadow_slack_deg if best else None,
        tolerance_deg=solution.tolerance_deg,
        share_of_angles=solution.share_of_angles,
        rings=tuple(_ring_report(ring, best, arcs) for ring, arcs in zip(solution.rings, shallow, strict=True)),
        targets=best.targets if best else (),
        frames=solution.frames,
        next_best=solution.next_best,
        blocked=solution.blocked,
        smallest_cover=solution.smallest_cover,
        cover_leaves_out=solution.cover_leaves_out,
        help=solution.help,
        limit_mag=solution.limit_mag,
        bright_mag=solution.bright_mag,
        guider=guider_report(notebook),
        notes=(*season_notes, *star_notes(best), *solution.notes),
        best=best,
        fields=tuple(field_report(notebook, question.date, want.target, best) for want in wants),
    )


def _sentence(notebook: Notebook, wants: tuple[Want, ...], solution: Solution) -> str:
    """Say the outcome; where nothing is asked for, why."""
    if not notebook.targets:
        return NO_TARGETS
    return solution.sentence if wants else "Every target is left out, so nothing is asked for."


def _ring_report(ring: Ring, best: SetUp | None, shallow: Arcs) -> RingReport:
    """Return a ring with what the chosen set-up makes of it."""
    found = [one for one in best.places if (one.target, one.side) == (ring.target, ring.side)] if best else []
    place = found[0] if found else None
    return RingReport(
        target=ring.target,
        side=ring.side,
        needed=ring.needed,
        reason=ring.reason,
        pointing=Pointing(ring.pointing_ra_deg, ring.pointing_dec_deg),
        arcs=ring.arcs,
        share_of_angles=ring.share_of_angles,
        star=place.star if place else None,
        place_on_sensor_px=place.place_on_sensor_px if place else None,
        slack_deg=place.slack_deg if place else 0.0,
        edge_distance_px=place.edge_distance_px if place else None,
        near_edge=bool(place and place.near_edge),
        stars_in_reach_count=ring.stars_in_reach_count,
        catalogue=ring.catalogue,
        depth_mag=ring.depth_mag,
        shallow_arcs_deg=shallow,
    )
