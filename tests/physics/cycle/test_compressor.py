"""The compressor map, as published and as carried over."""

from dataclasses import replace

import numpy as np
import pytest

from catchpan.physics.cycle.compressor import (
    MAP_R134A,
    MAP_R410A,
    MAP_SUPERHEAT_K,
    Compression,
    Compressor,
    compress,
    compressor_for,
)
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.physics.refrigerant.table import RefrigerantTable

POUND_HOUR = 0.45359237 / 3600.0


def kelvin(degf: float) -> float:
    return (degf + 459.67) / 1.8


def run(
    table: RefrigerantTable,
    compressor: Compressor,
    suction_k: float,
    discharge_k: float,
    *,
    superheat_k: float = MAP_SUPERHEAT_K,
    delivered: float = 1.0,
) -> Compression:
    low = table.dew_pressure_pa(np.array([suction_k]))
    high = table.dew_pressure_pa(np.array([discharge_k]))
    at_low, at_high = table.saturation(low), table.saturation(high)
    over = table.vapour_over_dew(low, np.array([superheat_k]))[0]
    suction = (low, at_low, at_low.vapour_enthalpy_j_kg + over)
    return compress(compressor, table, suction, (high, at_high), np.array([delivered]))


R410A_POINTS = [
    (45, 100, 479.0, 2027, 69.7),
    (45, 115, 471.3, 2490, 82.8),
    (45, 130, 459.4, 3075, 98.2),
    (40, 120, 424.6, 2691, 90.9),
    (50, 115, 516.7, 2476, 80.4),
    (35, 110, 391.4, 2359, 84.0),
    (30, 100, 359.9, 2071, 77.3),
]


@pytest.mark.published("ahri-540", "R-410A coefficients of [achp], evaluated at seven points")
@pytest.mark.parametrize(("s", "d", "pounds", "watts", "hot_c"), R410A_POINTS)
def test_r410a_map_points(s: float, d: float, pounds: float, watts: float, hot_c: float) -> None:
    assert MAP_R410A.mass_flow_kg_s(kelvin(s), kelvin(d)) / POUND_HOUR == pytest.approx(
        pounds, abs=0.1
    )
    assert MAP_R410A.power_w(kelvin(s), kelvin(d)) == pytest.approx(watts, abs=1.0)
    table = refrigerant_table("R-410A")
    done = run(table, replace(compressor_for(table), heat_loss_share=0.0), kelvin(s), kelvin(d))
    assert done.flow_kg_s[0] / POUND_HOUR == pytest.approx(pounds, rel=1e-3)
    assert done.power_w[0] == pytest.approx(watts, rel=1e-3)
    high = table.dew_pressure_pa(np.array([kelvin(d)]))
    over = done.discharge_j_kg - table.saturation(high).vapour_enthalpy_j_kg
    assert kelvin(d) + table.superheat(high, over)[0] - 273.15 == pytest.approx(hot_c, abs=0.15)


@pytest.mark.published("ahri-540", "R-134a coefficients of [achp], evaluated at two points")
@pytest.mark.parametrize(("d", "pounds", "watts"), [(130, 526.3, 3099), (115, 528.2, 2644)])
def test_r134a_map_points(d: float, pounds: float, watts: float) -> None:
    assert MAP_R134A.mass_flow_kg_s(kelvin(45), kelvin(d)) / POUND_HOUR == pytest.approx(
        pounds, abs=0.1
    )
    assert MAP_R134A.power_w(kelvin(45), kelvin(d)) == pytest.approx(watts, abs=1.0)
    table = refrigerant_table("R-134a")
    assert run(table, compressor_for(table), kelvin(45), kelvin(d)).power_w[0] == pytest.approx(
        watts, rel=2e-3
    )


@pytest.mark.parametrize("name", ["R-22", "R-32", "R-454B"])
def test_a_carried_over_compressor_keeps_its_efficiency(name: str) -> None:
    ours, of_map = refrigerant_table(name), refrigerant_table("R-410A")
    there, here = compressor_for(of_map), compressor_for(ours, of_map)
    at = (np.array([280.0]), np.array([318.0]))
    flow, volume, efficiency = here.sheet.at(*at)
    map_flow, map_volume, map_efficiency = there.sheet.at(*at)
    assert flow * volume == pytest.approx(map_flow * map_volume, rel=1e-3)
    assert efficiency == pytest.approx(map_efficiency, rel=1e-3)


def test_outside_the_map_flow_and_efficiency_stay_sensible() -> None:
    sheet = compressor_for(refrigerant_table("R-410A")).sheet
    assert (sheet.values > 0.0).all()
    assert sheet.values[:, :, 2].max() < 0.8
    falling = sheet.at(np.linspace(215.0, 290.0, 60), np.array(310.0))[0]
    assert (np.diff(falling) > 0.0).all()


def test_hotter_suction_gas_is_thinner_and_less_of_it_is_moved() -> None:
    table = refrigerant_table("R-410A")
    compressor = compressor_for(table)
    cold = run(table, compressor, 280.0, 318.0, superheat_k=3.0)
    hot = run(table, compressor, 280.0, 318.0, superheat_k=25.0)
    assert hot.flow_kg_s < cold.flow_kg_s
    assert hot.discharge_j_kg > cold.discharge_j_kg


def test_leaking_valves_deliver_less_for_the_same_power_and_hotter() -> None:
    table = refrigerant_table("R-410A")
    compressor = compressor_for(table)
    sound, leaking = (run(table, compressor, 280.0, 318.0, delivered=e) for e in (1.0, 0.8))
    assert leaking.flow_kg_s == pytest.approx(0.8 * sound.flow_kg_s)
    assert leaking.power_w == pytest.approx(sound.power_w)
    assert leaking.discharge_j_kg > sound.discharge_j_kg
