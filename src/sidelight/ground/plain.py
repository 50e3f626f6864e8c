"""Frozen reports as plain values for JSON: field names are kept, and they carry the units."""

import datetime as dt
import math
from dataclasses import fields, is_dataclass
from enum import Enum
from pathlib import PurePath
from typing import Any

import numpy as np

from sidelight.ground.types import Plain


def to_plain(value: Any) -> Plain:  # noqa: ANN401 - any report, that is the point
    """Return dicts, lists, text and numbers only; a number that is not finite becomes None.

    Dates become "2027-03-06"; instants become "2027-03-06T21:15:04Z", and must carry UTC or another zone.
    A dataclass field whose metadata says ``{"json": False}`` is left out.
    """
    if value is None or isinstance(value, bool | str | int):
        return value
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, np.ndarray):
        return [to_plain(item) for item in value.tolist()]
    if isinstance(value, np.generic):
        return to_plain(value.item())
    if isinstance(value, dt.datetime):
        return value.astimezone(dt.UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, Enum):
        return to_plain(value.value)
    if isinstance(value, PurePath):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: to_plain(getattr(value, field.name))
            for field in fields(value)
            if field.metadata.get("json", True)
        }
    if isinstance(value, dict):
        return {str(key): to_plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [to_plain(item) for item in value]
    raise TypeError(f"{type(value).__name__} has no plain form.")
