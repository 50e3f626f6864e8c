"""Where a module's physics can be disturbed, and the module with one spot disturbed."""

import ast
import copy
import hashlib
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

TURNED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Lt: ast.Gt,
    ast.Gt: ast.Lt,
    ast.LtE: ast.GtE,
    ast.GtE: ast.LtE,
}
SIGNS: dict[type[ast.AST], str] = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
    ast.Lt: "<",
    ast.Gt: ">",
    ast.LtE: "<=",
    ast.GtE: ">=",
}
OPPOSITES = {"min": "max", "minimum": "maximum", "argmin": "argmax", "fmin": "fmax", "amin": "amax"}
OPPOSITES |= {high: low for low, high in OPPOSITES.items()}
PHYSICAL_INTEGERS = {12, 15, 24, 60, 90, 180, 206265, 360, 3600, 86400, 1440}
NO_ORDER = {
    *("min", "max", "minimum", "maximum", "hypot", "intersect", "union", "add", "multiply", "logical_and"),
    *("logical_or", "zip", "isinstance", "angle_between_deg", "isclose", "lcm", "gcd"),
}
"""Calls whose first two arguments may change places without changing the answer."""
PARTS_OF_A_DATE = {"MJD_ZERO"}
"""ERFA adds the two parts of a date, whichever comes first."""
REFUSALS = {"BadInput", "Problem", "SkySaysNo", "OurFault"}
GUARD = 1e-6
"""Up to this a number that is no factor only guards against rounding."""
LONGEST = 90


@dataclass(frozen=True)
class Spot:
    """One change: the module below src/sidelight, the function (empty: the module itself), what is changed."""

    module: str
    function: str
    text: str
    line: int
    number: int
    digest: str

    @property
    def key(self) -> str:
        """A name that stays when lines move."""
        return f"{self.module} | {self.function} | {self.text}"


@dataclass(frozen=True)
class _Found:
    function: str
    text: str
    line: int
    change: Callable[[], None]


class _Walker:
    """Walks a module and lists what could be changed; each change works on the tree that was walked."""

    def __init__(self) -> None:
        self.found: list[_Found] = []
        self.function: list[str] = []

    def walk(self, node: ast.AST, parents: tuple[ast.AST, ...]) -> None:
        """List the spots of a node and of all below it."""
        if _left_out(node, parents) or (isinstance(node, ast.keyword) and node.arg == "axis"):
            return
        if isinstance(node, ast.BinOp):
            self._operator(node)
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            self._sign(node, parents[-1])
        elif isinstance(node, ast.Constant):
            self._constant(node, parents)
        elif isinstance(node, ast.Compare) and type(node.ops[0]) in TURNED:
            self._comparison(node)
        elif isinstance(node, ast.Call):
            self._call(node)
        named = isinstance(node, ast.FunctionDef | ast.ClassDef)
        if named:
            self.function.append(node.name)
        for child in _children(node):
            self.walk(child, (*parents, node))
        if named:
            self.function.pop()

    def _add(self, node: ast.AST, text: str, change: Callable[[], None]) -> None:
        self.found.append(_Found(".".join(self.function), text, getattr(node, "lineno", 0), change))

    def _operator(self, node: ast.BinOp) -> None:
        turned = TURNED.get(type(node.op))
        texts = ast.JoinedStr | ast.List | ast.Tuple | ast.ListComp
        sides = (node.left, node.right)
        words = any(isinstance(s, texts) or (isinstance(s, ast.Constant) and isinstance(s.value, str)) for s in sides)
        if turned and not words:
            text = f"`{_short(node)}` with {SIGNS[turned]} for {SIGNS[type(node.op)]}"
            self._add(node, text, lambda: setattr(node, "op", turned()))

    def _sign(self, node: ast.UnaryOp, parent: ast.AST) -> None:
        text = f"`{_short(node)}` without its sign in `{_short(parent)}`"
        self._add(node, text, lambda: setattr(node, "op", ast.UAdd()))

    def _constant(self, node: ast.Constant, parents: tuple[ast.AST, ...]) -> None:
        value = node.value
        if isinstance(value, float) and value:
            factor = isinstance(parents[-1], ast.BinOp) and isinstance(parents[-1].op, ast.Mult | ast.Div)
            worth = (abs(value) > GUARD or factor) and not _holds_within_range(value, parents)
        elif isinstance(value, int) and not isinstance(value, bool):
            worth = _in_a_formula(value, parents[-1])
        else:
            worth = False
        if worth:
            text = f"{value:g} by 1 % in `{_short(_expression(parents))}`"
            self._add(node, text, lambda: setattr(node, "value", value * 1.01))

    def _comparison(self, node: ast.Compare) -> None:
        turned = TURNED[type(node.ops[0])]
        text = f"`{_short(node)}` with {SIGNS[turned]} for {SIGNS[type(node.ops[0])]}"
        self._add(node, text, lambda: node.ops.__setitem__(0, turned()))

    def _call(self, node: ast.Call) -> None:
        name = _called(node)
        if name in OPPOSITES:
            field = "id" if isinstance(node.func, ast.Name) else "attr"
            text = f"`{_short(node)}` with {OPPOSITES[name]} for {name}"
            self._add(node, text, lambda: setattr(node.func, field, OPPOSITES[name]))
        if name in NO_ORDER:
            return
        for place, (one, other) in enumerate(zip(node.args, node.args[1:], strict=False)):
            plain = all(isinstance(part, ast.Name | ast.Attribute) for part in (one, other))
            texts = {ast.unparse(one), ast.unparse(other)}
            if plain and len(texts) > 1 and not texts & PARTS_OF_A_DATE:
                text = f"`{_short(node)}` with {ast.unparse(one)} and {ast.unparse(other)} swapped"
                self._add(node, text, lambda place=place: _swap(node.args, place))


