"""Whether what was handed in is a number at all, asked where settings are made."""

import math
from numbers import Real
from typing import Any

__all__ = ["finite"]


def finite(value: Any) -> bool:
    """Tell a finite real number from infinity, NaN, text, True and everything else."""
    return isinstance(value, Real) and not isinstance(value, bool) and math.isfinite(value)
