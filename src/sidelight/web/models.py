"""The shapes of the answers, made from the reports themselves, so that OpenAPI cannot say anything else."""

import datetime as dt
import types
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import numpy as np
from fastapi.responses import JSONResponse
from pydantic import BaseModel, create_model

from sidelight.ground.plain import to_plain


@cache
def model_of(report: type[Any]) -> type[BaseModel]:
    """Return the pydantic model of a report's JSON: the same names, without the fields that JSON leaves out."""
    hints = get_type_hints(report)
    kept = {one.name: (_shape(hints[one.name]), ...) for one in fields(report) if one.metadata.get("json", True)}
    room = report.__module__.split(".")[-1].capitalize()
    made: type[BaseModel] = create_model(f"{room}{report.__name__}", __doc__=_first_line(report), **kept)  # type: ignore[call-overload]
    return made


def _first_line(report: type[Any]) -> str:
    """Return the first sentence of a report's description."""
    return (report.__doc__ or "").strip().split("\n")[0]


def _shape(hint: Any) -> Any:  # noqa: ANN401 - a type, of whatever kind
    """Return what JSON makes of a type."""
    origin, inner = get_origin(hint), get_args(hint)
    if is_dataclass(hint):
        return model_of(hint)  # type: ignore[arg-type]
    if origin in (Union, types.UnionType):
        return Union[tuple(_shape(one) for one in inner)]  # noqa: UP007 - made at run time
    if origin is tuple and len(inner) == 2 and inner[1] is Ellipsis:
        return list[_shape(inner[0])]  # type: ignore[misc]
    if origin is tuple:
        return tuple[tuple(_shape(one) for one in inner)]  # type: ignore[misc]
    if origin is dict:
        return dict[str, _shape(inner[1])]  # type: ignore[misc]
    if origin is list:
        return list[_shape(inner[0])]  # type: ignore[misc]
    if origin is np.ndarray:
        return list[Any]
    if hint is float:
        return float | None  # what is not finite becomes null
    return hint if hint in (str, int, bool, dt.date, dt.datetime, Path, type(None)) or origin is Literal else Any


class Plain(JSONResponse):
    """A report as JSON, by the same rules as the command line's."""

    def render(self, content: Any) -> bytes:  # noqa: ANN401 - any report
        """Return the JSON of a report."""
        return super().render(to_plain(content))
