"""From checked values to the records of the other rooms: site, rig, sky, stars, learned angles, kept set-ups."""

from collections.abc import Mapping
from dataclasses import fields, replace
from functools import lru_cache
from importlib import resources
from typing import Any, TypeVar

from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.light.exposure import ExposureWish
from sidelight.light.filters import Filter
from sidelight.light.reach import guide_conditions
from sidelight.notebook.check import Checked, Findings
from sidelight.notebook.files import Folder, as_text
from sidelight.notebook.horizon_text import read_rows, skyline
from sidelight.notebook.schema.fields import Table, plain_number
from sidelight.notebook.schema.pages import HORIZON_FILE
from sidelight.notebook.schema.rig import CAMERA, GUIDER, MOUNT, TELESCOPE, TOLERANCES
from sidelight.notebook.settings import (
    KeptPointing,
    KeptSetUp,
    LearnedAngles,
    LightSettings,
    Measured,
    StarColumns,
    StarService,
)
from sidelight.rig.guide_light import GuideLight
from sidelight.rig.records import Mount, OffAxisGuider, Rig, Sensor, Telescope, Tolerances
from sidelight.sky.brightness import Glow, measured_sky, sky_of_class
from sidelight.sky.horizon import FLAT, Horizon
from sidelight.sky.site import Site

Record = TypeVar("Record")


def record(kind: type[Record], checked: Checked, table: Table | None = None, **more: Any) -> Record:  # noqa: ANN401
    """Return a record from a table's values; keys that the record does not have are left out."""
    names = {one.name for one in fields(kind)}  # type: ignore[arg-type]
    into = {one.key: one.record_field for one in table.fields} if table else {}
    values: Mapping[str, Any] = {into.get(key, key): value for key, value in checked.values.items()}
    return kind(**{**{name: value for name, value in values.items() if name in names}, **more})


@lru_cache(maxsize=1)
def time_zones() -> tuple[str, ...]:
    """Return the names of all time zones, the same on every machine."""
    return tuple(resources.files("tzdata").joinpath("zones").read_text(encoding="utf-8").split())


def near_zones(name: str) -> str | None:
    """Return a sentence that names the zones nearest to a name; a city alone is enough."""
    zones = time_zones()
    city = name.replace(" ", "_").rsplit("/", 1)[-1].casefold()
    same_city = [zone for zone in zones if zone.rsplit("/", 1)[-1].casefold() == city]
    if same_city:
        return "Did you mean " + " or ".join(f'"{zone}"' for zone in same_city[:3]) + "?"
    near = did_you_mean(name, zones)
    if near:
        return near
    by_city = {zone.rsplit("/", 1)[-1]: zone for zone in zones}
    near_city = did_you_mean(city, by_city)
    if not near_city:
        return "Give region and city, so that clock changes are known."
    for found, zone in by_city.items():
        near_city = near_city.replace(f'"{found}"', f'"{zone}"')
    return near_city


def site_of(head: Checked, horizon: Horizon, findings: Findings) -> Site:
    """Return the site; adds the problem of a time zone that does not exist."""
    zone = head.values["time_zone"]
    if zone is not None and zone not in time_zones():
        findings.add(
            ("time_zone",),
            f'There is no time zone "{zone}".',
            'a name of the IANA list such as "Europe/Vienna"',
            near_zones(zone),
        )
    return record(Site, head, horizon=horizon)


def horizon_of(
    folder: Folder, bearings: Checked | None, findings: Findings | None, problems: list[Problem]
) -> Horizon:
    """Return the skyline of horizon.txt with the bearings that site.toml states; adds what is wrong to both lists."""
    declination_deg = _declination(bearings, findings) if bearings and findings else 0.0
    data = folder.read(HORIZON_FILE)
    if data is None:
        problems.append(
            Problem(
                "The file is missing.",
                HORIZON_FILE,
                expected="a text file of two columns, azimuth and altitude in degrees",
                suggestion='For a flat skyline write one row: "0 0".',
            )
        )
        return FLAT
    try:
        return skyline(read_rows(as_text(HORIZON_FILE, data)), declination_deg)
    except BadInput as error:
        problems += [replace(one, file=HORIZON_FILE) for one in error.problems]
        return FLAT


def _declination(bearings: Checked, findings: Findings) -> float:
    """Return what is added to each bearing; adds the problem of one that is missing or of no use."""
    key = (*bearings.path, "magnetic_declination_deg")
    given = bearings.values["magnetic_declination_deg"]
    if bearings.values["bearings"] == "magnetic" and given is None and bearings.sound:
        findings.add(
            key,
            "Magnetic bearings need the declination of this site.",
            "degrees that the needle points east of true north, negative for west",
            "Look it up for your place and year in a magnetic model, and add the line.",
        )
    if bearings.values["bearings"] == "true" and given:
        findings.add(
            key,
            "The bearings are said to be true, so no declination belongs here.",
            'bearings = "magnetic", or no declination',
            "Say which of the two holds.",
        )
    return float(given or 0.0)


