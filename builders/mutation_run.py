"""Disturb the physics one spot at a time and see whether some test notices; writes docs/mutation.md.

    python builders/mutation_run.py [SPOTS_PER_MODULE] [SEED]

A spot is a plus turned into a minus, a product into a quotient, a lost sign, a constant off by one per cent, or two
arguments swapped. The tests named beside each module run on a copy of the source with that one change.
"""

import ast
import copy
import os
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SUBJECTS: dict[str, tuple[str, ...]] = {
    "ground/angles.py": ("*/test_ground*",),
    "ground/spans.py": ("*/test_ground*",),
    "rig/optics.py": ("reference/test_rig*", "property/test_rig*"),
    "rig/guider.py": ("reference/test_rig*", "property/test_rig*", "reference/test_setup_rings*"),
    "rig/shadow.py": ("reference/test_rig*", "property/test_rig*"),
    "rig/bench.py": ("reference/test_rig*", "property/test_rig*", "unit/test_rig*"),
    "rig/photometry.py": ("*/test_light*",),
    "setup/rings.py": ("*/test_setup_ring*",),
    "sky/refraction.py": ("reference/test_sky_published_air*", "property/test_sky_laws*"),
    "sky/airmass.py": ("reference/test_sky_published_air*",),
    "sky/sun.py": ("reference/test_sky_published*",),
    "sky/moon.py": ("reference/test_sky_published*",),
    "sky/altitude.py": ("reference/test_sky_published*", "property/test_sky_laws*"),
    "sky/flip.py": ("unit/test_sky*", "property/test_sky_laws*"),
    "sky/brightness.py": ("reference/test_sky_brightness*", "property/test_light*"),
    "light/exposure.py": ("*/test_light*",),
}
"""Each module and the tests, as patterns below tests/, that should notice when it is disturbed."""
EXPLAINED = {
    ("ground/angles.py", "+ 180.0 with Sub"): "the same angle: 180 more or less is a full turn apart",
    ("ground/spans.py", "intersect(a, b)"): "the same set: an intersection has no order",
    (
        "rig/guider.py",
        "60.0 off",
    ): "moves the pointing allowance by 0.005 arcminutes, under any tolerance held",
    (
        "rig/optics.py",
        "1.0 off",
    ): "stands in where the direction is behind the field and the answer is infinite anyway",
    ("rig/shadow.py", "1e-12 off"): "a guard against division by nothing",
    ("rig/shadow.py", "90.0 off"): "an end of a quadrant that the intersection cuts off anyway",
    ("rig/bench.py", "1.0 off"): "clips an arcsine's argument that rounding may carry past 1",
    ("setup/rings.py", "argsort"): "the order of arcs that start at the same place",
    ("sky/refraction.py", "1.0 off"): "where refraction below the horizon begins to fade, our own choice",
    (
        "setup/rings.py",
        "360.0 off",
    ): "the order in which arcs are listed; line 85, tried before, is held by a test since",
    ("sky/brightness.py", "0.3 off"): "the uncertainty of a darkness class, itself known to a tenth",
    ("sky/brightness.py", "18.2 off"): "the brightness of a darkness class, uncertain by half a magnitude",
    ("sky/sun.py", "8.794143 off"): "moves the Sun's altitude by 0.09 arcseconds, under the accuracy claimed",
    ("sky/moon.py", "0.25 off"): "the step between sampled places of the Moon, far finer than it need be",
}
"""Why a change that no test notices is one that none need notice: by module and a part of its description."""
SECONDS = 240
DEFAULTS = ("6", "1")


