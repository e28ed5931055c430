"""The charts of gauges: of the nameplate's refrigerant, and of what gets in by mistake."""

from functools import lru_cache
from typing import Final

import numpy as np

from catchpan.diagnosis.worlds.panel_quantity import SaturationChart
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.plant.refrigeration import Nameplate

CHART_NODES: Final = 160

OTHER_REFRIGERANT: Final = {"R-410A": "R-22"}
"""What gets into a system by mistake; into any but these it is R-410A (assumed)."""


def charts_of(plate: Nameplate) -> tuple[SaturationChart, SaturationChart]:
    """Return the chart of the plate's refrigerant, and that of the one that gets in by mistake."""
    name = plate.refrigerant
    return _chart(name), _chart(OTHER_REFRIGERANT.get(name, "R-410A"))


@lru_cache(maxsize=8)
def _chart(name: str) -> SaturationChart:
    table = refrigerant_table(name)
    pressure = np.geomspace(
        table.lowest_pressure_pa * 1.001, table.highest_pressure_pa * 0.999, CHART_NODES
    )
    saturation = table.saturation(pressure)
    return SaturationChart(table.fluid.name, pressure, saturation.dew_k, saturation.bubble_k)
