"""Deeper stars for a notebook: what is there, what the guider can reach, fetching and importing it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from sidelight.desk.clock import tonight
from sidelight.desk.starlight import guide_catalogue, guide_limits, stars_folder
from sidelight.ground.errors import BadInput, Problem, SidelightError
from sidelight.notebook.read import Notebook
from sidelight.rig.guider import whole_rectangle
from sidelight.stars.errand import import_errand, write_errand
from sidelight.stars.fetching import FetchReport, Progress, cone_for, fetch_stars
from sidelight.stars.importing import ImportReport, import_stars
from sidelight.stars.service import GAIA_DR3, ColumnMap, ConeService, SkyField
from sidelight.targets.names import target_from_name


@dataclass(frozen=True)
class FieldStars:
    """The annulus that the guider can reach round one target, and how deep the stars there are known."""

    target: str
    inner_deg: float
    outer_deg: float
    depth_mag: float
    stars_in_reach_count: int


@dataclass(frozen=True)
class StarsReport:
    """What a notebook's guide stars rest on; limit_mag is the guider's reach, wanted_mag what a fetch asks for."""

    catalogue: str
    limit_mag: float
    wanted_mag: float
    service: str
    fields: tuple[FieldStars, ...]
    sentence: str


def stars_report(notebook: Notebook) -> StarsReport:
    """Say how deep the stars round each target are known, beside what the guider reaches."""
    catalogue = guide_catalogue(notebook, tonight(notebook.site))
    limit = guide_limits(notebook)[0]
    fields = []
    for field in reachable_fields(notebook):
        stars = catalogue.cone(field.ra_deg, field.dec_deg, field.outer_deg, limit)
        depth = float(catalogue.depth_at(field.ra_deg, field.dec_deg))
        fields.append(FieldStars(field.name, field.inner_deg, field.outer_deg, depth, len(stars)))
    shallow = [one.target for one in fields if one.depth_mag < limit - 0.05]
    sentence = (
        f"The guider reaches {limit:.1f} mag; the stars round {', '.join(shallow)} are not known that deep. "
        '"sidelight stars fetch" gets them.'
        if shallow
        else "The stars round every target are known as deep as the guider reaches."
    )
    wanted = limit + notebook.stars.margin_mag
    return StarsReport(catalogue.name, limit, wanted, notebook.stars.name, tuple(fields), sentence)


def reachable_fields(notebook: Notebook, also: Sequence[str] = ()) -> tuple[SkyField, ...]:
    """Return for each target the annulus that the guide sensor covers at any angle and allowed shift.

    also : names of objects that are not on the list (yet). Raises BadInput without an off-axis guider, and for a name
    that leads nowhere.
    """
    guider = notebook.rig.guider
    if guider is None:
        raise BadInput(Problem("This rig has no off-axis guider, so no guide stars are wanted.", file="rig.toml"))
    whole = whole_rectangle(guider)
    focal_mm = notebook.rig.telescope.effective_focal_length_mm
    near = max(0.0, whole.stem_radius_mm - whole.half_along_mm)
    far = float(np.hypot(whole.stem_radius_mm + whole.half_along_mm, whole.half_across_mm))
    inner, outer = (float(np.degrees(np.arctan(reach / focal_mm))) for reach in (near, far))
    return tuple(
        SkyField(
            target.key,
            target.ra_deg,
            target.dec_deg,
            max(0.0, inner - target.shift_allowed_arcmin / 60.0),
            outer + max(target.shift_allowed_arcmin, 15.0) / 60.0,
        )
        for target in (*notebook.targets, *(target_from_name(name) for name in also))
    )


def star_service(notebook: Notebook) -> ConeService:
    """Return the service that stars.toml names; the default one with all that is known of it."""
    said, columns = notebook.stars, notebook.stars.columns
    known = GAIA_DR3 if said.url == GAIA_DR3.url else ConeService(said.name, said.url)
    named = {
        key: one for key in ("ra", "dec", "mag", "pm_ra", "pm_dec") if (one := getattr(columns, key)) is not None
    }
    return replace(
        known,
        name=said.name,
        columns=replace(known.columns, **named),
        epoch_year=columns.epoch_year or known.epoch_year,
        pause_s=said.pause_s,
        timeout_s=said.timeout_s,
    )


def fetch_deeper(
    notebook: Notebook,
    limit_mag: float | None,
    progress: Callable[[Progress], None] | None = None,
    also: Sequence[str] = (),
) -> FetchReport:
    """Fetch what the guider can reach round every target; raises NoAnswer with what to do when there is no network.

    A machine without a network gets a program to carry to another one, written beside the stars.
    """
    wanted = guide_limits(notebook)[0] + notebook.stars.margin_mag if limit_mag is None else limit_mag
    fields = reachable_fields(notebook, also)
    try:
        return fetch_stars(stars_folder(notebook), fields, star_service(notebook), wanted, progress)
    except SidelightError as refusal:
        if isinstance(refusal, BadInput):
            raise
        errand = write_errand(stars_folder(notebook), fields, star_service(notebook), wanted)
        if errand is None:
            raise
        advice = Problem(
            f"A program to carry to a machine with a network was written: {errand}.",
            suggestion='Run it there with Python, bring back what it writes, and "sidelight stars import" that.',
        )
        raise type(refusal)([*refusal.problems, advice]) from refusal


def import_deeper(
    notebook: Notebook, path: Path, columns: ColumnMap, name: str | None, complete_to_mag: float | None = None
) -> ImportReport | FetchReport:
    """Take in a table of stars, or what an errand brought back; raises BadInput for a file that is neither.

    complete_to_mag : the table holds every star to this magnitude round every target; None when that is not known.
    """
    if path.suffix.casefold() == ".zip":
        return import_errand(stars_folder(notebook), path, star_service(notebook))
    covers = [cone_for(field) for field in reachable_fields(notebook)] if complete_to_mag is not None else []
    return import_stars(path, stars_folder(notebook), columns, name, covers=covers, depth_mag=complete_to_mag)


def named_columns(ra: str | None, dec: str | None, mag: str | None) -> ColumnMap:
    """Return which column is which, where the person says so."""
    return ColumnMap(ra=ra, dec=dec, mag=mag)
