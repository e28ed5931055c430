"""The table of published against computed values in docs/models/water-and-air.md is current.

Run this file to print the table: ``uv run python tests/physics/test_water_and_air_page.py``.
"""

from pathlib import Path

from catchpan.physics.airflow import (
    altitude_density_ratio,
    flow_from_temperature_rise_m3_s,
    gas_input_w,
    total_heat_w,
)
from catchpan.physics.conductors import copper_resistance_ohm, loop_voltage_drop_v
from catchpan.physics.conductors_rating import minimum_circuit_ampacity_a
from catchpan.physics.drain import drain_capacity_m3_s, drain_flow_m3_s, least_nominal_size_m
from catchpan.physics.heat import strip_power_w
from catchpan.physics.moist_air import (
    humidity_ratio_from_relative_humidity,
    humidity_ratio_from_wet_bulb,
    saturation_pressure_pa,
)
from catchpan.physics.motors import run_capacitance_f, voltage_unbalance
from catchpan.physics.pan_size import auxiliary_pan_size, fill_time_s
from catchpan.physics.trap import required_trap

PAGE = Path(__file__).parents[2] / "docs" / "models" / "water-and-air.md"

INCH = 0.0254
FOOT = 0.3048
CFM = FOOT**3 / 60
GALLON = 231 * INCH**3
BTU_H = 1055.05585262 / 3600
HOT_K = 348.15
SEA = 101325.0
DEGF = 5 / 9


def _code_pan_hours() -> float:
    size = auxiliary_pan_size(22 * INCH, 21 * INCH)
    area = size.length_total_m * size.width_total_m
    return float(fill_time_s(area, size.depth_m, GALLON / 3600)) / 3600


def _fill_ratio(fill: float) -> float:
    flow = drain_flow_m3_s(0.05, 0.01, [fill, 0.5])
    return float(flow[0] / flow[1])


def _rows() -> list[tuple[str, str, float, int]]:
    return [
        ("saturation pressure, 25 °C, Pa", "3169.7", float(saturation_pressure_pa(298.15)), 1),
        ("saturation pressure, -20 °C, Pa", "103.24", float(saturation_pressure_pa(253.15)), 2),
        (
            "humidity ratio, 30/25 °C, 95461 Pa",
            "0.0192281",
            float(humidity_ratio_from_wet_bulb(303.15, 298.15, 95461.0)),
            7,
        ),
        (
            "humidity ratio, 30 °C 50 %",
            "0.0133102",
            float(humidity_ratio_from_relative_humidity(303.15, 0.5, SEA)),
            7,
        ),
        ("full to half-full drain, flow", "2.00", _fill_ratio(1.0), 3),
        ("quarter- to half-full drain, flow", "0.274", _fill_ratio(0.25), 4),
        ("three-quarter- to half-full, flow", "1.82", _fill_ratio(0.75), 4),
        (
            "2 in drain, 1/4 in per ft, n 0.015, gpm",
            "8.42",
            float(drain_capacity_m3_s(2 * INCH, 1 / 48, 0.015)) * 60 / GALLON,
            2,
        ),
        (
            "24 in pipe full, n 0.012, S 0.003, cfs",
            "13.4",
            float(drain_flow_m3_s(2 * FOOT, 0.003, 1.0, 0.012)) / FOOT**3,
            2,
        ),
        (
            "least drain for 20.1 tons, in",
            "1",
            float(least_nominal_size_m(20.1 * 12000 * BTU_H)) / INCH,
            2,
        ),
        (
            "trap drop at -1.50 in w.c., in",
            "2.50",
            float(required_trap(-1.5 * 249.08891).outlet_drop_m) / INCH,  # type: ignore[arg-type]
            3,
        ),
        ("code-minimum pan, 1 gal/h, hours to fill", "3.9*", _code_pan_hours(), 3),
        (
            "strips 235 V 75 A, 110/74 °F, cfm",
            "1548",
            float(flow_from_temperature_rise_m3_s(235 * 75 * 3.414 * BTU_H, 36 * DEGF)) / CFM,
            1,
        ),
        ("density ratio, 6000 ft", "0.801", float(altitude_density_ratio(6000 * FOOT)), 4),
        (
            "730 cfm, 6.91 Btu/lb, Btu/h",
            "22699.35",
            float(total_heat_w(730 * CFM, 6.91 * 2326)) / BTU_H,
            1,
        ),
        (
            "1 ft³ in 36 s, 1000 Btu/ft³, Btu/h",
            "100000",
            float(gas_input_w(FOOT**3, 36, 1000 * BTU_H * 3600 / FOOT**3)) / BTU_H,
            0,
        ),
        (
            "18 AWG, 20 °C, ohm per 1000 ft",
            "6.385",
            float(copper_resistance_ohm(18, 1000 * FOOT)),
            3,
        ),
        (
            "16 AWG stranded, 100 ft, 4 A, V lost",
            "4.0",
            float(
                loop_voltage_drop_v(
                    copper_resistance_ohm(16, 100 * FOOT, temperature_k=HOT_K, stranded=True), 4.0
                )
            ),
            3,
        ),
        ("run capacitor, 1.1 A 383 V, µF", "7.61", float(run_capacitance_f(1.1, 383)) * 1e6, 3),
        ("unbalance 221/230/227 V, %", "2.2", float(voltage_unbalance([221, 230, 227])) * 100, 3),
        ("one compressor of 24 A, ampacity", "30", minimum_circuit_ampacity_a([24.0]), 1),
        ("10 kW strip on 208 V, kW", "7.51*", float(strip_power_w(10e3, 240, 208)) / 1e3, 3),
    ]


def table() -> str:
    """The table in Markdown."""
    lines = [f"| {what} | {told} | {ours:.{digits}f} |" for what, told, ours, digits in _rows()]
    return "\n".join(["| case | published (* derived) | ours |", "|---|---|---|", *lines])


def test_page_shows_what_the_functions_return() -> None:
    assert table() in PAGE.read_text(encoding="utf-8")


if __name__ == "__main__":
    import sys

    sys.stdout.write(table() + "\n")
