"""House rules that a program can check: length, docstrings, units in names, tests that can fail."""

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "sidelight"
LONGEST_FUNCTION = 60
LONGEST_MODULE = 450
PHYSICS_ROOMS = ("sky", "rig", "stars", "targets", "season", "setup", "light", "campaign")
UNITS = (
    "_deg _rad _arcmin _arcsec _mas _mm _um _nm _m _km _au _mjd _utc _days _nights _h _hours _min _s _px _mag "
    "_mag_arcsec2 _e _adu _hz _per_s _per_h _percent _fraction _ratio _share _years _year _hpa _c _nl _k "
    "_mag_per_airmass _deg_per_mm _mm_per_deg _arcsec_per_px _mas_per_year _e_per_adu _e_per_px_s _deg2 _jy _snr "
    "_probability _weight _mbit _mb _count"
).split()
NO_UNIT = (
    "airmass magnification ratio number seed share weight focal_ratio reducer fraction probability snr quantile "
    "factor odds priority count gain worth bound gap year persistence_error signal_to_noise efficiency phase value "
    "values odds_wanted confidence mjd mag share_of_angles"
).split()


def functions(folder: Path) -> Iterator[tuple[Path, ast.FunctionDef | ast.AsyncFunctionDef]]:
    """Yield each function of each file below a folder."""
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield path, node


def body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Return a function's lines without its signature and docstring."""
    body = node.body[1:] if ast.get_docstring(node) else node.body
    return (node.end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_functions_and_modules_stay_short() -> None:
    """No function body is longer than 60 lines, no module longer than 450."""
    long = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name}: {body_lines(node)} lines"
        for path, node in functions(SOURCE)
        if body_lines(node) > LONGEST_FUNCTION
    ]
    for path in SOURCE.rglob("*.py"):
        lines = len(path.read_text(encoding="utf-8").splitlines())
        if lines > LONGEST_MODULE:
            long.append(f"{path.relative_to(ROOT)}: {lines} lines")
    assert not long, "\n".join(long)


def test_public_float_parameters_carry_their_unit() -> None:
    """In the physics rooms each public float parameter or field ends in its unit or is a known pure number."""
    bare = []
    for room in PHYSICS_ROOMS:
        for path in sorted((SOURCE / room).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                pairs: list[tuple[str, ast.expr | None, int]] = []
                if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                    every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
                    pairs = [(arg.arg, arg.annotation, arg.lineno) for arg in every]
                elif isinstance(node, ast.ClassDef):
                    pairs = [
                        (item.target.id, item.annotation, item.lineno)
                        for item in node.body
                        if isinstance(item, ast.AnnAssign) and isinstance(item.target, ast.Name)
                    ]
                for name, annotation, line in pairs:
                    if annotation is None or ast.unparse(annotation) not in ("float", "float | None", "Floats"):
                        continue
                    if name.startswith("_") or name in NO_UNIT or name.endswith(tuple(UNITS)):
                        continue
                    if name.endswith(("_factor", "_odds", "_weight", "_efficiency")):
                        continue
                    bare.append(f"{path.relative_to(ROOT)}:{line} {name}")
    assert not bare, "\n".join(bare)


def test_every_test_says_what_must_hold() -> None:
    """Each test function has a docstring."""
    silent = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name}"
        for path, node in functions(ROOT / "tests")
        if node.name.startswith("test_") and not ast.get_docstring(node)
    ]
    assert not silent, "\n".join(silent)


def test_no_comparison_is_thrown_away() -> None:
    """No test computes allclose, isclose, array_equal or approx and drops the answer."""
    dropped = []
    for path in sorted((ROOT / "tests").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call | ast.Compare):
                text = ast.unparse(node.value)
                called = text.split("(")[0].split(".")[-1]
                if called in ("allclose", "isclose", "array_equal", "approx") or isinstance(node.value, ast.Compare):
                    dropped.append(f"{path.relative_to(ROOT)}:{node.lineno} {text[:60]}")
    assert not dropped, "\n".join(dropped)
