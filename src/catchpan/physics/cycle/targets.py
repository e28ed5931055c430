"""Published targets for charging and air flow: what readings should be today, whatever the unit."""

import csv
from functools import cache
from importlib.resources import files
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from catchpan.units.span import FloatArray, within

LEAST_TARGET_K: Final = 5.0 / 1.8
"""Below this target superheat nobody charges by superheat (5 degF). Source: [cec-ra3.2] 2008."""

LEAST_OUTDOOR_K: Final = (55.0 + 459.67) / 1.8
"""The charge is not checked in colder weather (55 degF). Source: [cec-ra3.2] 2008."""

LEAST_RUN_S: Final = 900.0
"""Running time before readings count (15 min). Source: [cec-ra3.2] 2008."""

SPLIT: Final = (
    *(-6.509848526, -0.942072257, 0.009925115),
    *(1.944471104, -0.0208034037, -0.000114841),
)
SPLIT_DRY_K: Final = ((70.0 + 459.67) / 1.8, (84.0 + 459.67) / 1.8)
SPLIT_WET_K: Final = ((50.0 + 459.67) / 1.8, (76.0 + 459.67) / 1.8)
"""Polynomial of the split in degF (see `published_split_k`), and the air it is for [K]."""


def chart_superheat_k(outdoor_k: ArrayLike, return_wet_bulb_k: ArrayLike) -> FloatArray:
    """Return the target superheat of a fixed-orifice unit from the published chart.

    Parameters
    ----------
    outdoor_k : array_like
        Air entering the condenser [K], 55 to 115 degF.
    return_wet_bulb_k : array_like
        Air entering the evaporator [K], 50 to 76 degF.

    Returns
    -------
    FloatArray
        Superheat at the suction service valve [K]; not a number where the chart has a dash, or
        between a dash and a figure: do not charge by superheat there.

    Raises
    ------
    OutOfRange
        If the weather is off the chart.

    Examples
    --------
    >>> round(float(chart_superheat_k((95 + 459.67) / 1.8, (67 + 459.67) / 1.8) * 1.8), 1)
    12.0

    Source: [charging-chart], three makers' manuals within 1 degF; straight lines between cells.
    """
    out, wet, cells = chart()
    at_out = within("outdoor temperature", outdoor_k, out[0] - 1e-6, out[-1] + 1e-6, "K")
    at_wet = within("return wet bulb", return_wet_bulb_k, wet[0] - 1e-6, wet[-1] + 1e-6, "K")
    at_out, at_wet = np.broadcast_arrays(at_out, at_wet)
    i, u = _between(at_out, out)
    j, v = _between(at_wet, wet)
    found = np.zeros(at_out.shape)
    for di, wi in ((0, 1.0 - u), (1, u)):
        for dj, wj in ((0, 1.0 - v), (1, v)):
            weight = wi * wj
            found = found + np.where(weight > 1e-9, weight * cells[i + di, j + dj], 0.0)
    return np.asarray(found)


def rule_superheat_k(outdoor_k: ArrayLike, return_wet_bulb_k: ArrayLike) -> FloatArray:
    """Return the target superheat by the trade's rule, ``(3 WB - 80 - DB) / 2`` in degF.

    Use the chart where it reaches; the rule lies within 2 K of it up to 95 degF outdoors and
    72 degF wet bulb, and up to 4 K below it in hot, humid weather.

    Parameters
    ----------
    outdoor_k, return_wet_bulb_k : array_like
        Air entering condenser and evaporator [K], 250 to 330.

    Returns
    -------
    FloatArray
        Superheat [K]; below `LEAST_TARGET_K` do not charge by it.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Examples
    --------
    >>> round(float(rule_superheat_k((96 + 459.67) / 1.8, (64 + 459.67) / 1.8) * 1.8), 1)
    8.0

    Source: common practice, worked in trade articles.
    """
    out = within("outdoor temperature", outdoor_k, 250.0, 330.0, "K") * 1.8 - 459.67
    wet = within("return wet bulb", return_wet_bulb_k, 250.0, 330.0, "K") * 1.8 - 459.67
    return np.asarray((3.0 * wet - 80.0 - out) / 2.0 / 1.8)


def published_split_k(return_k: ArrayLike, return_wet_bulb_k: ArrayLike) -> FloatArray:
    """Return the drop of air temperature that goes with the right air flow and capacity.

    Parameters
    ----------
    return_k : array_like
        Return air [K], 70 to 84 degF.
    return_wet_bulb_k : array_like
        Its wet bulb [K], 50 to 76 degF.

    Returns
    -------
    FloatArray
        Return minus supply dry bulb [K].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Notes
    -----
    The polynomial runs 0.2 to 0.3 degF under the table's rows, 0.5 at worst.

    Examples
    --------
    >>> warm, wet = (80 + 459.67) / 1.8, (67 + 459.67) / 1.8
    >>> round(float(published_split_k(warm, wet) * 1.8), 1)
    17.9

    Source: [cec-ra3.2] table RA3.2-3 as a polynomial; from memory.
    """
    dry = within("return temperature", return_k, *SPLIT_DRY_K, "K") * 1.8 - 459.67
    wet = within("return wet bulb", return_wet_bulb_k, *SPLIT_WET_K, "K") * 1.8 - 459.67
    by_dry = SPLIT[1] * dry + SPLIT[2] * dry**2
    by_wet = SPLIT[3] * wet + SPLIT[4] * wet**2
    return np.asarray((SPLIT[0] + by_dry + by_wet + SPLIT[5] * dry * wet) / 1.8)


@cache
def chart() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return outdoor temperatures [K], wet bulbs [K] and superheats [K], dashes not a number."""
    text = files(__package__).joinpath("target_superheat_chart.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(line for line in text.splitlines() if not line.startswith("#")))
    body = np.array([[float(cell) if cell else np.nan for cell in row] for row in rows[1:]])
    wet = np.array([float(name) for name in rows[0][1:]])
    return (body[:, 0] + 459.67) / 1.8, (wet + 459.67) / 1.8, body[:, 1:] / 1.8


def _between(x: FloatArray, nodes: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
    """Return the node below each point and the share of the way to the next."""
    low = np.clip(np.searchsorted(nodes, x, side="right") - 1, 0, nodes.size - 2)
    return low, np.clip((x - nodes[low]) / (nodes[low + 1] - nodes[low]), 0.0, 1.0)
