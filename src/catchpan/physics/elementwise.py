"""The same formulas on whole arrays, or on one plain float.

An array of one element costs as much to add up as one of a thousand, some twenty times a plain
float. Formulas written with these functions take either: where a signature here or in
`catchpan.physics.cycle` and `catchpan.physics.refrigerant` says ``FloatArray`` and its formula is
written so, plain floats may stand for every array of a call. Nothing else changes; a float that has
no logarithm or divides by nothing raises an error where an array would hold an infinity.
"""

import math
from typing import Any

import numpy as np


def exp(x: Any) -> Any:
    """Return e to the power of x."""
    return math.exp(x) if type(x) is float else np.exp(x)


def expm1(x: Any) -> Any:
    """Return e to the power of x, less one."""
    return math.expm1(x) if type(x) is float else np.expm1(x)


def log(x: Any) -> Any:
    """Return the natural logarithm."""
    return math.log(x) if type(x) is float else np.log(x)


def log1p(x: Any) -> Any:
    """Return the natural logarithm of one more than x."""
    return math.log1p(x) if type(x) is float else np.log1p(x)


def sqrt(x: Any) -> Any:
    """Return the square root."""
    return math.sqrt(x) if type(x) is float else np.sqrt(x)


def floor(x: Any) -> Any:
    """Return the largest whole number not above x."""
    return float(math.floor(x)) if type(x) is float else np.floor(x)


def isnan(x: Any) -> Any:
    """Say where x is not a number."""
    return math.isnan(x) if type(x) is float else np.isnan(x)


def maximum(one: Any, other: Any) -> Any:
    """Return the larger."""
    if type(one) is float and type(other) is float:
        return max(other, one)
    return np.maximum(one, other)


def minimum(one: Any, other: Any) -> Any:
    """Return the smaller."""
    if type(one) is float and type(other) is float:
        return min(other, one)
    return np.minimum(one, other)


def clip(x: Any, low: Any, high: Any) -> Any:
    """Return x, held between two ends."""
    if type(x) is float and type(low) is float and type(high) is float:
        return low if x < low else min(x, high)
    return np.clip(x, low, high)


def where(condition: Any, one: Any, other: Any) -> Any:
    """Return one where the condition holds, else the other."""
    if type(condition) is bool:
        return one if condition else other
    return np.where(condition, one, other)


def stacked(parts: Any) -> Any:
    """Return several quantities as rows of one array; of plain floats, a list."""
    return list(parts) if type(parts[0]) is float else np.stack(parts)


def is_plain(x: Any) -> bool:
    """Say whether x is a plain float."""
    return type(x) is float


def anywhere(x: Any) -> bool:
    """Say whether any of x is not zero."""
    return bool(x) if type(x) is float else bool(np.any(x))
