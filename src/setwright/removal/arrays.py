"""The array types kernels take."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["Flags", "Floats", "Ints", "Longs"]

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int32]
Longs = NDArray[np.int64]