def _swap(arguments: list[ast.expr], place: int) -> None:
    arguments[place], arguments[place + 1] = arguments[place + 1], arguments[place]


def _short(node: ast.AST) -> str:
    text = " ".join(ast.unparse(node).split())
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"


def _called(node: ast.AST) -> str:
    if not isinstance(node, ast.Call):
        return ""
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


def _expression(parents: tuple[ast.AST, ...]) -> ast.AST:
    """Return the expression around a constant that is long enough to recognise it by."""
    near = parents[-1]
    for near in reversed(parents):
        if not isinstance(near, ast.UnaryOp | ast.keyword):
            break
    return near


def _left_out(node: ast.AST, parents: tuple[ast.AST, ...]) -> bool:
    """Tell whether a node is no physics: refusals, bounds with their words, texts, fields with their defaults."""
    if isinstance(node, ast.Raise | ast.JoinedStr | ast.Import | ast.ImportFrom | ast.Assert):
        return True
    if isinstance(node, ast.FunctionDef) and node.name.lstrip("_").startswith("check"):
        return True
    if isinstance(node, ast.Tuple) and any(
        isinstance(part, ast.Constant | ast.JoinedStr) and isinstance(getattr(part, "value", ""), str)
        for part in node.elts
    ):
        return True
    if isinstance(node, ast.Call) and _called(node) in REFUSALS:
        return True
    return isinstance(node, ast.AnnAssign | ast.Assign) and bool(parents) and isinstance(parents[-1], ast.ClassDef)


def _children(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what lies below a node, without annotations, defaults, decorators, indices and names of types."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        yield from node.body
    elif isinstance(node, ast.AnnAssign):
        yield from [node.value] if node.value is not None else []
    elif isinstance(node, ast.Subscript):
        yield node.value
    elif isinstance(node, ast.Lambda):
        yield node.body
    else:
        yield from ast.iter_child_nodes(node)


def _in_a_formula(value: int, parent: ast.AST) -> bool:
    """Tell whether an integer belongs to a formula: a factor or power, or one of the numbers of clock and circle."""
    if not isinstance(parent, ast.BinOp) or abs(value) < 2:
        return False
    return isinstance(parent.op, ast.Mult | ast.Div | ast.Pow) or value in PHYSICAL_INTEGERS


def _holds_within_range(value: float, parents: tuple[ast.AST, ...]) -> bool:
    """Tell whether a number only holds a sine within ±1, an altitude within ±90: an end of clip(…, -1, 1)."""
    near = next((part for part in reversed(parents) if not isinstance(part, ast.UnaryOp)), None)
    return near is not None and abs(value) in (1.0, 90.0) and _called(near) == "clip"


def _walked(tree: ast.Module) -> list[_Found]:
    walker = _Walker()
    walker.walk(tree, ())
    return walker.found


def spots(module: str, source: str) -> list[Spot]:
    """Return the spots of a module, given its path below src/sidelight and its text."""
    tree = ast.parse(source)
    seen: Counter[tuple[str, str]] = Counter()
    listed = []
    digests = _digests(tree)
    for number, found in enumerate(_walked(tree)):
        again = seen[found.function, found.text]
        seen[found.function, found.text] += 1
        text = f"{found.text} (no. {again + 1})" if again else found.text
        digest = digests.get(found.function.split(".")[0], digests[""])
        listed.append(Spot(module, found.function, text, found.line, number, digest))
    return listed


def _digests(tree: ast.Module) -> dict[str, str]:
    """Return a fingerprint of each function and class of a module, and of all else under the empty name."""
    named = {part.name: part for part in tree.body if isinstance(part, ast.FunctionDef | ast.ClassDef)}
    rest = ast.Module([part for part in tree.body if part not in named.values()], [])
    parts: dict[str, ast.AST] = {**named, "": rest}
    return {name: hashlib.sha256(ast.unparse(part).encode()).hexdigest()[:12] for name, part in parts.items()}


def disturbed(source: str, number: int) -> ast.Module:
    """Return the syntax tree of a module with one spot changed."""
    tree = copy.deepcopy(ast.parse(source))
    _walked(tree)[number].change()
    return ast.fix_missing_locations(tree)
