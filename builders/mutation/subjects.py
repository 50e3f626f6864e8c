"""Which modules hold physics or geometry, and which tests may be asked about them."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "sidelight"
MODULES: dict[str, tuple[str, ...]] = {
    "ground": ("angles", "roots", "spans"),
    "sky": (
        *("airmass", "altitude", "brightness", "crossings", "darkness", "events", "extinction", "flip", "frames"),
        *("horizon", "moon", "night", "refraction", "site", "skyline", "spells", "sun", "time"),
    ),
    "rig": ("bench", "guide_light", "guider", "mount", "optics", "photometry", "shadow"),
    "stars": ("motion", "sphere"),
    "season": ("cuts", "measures", "stretches", "windows", "yearly_arcs"),
    "light": ("exposure", "filters", "hours", "reach", "sightlines", "weight"),
    "ledger": ("calibration", "equinox", "estimate", "match", "matrix", "pointing", "stem_fit", "turns", "wcs"),
    "campaign": ("odds", "records", "slots", "value", "weather"),
    "setup": (
        *("arcwork", "cameras", "candidates", "convex", "framelimit", "framing", "joint", "moving", "place", "reach"),
        *("rings", "rotator"),
    ),
}
TEST_FOLDERS = ("unit", "reference", "property")
TEST_ROOMS = ("ground", "sky", "rig", "stars", "season", "setup", "light", "ledger", "campaign", "desk")
NOT_ASKED = (
    *("test_stars_fetch", "test_stars_vo_server", "test_stars_deeper", "test_stars_files", "test_stars_answer"),
    *("test_ledger_killed", "test_ledger_hostile", "test_desk_stars", "test_ledger_store"),
)
"""Tests of files, servers and killed programs: slow, and about no physics."""


def modules() -> list[str]:
    """Return the modules disturbed, as paths below src/sidelight."""
    return [f"{room}/{name}.py" for room, names in MODULES.items() for name in names]


def test_files() -> list[Path]:
    """Return the files of tests that are asked."""
    found = [path for folder in TEST_FOLDERS for path in sorted((ROOT / "tests" / folder).glob("test_*.py"))]
    rooms = [path for path in found if path.stem.split("_")[1] in TEST_ROOMS]
    return [path for path in rooms if not path.stem.startswith(NOT_ASKED)]


def is_own(module: str, test: str) -> bool:
    """Tell whether a test, by its id, is named after the module's room."""
    return f"/test_{module.split('/', maxsplit=1)[0]}" in test
