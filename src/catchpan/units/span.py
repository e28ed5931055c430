"""Spans: numbers are checked against the range in which a formula holds."""

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from catchpan.units.errors import OutOfRange

FloatArray: TypeAlias = NDArray[np.float64]


def within(what: str, value: ArrayLike, low: float, high: float, unit: str) -> FloatArray:
    """Return the value as an array of floats, once every element lies in the span.

    Parameters
    ----------
    what : str
        The quantity, in words, for the error.
    value : array_like [unit]
        One number or an array of any shape.
    low, high : float [unit]
        The closed span; may be infinite.
    unit : str
        The unit of all the numbers, for the error.

    Returns
    -------
    numpy.ndarray [unit]
        The value as float64, same shape (shape ``()`` for one number).

    Raises
    ------
    OutOfRange
        With the first element that lies outside, or is not a number.

    Examples
    --------
    >>> float(within("slope", 0.01, 0.0, 1.0, "m/m"))
    0.01
    """
    array = np.asarray(value, dtype=np.float64)
    if array.ndim == 0 and low <= array.item() <= high:
        return array
    good = (array >= low) & (array <= high)
    if not good.all():
        raise OutOfRange(what, float(array[~good].flat[0]), low, high, unit)
    return array
