"""Type names shared by all rooms."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
Floats = ArrayLike
"""What a broadcasting function accepts: a number or anything NumPy makes an array of."""

Plain = dict[str, Any] | list[Any] | str | int | float | bool | None
"""What JSON can hold."""