def rig_of(head: Checked) -> Rig:
    """Return the rig as the file says it."""
    guider = head.tables["guider"]
    return Rig(
        telescope=record(Telescope, head.tables["telescope"], TELESCOPE),
        camera=record(Sensor, head.tables["camera"], CAMERA),
        guider=record(OffAxisGuider, guider, GUIDER, sensor=record(Sensor, guider.tables["camera"], CAMERA))
        if guider.given
        else None,
        mount=record(Mount, head.tables["mount"], MOUNT),
        rotator=head.tables["telescope"].values["rotator"],
        tolerances=record(Tolerances, head.tables["tolerances"], TOLERANCES),
        guide_limit_mag=guider.values["limit_mag"],
        guide_bright_mag=guider.values["bright_mag"],
    )


def light_of(head: Checked, elevation_m: float, findings: Findings) -> LightSettings:
    """Return sky, filters and exposures; adds the problems of a filter named twice and of exposures without room."""
    once(head.repeats["filter"], "name", findings)
    seeing_arcsec, exposures = head.tables["sky"].values["seeing_arcsec"], head.tables["exposure"]
    share = exposures.values["read_noise_share_percent"] / 100.0
    exposure = record(ExposureWish, exposures, read_noise_share=share, seeing_arcsec=seeing_arcsec)
    if exposure.shortest_s > exposure.longest_s:
        message = f"The shortest exposure is longer than the longest, {plain_number(exposure.longest_s)} s."
        findings.add(("exposure", "shortest_s"), message, "shortest_s at most longest_s")
    sky = head.tables["sky"].values
    more = {
        "extinction_mag_per_airmass": sky["extinction_mag_per_airmass"],
        "elevation_m": elevation_m,
        "glows": tuple(record(Glow, one) for one in head.repeats["glow"]),
    }
    zenith = sky["zenith_mag_arcsec2"]
    return LightSettings(
        sky=sky_of_class(sky["darkness_class"], **more)
        if zenith is None
        else measured_sky(zenith, sky["zenith_error_mag"], **more),
        measured=zenith is not None,
        seeing_arcsec=seeing_arcsec,
        filters=tuple(record(Filter, one) for one in head.repeats["filter"]),
        exposure=exposure,
        wanted_snr=exposures.values["wanted_snr"],
    )


def guiding_of(head: Checked, light: LightSettings) -> GuideLight:
    """Return how guide stars are exposed and judged, under this sky at the altitude the room of light takes."""
    wish = record(GuideLight, head.tables["guider"], seeing_arcsec=light.seeing_arcsec)
    return guide_conditions(light.sky, wish)


def stars_of(head: Checked, findings: Findings) -> StarService:
    """Return the star service; adds the problem of an address that is none."""
    url = head.tables["service"].values["url"]
    if not url.startswith(("http://", "https://")):
        findings.add(("service", "url"), "This is not an address.", 'text that begins with "https://" or "http://"')
    return record(StarService, head.tables["service"], columns=record(StarColumns, head.tables["columns"]))


def learned_of(head: Checked) -> LearnedAngles:
    """Return what was measured, in order of date."""
    entries = [record(Measured, one) for one in head.repeats["measured"]]
    return LearnedAngles(tuple(sorted(entries, key=lambda entry: entry.date)))


def setups_of(head: Checked, findings: Findings) -> tuple[KeptSetUp, ...]:
    """Return the kept set-ups; adds the problem of a name that stands twice, or of two in use."""
    once(head.repeats["setup"], "name", findings)
    kept = tuple(
        record(KeptSetUp, one, pointings=tuple(record(KeptPointing, each) for each in one.repeats["pointing"]))
        for one in head.repeats["setup"]
    )
    in_use = [n for n, one in enumerate(kept) if one.in_use]
    for n in in_use[1:]:
        findings.add(
            ("setup", n, "in_use"),
            f'"{kept[in_use[0]].name}" is in use already.',
            "in_use = true for one set-up at most",
        )
    return kept


def once(rows: tuple[Checked, ...], key: str, findings: Findings) -> None:
    """Add a problem for each value of a key that stands in an earlier row already, capitals or not."""
    seen: dict[str, int | None] = {}
    for row in rows:
        value = row.values[key]
        if value is None:
            continue
        folded = " ".join(str(value).casefold().split())
        if folded in seen:
            where = f" on line {seen[folded]}" if seen[folded] is not None else ""
            findings.add((*row.path, key), f'"{value}" stands{where} already.', "each name once")
        seen.setdefault(folded, findings.parsed.line((*row.path, key)))


def with_learned(rig: Rig, learned: LearnedAngles) -> tuple[Rig, tuple[str, ...]]:
    """Return the rig with what solved images said of it, and a sentence for each figure that this replaces."""
    notes = []
    stem, focal = learned.newest("stem_radius_mm"), learned.newest("focal_length_mm")
    if stem is not None and stem.stem_radius_mm is not None and rig.guider is not None:
        notes.append(
            f"The stem radius is {plain_number(stem.stem_radius_mm)} mm as measured on {stem.date};"
            f" rig.toml says {plain_number(rig.guider.stem_radius_mm)} mm."
        )
        rig = replace(rig, guider=replace(rig.guider, stem_radius_mm=stem.stem_radius_mm))
    if focal is not None and focal.focal_length_mm is not None:
        stated = rig.telescope.effective_focal_length_mm
        notes.append(
            f"The focal length is {plain_number(focal.focal_length_mm)} mm as measured on {focal.date};"
            f" rig.toml says {plain_number(round(stated, 2))} mm."
        )
        factor = focal.focal_length_mm / rig.telescope.focal_length_mm
        rig = replace(rig, telescope=replace(rig.telescope, reducer=factor))
    return rig, tuple(notes)
