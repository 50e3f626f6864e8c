"""Putting a disturbed module in the place of one that is already imported, without importing anything again."""

import ast
import functools
import sys
import types
from collections.abc import Iterator
from pathlib import Path
from typing import Any

PLAIN = int | float | str | tuple | None
"""Kinds of default values that can be handed on."""


def put_in_place(name: str, tree: ast.Module, constants: bool) -> None:
    """Give an imported module's functions the code of the disturbed tree, and its names the values if asked to."""
    old = sys.modules[name]
    changed = dict(_functions(_executed(old, tree, {}), name))
    for path, function in _functions(vars(old), name):
        if path in changed:
            function.__code__ = changed[path].__code__
            if function.__defaults__ and all(isinstance(value, PLAIN) for value in changed[path].__defaults__ or ()):
                function.__defaults__ = changed[path].__defaults__
    if constants:
        _hand_on(old, tree)


def _executed(old: types.ModuleType, tree: ast.Module, names: dict[str, Any]) -> dict[str, Any]:
    """Return the names that a module's text makes, beside those given."""
    names = {"__name__": old.__name__, "__file__": old.__file__, "__builtins__": __builtins__, **names}
    exec(compile(tree, str(old.__file__), "exec"), names)
    return names


def _hand_on(old: types.ModuleType, tree: ast.Module) -> None:
    """Set a module's values anew, wherever they were imported, and all that other modules made of them."""
    classes = {key: value for key, value in vars(old).items() if isinstance(value, type)}
    body = [part for part in tree.body if not (isinstance(part, ast.ClassDef) and part.name in classes)]
    users: set[str] = set()
    for key, value in _executed(old, ast.Module(body, []), classes).items():
        before = vars(old).get(key)
        if key.startswith("__") or not _is_value(value) or type(before) is not type(value) or before is value:
            continue
        users |= _replace(key, before, value)
    for name in sorted(users - {old.__name__}):
        user = sys.modules[name]
        if name.startswith("sidelight.") and user.__file__:
            put_in_place(name, ast.parse(Path(user.__file__).read_text(encoding="utf-8")), constants=True)


def _functions(names: dict[str, Any], module: str, path: str = "") -> Iterator[tuple[str, types.FunctionType]]:
    """Yield the functions defined in a module or class, with the way to them."""
    for key, value in list(names.items()):
        if isinstance(value, type) and value.__module__ == module and not path:
            yield from _functions(dict(vars(value)), module, f"{key}.")
            continue
        function = _unwrapped(value)
        if isinstance(function, types.FunctionType) and function.__module__ == module:
            yield path + key, function


def _unwrapped(value: object) -> object:
    """Return the function inside a property, a class method or a decorated function."""
    if isinstance(value, property):
        value = value.fget
    elif isinstance(value, functools.cached_property):
        value = value.func
    value = getattr(value, "__func__", value)
    while hasattr(value, "__wrapped__"):
        value = value.__wrapped__
    return value


def _is_value(value: object) -> bool:
    kinds = type | types.ModuleType | types.FunctionType | types.BuiltinFunctionType
    return not isinstance(value, kinds) and not hasattr(value, "__wrapped__") and type(value) is not object


def _replace(key: str, before: object, after: object) -> set[str]:
    """Set a name wherever it was imported from its module; return the modules that use it."""
    users = set()
    for name, module in list(sys.modules.items()):
        names = getattr(module, "__dict__", None)
        ours = names is not None and name.startswith(("sidelight", "tests", "test_"))
        if ours and key in names and names[key] is before:
            names[key] = after
            users.add(name)
    return users