class _Sites(ast.NodeTransformer):
    """Walks a module, counts the spots, and changes the one that is wanted."""

    def __init__(self, wanted: int | None) -> None:
        self.wanted, self.count, self.what = wanted, 0, ""

    def _here(self, node: ast.AST, what: str) -> bool:
        hit = self.count == self.wanted
        self.count += 1
        if hit:
            self.what = f"line {getattr(node, 'lineno', 0)}: {what}"
        return hit

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        """Leave docstrings, annotations and defaults as they are."""
        node.body = [part if _is_docstring(part) else self.visit(part) for part in node.body]
        return node

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        """Leave annotations alone."""
        if node.value is not None:
            node.value = self.visit(node.value)
        return node

    def visit_Subscript(self, node: ast.Subscript) -> ast.AST:
        """Leave indices alone; they are not physics."""
        node.value = self.visit(node.value)
        return node

    def visit_BinOp(self, node: ast.BinOp) -> ast.AST:
        """Turn plus into minus and products into quotients, and the other way round."""
        self.generic_visit(node)
        turned = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}.get(type(node.op))
        if (turned and not isinstance(node.left, ast.Constant | ast.JoinedStr | ast.List | ast.Tuple)) or (
            turned and isinstance(node.left, ast.Constant) and not isinstance(node.left.value, str)
        ):
            text = ast.unparse(node)
            if self._here(node, f"{text[:60]} with {turned.__name__}"):
                node.op = turned()
        return node

    def visit_UnaryOp(self, node: ast.UnaryOp) -> ast.AST:
        """Lose a sign."""
        self.generic_visit(node)
        if isinstance(node.op, ast.USub) and self._here(node, f"{ast.unparse(node)[:60]} without its sign"):
            return node.operand
        return node

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        """Put a constant off by one per cent."""
        number = isinstance(node.value, float) and node.value not in (0.0,)
        if number and self._here(node, f"{node.value} off by 1 %"):
            return ast.copy_location(ast.Constant(node.value * 1.01), node)
        return node

    def visit_Call(self, node: ast.Call) -> ast.AST:
        """Swap the first two arguments."""
        self.generic_visit(node)
        names = (ast.Name, ast.Attribute)
        plain = len(node.args) >= 2 and all(isinstance(argument, names) for argument in node.args[:2])
        if plain and self._here(node, f"{ast.unparse(node)[:60]} with two arguments swapped"):
            node.args[0], node.args[1] = node.args[1], node.args[0]
        return node


def _is_docstring(part: ast.stmt) -> bool:
    return isinstance(part, ast.Expr) and isinstance(part.value, ast.Constant) and isinstance(part.value.value, str)


def spots(tree: ast.Module) -> int:
    """Return how many spots a module has."""
    walker = _Sites(None)
    walker.visit(copy.deepcopy(tree))
    return walker.count


def noticed(source: Path, tests: tuple[str, ...]) -> bool:
    """Run the tests against a copy of the source; tell whether one failed."""
    there = [str(path) for pattern in tests for path in sorted((ROOT / "tests").glob(pattern))]
    environment = {**os.environ, "PYTHONPATH": str(source), "HYPOTHESIS_MAX_EXAMPLES": "20"}
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *there]
    try:
        done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, timeout=SECONDS, check=False)
    except subprocess.TimeoutExpired:
        return True
    return done.returncode == 1


def main() -> None:
    """Try some spots of each module and write the page."""
    per_module, seed = (int(word) for word in [*sys.argv[1:], *DEFAULTS[len(sys.argv) - 1 :]])
    rows, survivors, tried, caught = [], [], 0, 0
    for name, tests in SUBJECTS.items():
        path = ROOT / "src" / "sidelight" / name
        if not path.exists():
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        count = spots(tree)
        chosen = sorted(random.Random(f"{seed} {name}").sample(range(count), min(per_module, count)))
        hits = 0
        for number in chosen:
            walker = _Sites(number)
            changed = ast.unparse(ast.fix_missing_locations(walker.visit(copy.deepcopy(tree))))
            with tempfile.TemporaryDirectory() as scratch:
                source = Path(scratch) / "src"
                shutil.copytree(ROOT / "src", source, ignore=shutil.ignore_patterns("*.bin", "__pycache__"))
                for data in (ROOT / "src/sidelight/stars/data").glob("*.bin"):
                    (source / "sidelight/stars/data" / data.name).symlink_to(data)
                (source / "sidelight" / name).write_text(changed, encoding="utf-8")
                found = noticed(source, tests)
            hits += found
            if not found:
                why = next((w for (m, part), w in EXPLAINED.items() if m == name and part in walker.what), None)
                survivors.append(f"- `{name}`, {walker.what}" + (f": {why}" if why else ": not explained yet"))
            print(name, walker.what, "noticed" if found else "SURVIVED", flush=True)
        tried, caught = tried + len(chosen), caught + hits
        rows.append(f"| `{name}` | {count} | {len(chosen)} | {hits} |")
    score = (
        "One spot of the physics is changed at a time (a sign, one per cent, swapped arguments); some test must "
        f"notice. Tried {tried} spots (seed {seed}), noticed {caught}: {caught / max(1, tried):.0%}."
    )
    made = "<!-- Made by builders/mutation_run.py; run it, do not edit this page. -->"
    head = [made, "", "# Disturbed on purpose", "", score, "", "| module | spots | tried | noticed |"]
    head.append("| --- | --: | --: | --: |")
    tail = ["", "## Not noticed", "", *(survivors or ["None."]), ""]
    (ROOT / "docs" / "mutation.md").write_text("\n".join([*head, *rows, *tail]), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
