"""The part of a compiled call that holds the panels: what is read together on a running circuit.

A state's readings are kept in single precision, as the family holds them, so that both reckon with
the same numbers. Groups, nodes and charts are small and exact.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from catchpan.diagnosis.inference.questioned import CONDENSING_OVER_AIR_K, OTHER_CHART, RULES
from catchpan.diagnosis.worlds.panel import RUNNING, STANDING, unit_covariance
from catchpan.diagnosis.worlds.panel_quantity import PARTS, QUANTITIES, VARIABLES, WEATHER

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.family import Family
    from catchpan.diagnosis.worlds.panel import Panel

Arrays = dict[str, "NDArray[Any]"]


def panels_part(family: Family) -> tuple[dict[str, Any], Arrays]:
    """Return header and arrays of the panels, of the quantities and of what may be asked back."""
    arrays: Arrays = {}
    for k, panel in enumerate(family.panels.values()):
        arrays |= {f"panel.{k}.{name}": array for name, array in _arrays(panel).items()}
    header = {
        "variables": list(VARIABLES),
        "weather": list(WEATHER),
        "quantities": {
            name: {
                "on": one.rows()[0].tolist(),
                "air": one.rows()[1].tolist(),
                "span": one.span,
                "chart": one.chart,
                "parts": list(PARTS.get(name, ())),
            }
            for name, one in QUANTITIES.items()
        },
        "unit_covariance": [unit_covariance(kind).tolist() for kind in (RUNNING, STANDING)],
        "panels": [
            {
                "demand": panel.demand,
                "refrigerants": [chart.refrigerant for chart in panel.charts],
                "states": len(panel.kind),
            }
            for panel in family.panels.values()
        ],
    }
    questions = {
        "rules": [asdict(rule) for rule in RULES],
        "other_chart": OTHER_CHART,
        "condensing_over_air_k": list(CONDENSING_OVER_AIR_K),
    }
    return {"circuit": header, "questions": questions}, arrays


def _arrays(panel: Panel) -> Arrays:
    """Return a panel's arrays; the group of the world outside the library is one past the last."""
    outside = len(panel.group_start)
    found: Arrays = {f"axis.{k}": axis for k, axis in enumerate(panel.axes)}
    found |= {
        f"chart.{k}": np.stack([chart.pressure_pa, chart.dew_k, chart.bubble_k])
        for k, chart in enumerate(panel.charts)
    }
    return found | {
        "usual": np.stack([panel.usual.mean_k, panel.usual.sd_k]),
        "means": panel.means,
        "kind": panel.kind.astype(np.uint8),
        "chart": panel.chart.astype(np.uint8),
        "beside": panel.beside.astype(np.uint16),
        "node_state": panel.node_state.astype(np.uint16),
        "node_weight": panel.node_weight,
        "group_start": panel.group_start.astype(np.uint16),
        "group_of": np.where(panel.group_of < 0, outside, panel.group_of).astype(np.uint16),
    }
