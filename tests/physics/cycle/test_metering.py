"""Orifice and expansion valve."""

from dataclasses import replace

import numpy as np
import pytest

from catchpan.physics.cycle.metering import (
    Inlet,
    Metering,
    inlet_state,
    orifice_flux_kg_s_m2,
    valve_flux_kg_s_m2,
    valve_opening,
)
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.physics.refrigerant.table import RefrigerantTable

AREA = np.pi / 4 * 0.0014**2
LOW = np.array([4e5])

# kg/s through 1.40 mm by 12.7 mm at condensing temperature [degC], subcooling 2, 5.6 and 10 K
POINTS = [
    ("R-410A", 35.0, (0.03294, 0.03653, 0.04102)),
    ("R-410A", 45.0, (0.03610, 0.03936, 0.04350)),
    ("R-410A", 55.0, (0.03982, 0.04189, 0.04531)),
    ("R-22", 35.0, (0.02881, 0.03087, 0.03437)),
    ("R-22", 45.0, (0.03124, 0.03408, 0.03809)),
    ("R-134a", 45.0, (0.02639, 0.02875, 0.03214)),
]


def liquid(table: RefrigerantTable, celsius: float, subcooling_k: float) -> Inlet:
    pressure = table.bubble_pressure_pa(np.array([celsius + 273.15]))
    sat = table.saturation(pressure)
    under = table.liquid_under_bubble(pressure, np.array([subcooling_k]))[0]
    return inlet_state(table, pressure, sat.liquid_enthalpy_j_kg - under)


@pytest.mark.published("payne-oneal-2004", "correlation with the coefficients kept in [achp]")
@pytest.mark.parametrize(("name", "celsius", "flows"), POINTS)
def test_short_tube_orifice(name: str, celsius: float, flows: tuple[float, ...]) -> None:
    """2 %: which state's density and vapour pressure is meant differs between the two programs."""
    table = refrigerant_table(name)
    for subcooling, flow in zip((2.0, 5.6, 10.0), flows, strict=True):
        flux = orifice_flux_kg_s_m2(table, liquid(table, celsius, subcooling), LOW)
        assert flux * AREA == pytest.approx(flow, rel=0.02)


@pytest.mark.parametrize("name", ["R-410A", "R-22", "R-134a", "R-32", "R-454B"])
@pytest.mark.parametrize("celsius", [5.0, 20.0, 35.0, 60.0])
def test_flow_through_the_orifice_falls_without_a_jump_as_liquid_flashes(
    name: str, celsius: float
) -> None:
    table = refrigerant_table(name)
    pressure = table.bubble_pressure_pa(np.array(celsius + 273.15))
    sat = table.saturation(pressure)
    cold = sat.liquid_enthalpy_j_kg - table.liquid_under_bubble(pressure, np.array(13.0))[0]
    wet = sat.liquid_enthalpy_j_kg + 0.4 * sat.latent_j_kg
    enthalpy = np.linspace(float(cold), float(wet), 2000)
    state = inlet_state(table, np.full_like(enthalpy, float(pressure)), enthalpy)
    flux = orifice_flux_kg_s_m2(table, state, np.full_like(enthalpy, 1e5))
    assert (flux / np.minimum.accumulate(flux)).max() < 1.03
    assert np.abs(np.diff(flux) / flux[:-1]).max() < 0.02
    assert flux[-1] < 0.8 * flux[0]


def test_without_pressure_difference_hardly_anything_flows() -> None:
    table = refrigerant_table("R-22")
    state = liquid(table, 40.0, 5.0)
    choked = orifice_flux_kg_s_m2(table, state, LOW)
    assert orifice_flux_kg_s_m2(table, state, state.pressure_pa) < 0.02 * choked


def test_the_valve_opens_with_superheat_and_no_further_than_wide_open() -> None:
    valve = Metering(1e-6, is_valve=True)
    superheat = np.array([0.0, 4.0, 5.0, 6.0, 7.8, 20.0])
    opening = valve_opening(valve, superheat)
    assert opening[:2] == pytest.approx(0.02)
    assert (np.diff(opening[1:5]) > 0.0).all()
    assert opening[4:] == pytest.approx(1.0)


def test_flash_gas_takes_flow_from_the_valve() -> None:
    table = refrigerant_table("R-410A")
    state = liquid(table, 45.0, 5.0)
    flashing = replace(state, quality=np.array([0.05]))
    hot = np.array([20.0])
    valve = Metering(1e-6, is_valve=True)
    solid, thin = (valve_flux_kg_s_m2(valve, each, LOW, hot) for each in (state, flashing))
    assert 0.7 < float(thin[0] / solid[0]) < 0.9
