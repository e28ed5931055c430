"""A panel as plain arrays and back, for the keeping of compiled families."""

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from catchpan.diagnosis.worlds.panel import Panel, Weather
from catchpan.diagnosis.worlds.panel_quantity import SaturationChart

Arrays = Mapping[str, NDArray[Any]]

_PLAIN: Final = (
    "means",
    "kind",
    "chart",
    "beside",
    "node_state",
    "node_weight",
    "group_start",
    "group_of",
)


def panel_arrays(panel: Panel, prefix: str) -> dict[str, NDArray[Any]]:
    """Return the panel's arrays, each under the prefix and its name."""
    found = {name: getattr(panel, name) for name in _PLAIN}
    found |= {f"axis {k}": axis for k, axis in enumerate(panel.axes)}
    found |= {"weather mean": panel.usual.mean_k, "weather sd": panel.usual.sd_k}
    for k, chart in enumerate(panel.charts):
        found[f"chart {k}"] = np.stack([chart.pressure_pa, chart.dew_k, chart.bubble_k])
    return {prefix + name: array for name, array in found.items()}


def panel_text(panel: Panel) -> dict[str, Any]:
    """Return what of a panel is not an array."""
    return {"demand": panel.demand, "refrigerants": [c.refrigerant for c in panel.charts]}


def panel_from(arrays: Arrays, text: Mapping[str, Any]) -> Panel:
    """Return the panel that ``panel_arrays`` and ``panel_text`` took apart; raises KeyError."""
    prefix = f"panel {text['demand']} "
    charts = [
        SaturationChart(name, *arrays[f"{prefix}chart {k}"])
        for k, name in enumerate(text["refrigerants"])
    ]
    axes = (arrays[prefix + "axis 0"], arrays[prefix + "axis 1"], arrays[prefix + "axis 2"])
    usual = Weather(arrays[prefix + "weather mean"], arrays[prefix + "weather sd"])
    plain = {name: arrays[prefix + name] for name in _PLAIN}
    return Panel(demand=text["demand"], axes=axes, charts=tuple(charts), usual=usual, **plain)
