"""Reading a notebook: every file, checked one by one and against each other, into one frozen record."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from sidelight.ground.errors import BadInput, Problem
from sidelight.notebook.assemble import (
    guiding_of,
    horizon_of,
    learned_of,
    light_of,
    rig_of,
    setups_of,
    site_of,
    stars_of,
    with_learned,
)
from sidelight.notebook.assemble_campaign import campaign_of, targets_of
from sidelight.notebook.check import Checked, Findings, check_page
from sidelight.notebook.files import Folder, fingerprint_of
from sidelight.notebook.places import find_places
from sidelight.notebook.schema.fields import Page, Table
from sidelight.notebook.schema.pages import FILES, PAGES
from sidelight.notebook.schema.rig import RIG
from sidelight.notebook.settings import (
    CampaignSettings,
    KeptSetUp,
    LearnedAngles,
    LightSettings,
    StarService,
)
from sidelight.notebook.toml_text import Parsed, parse_toml
from sidelight.rig.check import check_rig, rig_doubts
from sidelight.rig.guide_light import GuideLight
from sidelight.rig.records import Rig
from sidelight.sky.site import Site
from sidelight.targets.records import Target


@dataclass(frozen=True)
class Notebook:
    """Everything that one person's folder says.

    rig : with what solved images said of it; rig_as_written : as rig.toml has it.
    guiding : how guide stars are exposed and judged.
    fingerprints : of each file when it was read, to notice that somebody changed it since.
    notes : sentences worth showing wherever the notebook is used.
    """

    folder: Path
    site: Site
    rig: Rig
    targets: tuple[Target, ...]
    campaign: CampaignSettings
    light: LightSettings
    guiding: GuideLight
    learned: LearnedAngles
    stars: StarService
    setups: tuple[KeptSetUp, ...]
    rig_as_written: Rig
    rig_name: str
    notes: tuple[str, ...] = ()
    fingerprints: Mapping[str, str] = field(default_factory=dict)

    @property
    def setup_in_use(self) -> KeptSetUp | None:
        """The kept set-up that is on the telescope, None when none is said to be."""
        return next((one for one in self.setups if one.in_use), None)


def read_notebook(folder: Path) -> Notebook:
    """Read and check a folder; raises BadInput with every problem of every file at once."""
    return read_folder(Folder(folder))


def read_folder(folder: Folder) -> Notebook:
    """Read and check a folder with the contents it is about to have."""
    notebook, problems = _read(folder)
    if problems or notebook is None:
        raise BadInput(problems)
    return notebook


def problems_of(folder: Folder) -> tuple[Problem, ...]:
    """Return everything that is wrong with a folder, file by file."""
    return _read(folder)[1]


@dataclass
class _Pages:
    """The files while they are read: values and findings by file name."""

    checked: dict[str, Checked] = field(default_factory=dict)
    findings: dict[str, Findings] = field(default_factory=dict)
    others: dict[str, list[Problem]] = field(default_factory=dict)

    def sound(self, file: str) -> Checked | None:
        """Return a file's values when nothing in it was refused so far."""
        one = self.checked.get(file)
        return one if one is not None and not self.findings[file].problems else None


def _read(folder: Folder) -> tuple[Notebook | None, tuple[Problem, ...]]:
    """Return the notebook, None when something is wrong, and the problems."""
    if not folder.path.is_dir() and not folder.planned:
        raise BadInput(_no_folder(folder.path))
    if all(folder.read(file) is None for file in FILES):
        raise BadInput(_no_notebook(folder.path))
    pages = _Pages()
    for page in PAGES:
        _read_page(page, folder, pages)
    notebook = _assemble(folder, pages)
    problems: list[Problem] = []
    for file in FILES:
        problems += pages.others.get(file, [])
        found = pages.findings.get(file)
        problems += sorted(found.problems, key=lambda one: one.line or 0) if found else []
    return (None if problems else notebook), tuple(problems)


def _no_folder(path: Path) -> Problem:
    """Return the problem of a folder that is none."""
    message = "This is a file, not a folder." if path.exists() else "There is no such folder."
    advice = f'Make a new notebook with "sidelight init {path.name or path}", or name another folder.'
    return Problem(message, str(path), expected="the folder of a notebook", suggestion=advice)


def _no_notebook(path: Path) -> Problem:
    """Return the problem of a folder without a single file of a notebook."""
    here = None if path == Path() else str(path)
    advice = 'Give the folder that "init" or "demo" made, such as: sidelight season my-garden.'
    return Problem("This folder is no notebook.", here, suggestion=advice)


