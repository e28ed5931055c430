"""What charts are drawn from agrees with the tables and the cycle model it was read off."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from catchpan.calls.carried.charts_part import CONTACT, charts_part
from catchpan.diagnosis.worlds.description import Description
from catchpan.physics.cycle.solve import operating_points
from catchpan.physics.cycle.unit import Departures, Weather
from catchpan.physics.moist_air import (
    humidity_ratio_from_wet_bulb,
    saturation_humidity_ratio,
    saturation_pressure_pa,
)
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.plant.refrigeration import Nameplate, unit_of
from tests.calls.one_home import OPTIONS, SYSTEM, small_family

Array = NDArray[np.float64]
KNOWN = Description(SYSTEM, OPTIONS, "cooling")
SEA_LEVEL_PA = 101325.0


@pytest.fixture(scope="module")
def charts() -> dict[str, Any]:
    found: dict[str, Any] = charts_part(small_family(KNOWN))["charts"]
    return found


def test_every_refrigerant_of_the_gauges_has_its_chart(charts: dict[str, Any]) -> None:
    panels = small_family(KNOWN).panels.values()
    assert {c.refrigerant for p in panels for c in p.charts} == charts["refrigerants"].keys()


def test_vapour_and_liquid_lie_between_the_nodes_where_the_tables_have_them(
    charts: dict[str, Any],
) -> None:
    rng = np.random.default_rng(7)
    for name, chart in charts["refrigerants"].items():
        table = refrigerant_table(name)
        logs = np.log(chart["pressure_pa"])
        pressure = np.exp(rng.uniform(logs[0], logs[-3], 200))
        sat = table.saturation(pressure)
        at = np.log(pressure)
        zero = float(table.saturation(np.asarray(chart["pressure_pa"][0])).liquid_enthalpy_j_kg)
        over, under = rng.uniform(0.0, 100.0, 200), rng.uniform(0.0, 40.0, 200)
        vapour = np.interp(at, logs, chart["vapour_kj_kg"]) + _between(
            chart["over_dew_k"], chart["over_dew_kj_kg"], logs, over, at
        )
        liquid = np.interp(at, logs, chart["liquid_kj_kg"]) - _between(
            chart["under_bubble_k"], chart["under_bubble_kj_kg"], logs, under, at
        )
        true_vapour = sat.vapour_enthalpy_j_kg + table.vapour_over_dew(pressure, over)[0] - zero
        true_liquid = sat.liquid_enthalpy_j_kg - table.liquid_under_bubble(pressure, under)[0]
        assert np.abs(vapour - true_vapour / 1e3).max() < 0.4, name
        assert np.abs(liquid - (true_liquid - zero) / 1e3).max() < 0.4, name
        assert np.abs(np.interp(at, logs, chart["dew_k"]) - sat.dew_k).max() < 0.15, name


def _between(
    nodes: list[float], rows: list[list[float]], logs: Array, degrees: Array, at: Array
) -> Array:
    by_node = np.stack([np.interp(at, logs, row) for row in rows])
    return np.array(
        [np.interp(d, nodes, by_node[:, i]) for i, d in enumerate(degrees)], dtype=np.float64
    )


def test_saturation_of_air_is_that_of_the_standard(charts: dict[str, Any]) -> None:
    air = charts["moist_air"]
    places = np.linspace(268.0, 322.0, 100)
    found = np.exp(np.interp(places, air["temperature_k"], np.log(air["saturation_pa"])))
    assert found == pytest.approx(saturation_pressure_pa(places), rel=0.004)


@pytest.mark.parametrize(
    "plate",
    [Nameplate(), Nameplate(is_valve=False), Nameplate(tons=2.0, seer=16.0)],
    ids=["valve", "orifice", "small"],
)
def test_air_leaves_the_coil_as_damp_as_the_model_says(plate: Nameplate) -> None:
    dry = np.array([295.0, 297.0, 299.8, 299.8, 299.8, 302.0])
    wet = np.array([289.0, 290.0, 292.6, 290.4, 287.5, 294.0])
    out = np.array([305.0, 300.0, 308.0, 308.0, 308.0, 312.0])
    entering = humidity_ratio_from_wet_bulb(dry, wet, SEA_LEVEL_PA)
    for departures in (
        Departures(charge=np.full(6, 1.0)),
        Departures(charge=np.full(6, 0.75)),
        Departures(indoor_air=np.full(6, 0.6)),
    ):
        found = operating_points(unit_of(plate), Weather(dry, wet, out), departures)
        surface = dry - (dry - found.indoor_leaving_k) / CONTACT
        full = saturation_humidity_ratio(surface, SEA_LEVEL_PA)
        left = entering - CONTACT * np.maximum(entering - full, 0.0)
        assert np.abs(left - found.indoor_leaving_humidity).max() < 4.0e-4
