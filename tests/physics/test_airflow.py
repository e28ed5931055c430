"""Air flow from heat, heat from air flow, altitude and the gas meter."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.airflow import (
    STANDARD_SENSIBLE_J_M3_K,
    altitude_density_ratio,
    flow_from_temperature_rise_m3_s,
    gas_input_w,
    sensible_heat_w,
    temperature_rise_k,
    total_heat_w,
    ventilation_m3_s,
)
from catchpan.units.errors import OutOfRange

CFM = 0.3048**3 / 60
BTU_H = 1055.05585 / 3600
BTU_LB = 2326.0
FT3 = 0.3048**3
DEGF = 5 / 9


@pytest.mark.published("achr-145073", "standard air constant 1.08")
def test_sensible_constant_is_one_point_oh_eight() -> None:
    assert pytest.approx(1.08, abs=0.0005) == STANDARD_SENSIBLE_J_M3_K * CFM * DEGF / BTU_H


@pytest.mark.published("measuring-airflow-electric-heat", "235 V 75 A 110/74 F")
def test_airflow_from_electric_strips() -> None:
    """Worked example P39: the article uses 3.414 Btu/Wh and prints 1548 cfm."""
    heat = 235 * 75 * 3.414 * BTU_H
    assert heat / BTU_H == pytest.approx(60171, abs=1)
    flow = flow_from_temperature_rise_m3_s(heat, (110 - 74) * DEGF)
    assert flow / CFM == pytest.approx(1548, abs=1)


@pytest.mark.published("usbr-hvac", "table 6a: relative density, and in lb/ft3 over 0.075")
@pytest.mark.parametrize(
    ("feet", "ratio", "lb_ft3"),
    [(6000, 0.801, 0.0601), (7000, 0.772, 0.0579), (8000, 0.743, 0.0557)],
)
def test_air_is_thinner_at_altitude(feet: float, ratio: float, lb_ft3: float) -> None:
    found = altitude_density_ratio(feet * 0.3048)
    assert found == pytest.approx(ratio, abs=0.0005)
    assert 0.075 * found == pytest.approx(lb_ft3, abs=0.00006)


def test_altitude_regression_values() -> None:
    """Worked example D17 (derived with the same formula): 1000 to 8000 ft."""
    ratios = altitude_density_ratio(np.arange(1, 9) * 304.8)
    assert ratios.round(4).tolist() == [
        0.9644,
        0.9298,
        0.8962,
        0.8637,
        0.8321,
        0.8014,
        0.7716,
        0.7428,
    ]


@pytest.mark.published("hvac-forum-altitude", "4000 ft, 0.86 x 1.08 = 0.93")
def test_sensible_constant_at_four_thousand_feet() -> None:
    ratio = float(altitude_density_ratio(4000 * 0.3048))
    assert ratio == pytest.approx(0.86, abs=0.005)
    heat = sensible_heat_w(CFM, DEGF, ratio) / BTU_H
    assert heat == pytest.approx(0.93, abs=0.005)


@pytest.mark.published("what-is-enthalpy", "29.68 to 22.77 Btu/lb at 730 cfm; video 29 to 22")
@pytest.mark.parametrize(("change", "btu_h"), [(29.68 - 22.77, 22699.35), (29 - 22, 22995)])
def test_total_heat_from_enthalpy(change: float, btu_h: float) -> None:
    """Worked examples P45 and P46."""
    assert total_heat_w(730 * CFM, change * BTU_LB) / BTU_H == pytest.approx(btu_h, rel=1e-4)


HEATING_TABLE = [
    *((65, 36.5, 32.1, 2.40, 4.44), (60, 34.5, 30.4, 2.36, 4.28), (55, 32.5, 28.6, 2.32, 4.10)),
    *((50, 30.4, 26.8, 2.27, 3.91), (47, 29.0, 25.6, 2.25, 3.78), (45, 28.1, 24.8, 2.23, 3.69)),
    *((40, 26.1, 23.0, 2.19, 3.50), (35, 24.1, 21.2, 2.14, 3.29), (30, 22.6, 19.9, 2.20, 3.01)),
    *((25, 20.9, 18.4, 2.15, 2.84), (20, 19.2, 17.0, 2.11, 2.67), (17, 18.2, 16.0, 2.08, 2.55)),
    *((15, 17.5, 15.4, 2.06, 2.48), (10, 15.7, 13.8, 2.01, 2.28), (5, 13.9, 12.3, 1.97, 2.07)),
    *((0, 12.1, 10.7, 1.92, 1.85), (-5, 10.3, 9.1, 1.87, 1.62), (-10, 8.5, 7.5, 1.83, 1.36)),
]
"""Outdoors [degF], capacity [1000 Btu/h], rise [degF], power [kW], COP."""


@pytest.mark.published("maker-manual-heating-table", "page 28, 2.5 t heat pump, all 18 rows")
@pytest.mark.parametrize(("degf", "mbh", "rise_degf", "kilowatt", "cop"), HEATING_TABLE)
def test_maker_heating_table_holds_one_air_flow(
    degf: float, mbh: float, rise_degf: float, kilowatt: float, cop: float
) -> None:
    """Worked examples P53 and T5: capacity over rise is about 1050 cfm at every outdoor state;
    the printed COP is capacity over power.
    """
    heat = mbh * 1000 * BTU_H
    flow = flow_from_temperature_rise_m3_s(heat, rise_degf * DEGF)
    assert flow / CFM == pytest.approx(1050, abs=5), degf
    assert heat / (kilowatt * 1000) == pytest.approx(cop, abs=0.02)


@pytest.mark.published("meter-clocking-table", "1 ft3 dial, 1000 Btu/ft3")
@pytest.mark.parametrize(
    ("seconds", "btu_h"),
    [(20, 180000), (30, 120000), (36, 100000), (40, 90000), (60, 60000), (72, 50000)],
)
def test_gas_meter_clocking(seconds: float, btu_h: float) -> None:
    """Worked example P49."""
    watts = gas_input_w(FT3, seconds, 1000 * BTU_H * 3600 / FT3)
    assert watts / BTU_H == pytest.approx(btu_h, rel=1e-6)


@pytest.mark.published("tech-note-half-foot-dial", "29 s: 62 cfh")
def test_half_foot_dial() -> None:
    """Worked example P48."""
    watts = gas_input_w(FT3 / 2, 29, 1000 * BTU_H * 3600 / FT3)
    assert watts / BTU_H / 1000 == pytest.approx(62, abs=0.5)


@given(st.floats(10, 1e5), st.floats(0.01, 5), st.floats(0.6, 1.1))
def test_rise_and_flow_undo_each_other(heat: float, flow: float, density: float) -> None:
    rise = temperature_rise_k(heat, flow, density)
    assert sensible_heat_w(flow, np.clip(rise, None, 200), density) <= heat * (1 + 1e-12)
    if 0.5 <= rise <= 200:
        assert flow_from_temperature_rise_m3_s(heat, rise, density) == pytest.approx(flow)


@given(st.floats(-500, 4900), st.floats(1, 100))
def test_density_falls_with_altitude(altitude: float, step: float) -> None:
    assert altitude_density_ratio(altitude + step) < altitude_density_ratio(altitude)


def test_no_rise_gives_no_air_flow_but_an_error() -> None:
    with pytest.raises(OutOfRange, match="temperature rise"):
        flow_from_temperature_rise_m3_s(1000.0, 0.0)


def test_impossible_altitude_is_refused() -> None:
    with pytest.raises(OutOfRange, match="altitude"):
        altitude_density_ratio(9000.0)


@pytest.mark.published("ventilation-primer-62.2-2013", "2400 ft2, 3 bedrooms: 102; 72; 144 cfm")
def test_ventilation_of_the_worked_example() -> None:
    area, cfm = 2400.0 * 0.3048**2, 4.719474e-4
    assert ventilation_m3_s(area, 3) / cfm == pytest.approx(102.0, rel=1e-4)
    assert ventilation_m3_s(area, 3, 30 * cfm) / cfm == pytest.approx(72.0, rel=1e-4)
    assert ventilation_m3_s(area, 3, 30 * cfm, 0.5) / cfm == pytest.approx(144.0, rel=1e-4)
    assert ventilation_m3_s(area, 3, 120 * cfm) == 0.0


@pytest.mark.published("hvac-forum-altitude", "4000 ft: 0.93 cfm dT, for gas and strips alike")
def test_air_flow_over_a_furnace_at_altitude() -> None:
    """100 000 Btu/h clocked, 80 %, 60 degF rise at 4000 ft: the same heat needs more volume."""
    density = altitude_density_ratio(4000 * 0.3048)
    sea, high = (
        flow_from_temperature_rise_m3_s(80e3 * 0.29307, 60 / 1.8, ratio) for ratio in (1.0, density)
    )
    assert sea / 4.719474e-4 == pytest.approx(80e3 / (1.08 * 60), rel=2e-3)
    assert high / 4.719474e-4 == pytest.approx(80e3 / (0.93 * 60), rel=5e-3)