def _missing(page: Page) -> Problem:
    """Return the problem of a file that is not there, with what it would say."""
    what, _, _ = page.help.rstrip(".").partition(". ")
    advice = f'Write it by hand, or make a new notebook with "sidelight init" and copy its {page.file}.'
    return Problem(f"The file is missing ({what[0].lower()}{what[1:]}).", page.file, suggestion=advice)


def _read_page(page: Page, folder: Folder, pages: _Pages) -> None:
    """Read one file into the pages; one that is optional and missing holds its defaults."""
    try:
        data = folder.read(page.file)
        if data is None and page.required:
            raise BadInput(_missing(page))
        parsed = Parsed(page.file, "", {}, find_places("")) if data is None else parse_toml(page.file, data)
    except BadInput as error:
        pages.others[page.file] = [replace(one, file=page.file) for one in error.problems]
        return
    findings = Findings(parsed)
    pages.findings[page.file] = findings
    pages.checked[page.file] = check_page(page, findings)


def _assemble(folder: Folder, pages: _Pages) -> Notebook | None:
    """Make the records out of the files that are sound, and compare files with each other."""
    site = _site(folder, pages)
    rig_page, targets_page = pages.sound("rig.toml"), pages.checked.get("targets.toml")
    rig = rig_of(rig_page) if rig_page else None
    targets = targets_of(targets_page, pages.findings["targets.toml"]) if targets_page else ()
    light_page, stars_page = pages.sound("light.toml"), pages.sound("stars.toml")
    elevation_m = site.elevation_m if site else 0.0
    light = light_of(light_page, elevation_m, pages.findings["light.toml"]) if light_page else None
    stars = stars_of(stars_page, pages.findings["stars.toml"]) if stars_page else None
    setups_page, learned_page = pages.sound("setups.toml"), pages.sound("learned.toml")
    setups = setups_of(setups_page, pages.findings["setups.toml"]) if setups_page else None
    learned = learned_of(learned_page) if learned_page else None
    campaign = _campaign(folder, pages, targets, light)
    if rig is not None:
        _check_rig(rig, pages.findings["rig.toml"])
    if site is None or rig is None or rig_page is None or campaign is None or light is None:
        return None
    if learned is None or stars is None or setups is None:
        return None
    learned_rig, notes = with_learned(rig, learned)
    return Notebook(
        folder=folder.path,
        site=site,
        rig=learned_rig,
        targets=targets,
        campaign=campaign,
        light=light,
        guiding=guiding_of(rig_page, light),
        learned=learned,
        stars=stars,
        setups=setups,
        rig_as_written=rig,
        rig_name=rig_page.values["name"],
        notes=(*notes, *rig_doubts(learned_rig)),
        fingerprints={file: fingerprint_of(folder.read(file)) for file in FILES},
    )


def _site(folder: Folder, pages: _Pages) -> Site | None:
    """Return the site with its skyline, None when either is refused."""
    head, findings = pages.checked.get("site.toml"), pages.findings.get("site.toml")
    problems: list[Problem] = []
    try:
        horizon = horizon_of(folder, head.tables["horizon"] if head else None, findings, problems)
    except BadInput as error:
        problems += error.problems
        pages.others["horizon.txt"] = problems
        return None
    pages.others["horizon.txt"] = problems
    if head is None or findings is None:
        return None
    site = site_of(head, horizon, findings)
    return None if problems or findings.problems else site


def _campaign(
    folder: Folder, pages: _Pages, targets: tuple[Target, ...], light: LightSettings | None
) -> CampaignSettings | None:
    """Return the campaign's settings, None when the file is refused."""
    head = pages.sound("campaign.toml")
    if head is None:
        return None
    keys = tuple(one.key for one in targets) if pages.sound("targets.toml") else None
    filters = tuple(one.name for one in light.filters) if light and pages.sound("light.toml") else None
    return campaign_of(head, folder, pages.findings["campaign.toml"], keys, filters)


def _check_rig(rig: Rig, findings: Findings) -> None:
    """Add what the room of the rig finds wrong with it, by this file's keys."""
    for problem in check_rig(rig):
        findings.add_from(replace(problem, key=None), _key_in_file(problem.key or ""))


def _key_in_file(record_key: str) -> tuple[str, ...]:
    """Return the path in rig.toml of a field of the rig's record."""
    parts = {"guide_limit_mag": "guider.limit_mag", "guide_bright_mag": "guider.bright_mag"}.get(
        record_key, record_key
    )
    *tables, last = parts.replace("guider.sensor", "guider.camera").split(".")
    table: Table | None = RIG.head
    for name in tables:
        table = table.table(name) if table else None
    named = [one.key for one in table.fields if one.record_field == last] if table else []
    return (*tables, named[0] if named else last) if record_key else ()
