"""Fetching deeper stars round targets: what is there is not asked again, what is too much is split."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sidelight.ground.angles import separation_deg
from sidelight.ground.errors import BadInput, Problem
from sidelight.stars import cache
from sidelight.stars.answer import Answer, Broken, Refused
from sidelight.stars.asking import Asker, TooMuch, Unreachable
from sidelight.stars.doubts import FEWEST_ROWS, cut_by_distance, known_missing, reached_depth_mag, too_many_missing
from sidelight.stars.service import GAIA_DR3, Cone, ConeService, NoAnswer, SkyField
from sidelight.stars.sphere import place_from

STEP_DEG = 0.05
SMALLEST_CONE_DEG = 0.02
MARGIN_DEG = 0.02


@dataclass(frozen=True)
class Progress:
    """How far a fetch is: done_fraction of the sky wanted, stars kept so far, and what it is at."""

    field: str
    done_fraction: float
    stars: int
    questions: int


@dataclass(frozen=True)
class FetchReport:
    """What a fetch did.

    questions : asked of the service. stars : new ones kept. already : cones that were there before.
    new : files written. notes : what the person should know.
    """

    service: str
    limit_mag: float
    questions: int
    stars: int
    already: int
    new: tuple[Path, ...]
    notes: tuple[str, ...]


def cone_for(field: SkyField) -> Cone:
    """Return the cone to ask for a field, a little wider so that small changes of the rig need no new fetch."""
    numbers = (field.ra_deg, field.dec_deg, field.inner_deg, field.outer_deg)
    if not all(map(math.isfinite, numbers)) or not 0 <= field.inner_deg < field.outer_deg <= 10:
        message = f'The field of "{field.name}" is no annulus: {field.inner_deg} to {field.outer_deg} degrees.'
        raise BadInput(Problem(message, expected="0 <= inner < outer <= 10 degrees"))
    wider = math.ceil((field.outer_deg + MARGIN_DEG) / STEP_DEG - 1e-9) * STEP_DEG
    return Cone(field.ra_deg % 360.0, field.dec_deg, round(wider, 6))


def split(cone: Cone) -> list[Cone]:
    """Return seven cones of a little more than half the radius that cover the cone: one in the middle, six round it.

    Seven discs of half the radius cover a disc; on the sphere 3 % more makes up for the curvature (tests).
    """
    half = cone.radius_deg / 2.0 * 1.03
    away_deg = cone.radius_deg * math.sqrt(3.0) / 2.0
    ra, dec = place_from(cone.ra_deg, cone.dec_deg, away_deg, np.arange(0.0, 360.0, 60.0))
    around = [Cone(round(float(a), 7) % 360.0, round(float(d), 7), half) for a, d in zip(ra, dec, strict=True)]
    return [Cone(cone.ra_deg, cone.dec_deg, half), *around]


def fetch_stars(
    folder: Path,
    fields: Sequence[SkyField],
    service: ConeService = GAIA_DR3,
    limit_mag: float = 14.0,
    progress: Callable[[Progress], None] | None = None,
    asker: Asker | None = None,
) -> FetchReport:
    """Fetch the stars of all fields down to a magnitude (V) into the folder, and return what was done.

    Whole answers are kept as they come, so an interrupted fetch goes on where it stopped. Raises NoAnswer when the
    service cannot be reached or refuses, after keeping what it gave; BadInput for impossible fields or limits.
    """
    if not (math.isfinite(limit_mag) and 0 < limit_mag <= 21):
        raise BadInput(Problem(f"A faint limit of {limit_mag} makes no sense.", expected="a magnitude up to 21"))
    wanted = [(field, cone_for(field)) for field in fields]
    cache.sweep(folder)
    pieces, damaged = cache.load_all(folder)
    for path in damaged:
        path.unlink(missing_ok=True)
    run = _Run(folder, service, limit_mag, asker or Asker(service, limit_mag), pieces, progress)
    if damaged:
        run.note(f"{len(damaged)} damaged files of stars were removed and are fetched again.")
    run.total = sum(cone.radius_deg**2 for _, cone in wanted)
    for field, cone in wanted:
        run.begin(field, cone)
    return run.report()


class _Run:
    """One fetch: the pieces known so far, what was done, and how far it is."""

    def __init__(
        self,
        folder: Path,
        service: ConeService,
        limit_mag: float,
        asker: Asker,
        pieces: Sequence[cache.Piece],
        progress: Callable[[Progress], None] | None,
    ) -> None:
        self.folder, self.service, self.limit_mag = folder, service, limit_mag
        self.asker, self.progress = asker, progress
        self.pieces = [cache.without_stars(piece) for piece in pieces]
        self.field = SkyField("", 0.0, 0.0, 0.0, 1.0)
        self.total = self.done = 0.0
        self.stars = self.already = 0
        self.new: list[Path] = []
        self.notes: list[str] = []

    def note(self, text: str) -> None:
        """Keep a remark, once."""
        if text not in self.notes:
            self.notes.append(text)

    def report(self) -> FetchReport:
        """Return what was done."""
        return FetchReport(
            self.service.name,
            self.limit_mag,
            self.asker.questions,
            self.stars,
            self.already,
            tuple(self.new),
            tuple(self.notes),
        )

    def begin(self, field: SkyField, wider: Cone) -> None:
        """Get one field: nothing when all of it is there already, else the wider cone."""
        self.field = field
        exact = Cone(wider.ra_deg, wider.dec_deg, field.outer_deg)
        there = cache.covering(self.pieces, exact, self.service.url, self.limit_mag)
        self.take(exact if there else wider, wider.radius_deg**2, doubts=0)

    def take(self, cone: Cone, share: float, doubts: int, refusals: int = 0) -> None:
        """Get one cone, from the folder, in one answer, or in parts; `share` is its part of the progress."""
        if self._beside_the_field(cone):
            self._advance(share)
        elif cache.covering(self.pieces, cone, self.service.url, self.limit_mag):
            self.already += 1
            self._advance(share)
        elif self._known_to_be_too_much(cone):
            self._parts(cone, share, doubts, refusals)
        else:
            self._ask(cone, share, doubts, refusals)

    def _ask(self, cone: Cone, share: float, doubts: int, refusals: int) -> None:
        """Ask for one cone and keep the answer, or split it when that was too much."""
        try:
            answer = self.asker.ask(cone)
        except TooMuch:
            self._cut(cone)
            return self._parts(cone, share, doubts, refusals)
        except Refused as refused:
            # a service may refuse a large radius without stating its limit, so smaller ones are tried
            if refusals < 2 and cone.radius_deg > 0.2:
                self._parts(cone, share, doubts, refusals + 1)
                return self._cut(cone)
            raise self._no_answer(f"refused: {refused}", _HOW_REFUSED) from refused
        except (Unreachable, Broken) as error:
            raise self._no_answer(f"gave no usable answer: {error}", _HOW_UNREACHABLE) from error
        if answer.truncated:
            self._cut(cone)
            return self._parts(cone, share, doubts, 0)
        missing, known = known_missing(cone, answer, self.limit_mag)
        doubtful = too_many_missing(missing, known)
        if doubts < 2 and answer.rows >= FEWEST_ROWS and (doubtful or cut_by_distance(cone, answer)):
            self._cut(cone)
            return self._parts(cone, share, doubts + 1, 0)
        if doubtful:
            self.note(
                f"Round {self.field.name} {missing} of {known} known stars of 7 to 10.5 mag are missing from what "
                f"{self.service.name} sent; those that ship stand in for them."
            )
        self._keep(cone, answer)
        return self._advance(share)

    def _keep(self, cone: Cone, answer: Answer) -> None:
        """Write an answer into the folder."""
        notes = list(answer.notes)
        if answer.outside:
            notes.append(f"{answer.outside} stars outside the circle that was asked for were dropped.")
            self.note(f"{self.service.name} also sent stars outside the circles asked for; they were dropped.")
        depth_mag = reached_depth_mag(answer.stars, self.limit_mag)
        if depth_mag < self.limit_mag:
            self.note(f"{self.service.name} reaches no deeper than {depth_mag:.1f} mag round {self.field.name}.")
        piece = cache.new_piece(self.service, cone, self.limit_mag, depth_mag, answer.stars, notes)
        self.new.append(cache.save(self.folder, piece))
        self.pieces.append(cache.without_stars(piece))
        self.stars += len(answer.stars)
        for text in answer.notes:
            self.note(text)

    def _cut(self, cone: Cone) -> None:
        """Remember that a cone is too much for one answer."""
        piece = cache.cut_piece(self.service, cone, self.limit_mag)
        cache.save(self.folder, piece)
        self.pieces.append(piece)

    def _parts(self, cone: Cone, share: float, doubts: int, refusals: int) -> None:
        """Get a cone in seven parts."""
        parts = split(cone)
        if parts[0].radius_deg < SMALLEST_CONE_DEG:
            message = f"cuts its answers short even in a circle of {cone.radius_deg * 60:.1f} arcminutes"
            raise self._no_answer(message, "Ask for a brighter limit, or take another service.")
        for part in parts:
            self.take(part, share / len(parts), doubts, refusals)

    def _beside_the_field(self, cone: Cone) -> bool:
        """Tell whether a part lies wholly outside the annulus, or wholly in the hole in its middle."""
        field = self.field
        away = float(separation_deg(field.ra_deg, field.dec_deg, cone.ra_deg, cone.dec_deg))
        outer = cone_for(field).radius_deg
        return away - cone.radius_deg > outer or away + cone.radius_deg < field.inner_deg - MARGIN_DEG

    def _known_to_be_too_much(self, cone: Cone) -> bool:
        """Tell whether a cone need not be asked whole."""
        largest = self.service.largest_radius_deg
        if largest is not None and cone.radius_deg > largest:
            return True
        return cache.was_cut(self.pieces, cone, self.service.url, self.limit_mag)

    def _advance(self, share: float) -> None:
        """Count a finished part and say so."""
        self.done += share
        if self.progress is not None:
            fraction = min(1.0, self.done / self.total) if self.total else 1.0
            self.progress(Progress(self.field.name, fraction, self.stars, self.asker.questions))

    def _no_answer(self, what: str, suggestion: str) -> NoAnswer:
        """Return the error that ends a fetch."""
        kept = f" {len(self.new)} answers were kept; the next fetch goes on from there." if self.new else ""
        message = f"{self.service.name} ({self.service.url}) {what}.{kept}"
        return NoAnswer(Problem(message, suggestion=suggestion))


_HOW_REFUSED = (
    "Check the address and the columns in the notebook's table of the star service, or take another service."
)
_HOW_UNREACHABLE = (
    "Check the network and try again later. Without a network, write the errand file, run it on another machine, "
    "and import what it brings."
)
