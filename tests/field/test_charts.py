"""What the phone reckons for its charts is what Python's physics says."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any, Final

import numpy as np
import pytest

from catchpan.calls.carried.charts_part import charts_part
from catchpan.diagnosis.worlds.description import Description
from catchpan.physics.moist_air import enthalpy_j_kg, humidity_ratio_from_wet_bulb
from catchpan.physics.refrigerant.reading import bubble_temperature_k, dew_temperature_k
from catchpan.physics.refrigerant.shelf import refrigerant_table
from tests.calls.one_home import OPTIONS, SYSTEM, small_family
from tools.shell import ROOT

REFRIGERANT: Final = "R-410A"
SEA_LEVEL_PA: Final = 101325.0
PRESSURES: Final = (0.6e6, 0.95e6, 1.4e6, 2.2e6, 2.9e6)
OVER_K, UNDER_K = 12.0, 7.0
DRY_K, WET_K = (295.0, 299.8, 305.0), (289.0, 292.6, 293.0)
PROGRAM: Final = """
import { readFileSync } from "node:fs";
const charts = await import(process.argv[1]);
const { data, pressures, over, under, dry, wet, sea } = JSON.parse(readFileSync(0, "utf8"));
const one = data.refrigerants["R-410A"];
const air = data.moist_air;
console.log(JSON.stringify({
  dew: pressures.map(p => charts.saturationK(one, p, "dew")),
  bubble: pressures.map(p => charts.saturationK(one, p, "bubble")),
  back: pressures.map(p => charts.saturationPa(one, charts.saturationK(one, p, "dew"), "dew")),
  vapour: pressures.map(p =>
    charts.enthalpyKj(one, p, charts.saturationK(one, p, "dew") + over, "vapour")),
  liquid: pressures.map(p =>
    charts.enthalpyKj(one, p, charts.saturationK(one, p, "bubble") - under, "liquid")),
  ratio: dry.map((d, i) => charts.ratioFromWetBulb(air, d, wet[i], sea)),
  heat: dry.map((d, i) => charts.airEnthalpyKj(d, charts.ratioFromWetBulb(air, d, wet[i], sea))),
}));
"""


@pytest.fixture(scope="module")
def reckoned() -> dict[str, list[float]]:
    data = charts_part(small_family(Description(SYSTEM, OPTIONS, "cooling")))["charts"]
    given = {
        "data": data, "pressures": PRESSURES, "over": OVER_K, "under": UNDER_K,
        "dry": DRY_K, "wet": WET_K, "sea": SEA_LEVEL_PA,
    }  # fmt: skip
    node = Path(sys.executable).with_name("node")
    done = subprocess.run(
        [node, "--input-type=module", "--eval", PROGRAM,
         str(ROOT / "field" / "src" / "engine" / "charts.ts")],
        input=json.dumps(given), capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_saturation(reckoned: dict[str, list[float]]) -> None:
    table, pressure = refrigerant_table(REFRIGERANT), np.array(PRESSURES)
    assert reckoned["dew"] == pytest.approx(dew_temperature_k(table, pressure), abs=0.1)
    assert reckoned["bubble"] == pytest.approx(bubble_temperature_k(table, pressure), abs=0.1)
    assert reckoned["back"] == pytest.approx(PRESSURES, rel=1e-6)


def test_enthalpies_off_the_saturation_lines(reckoned: dict[str, list[float]]) -> None:
    table, pressure = refrigerant_table(REFRIGERANT), np.array(PRESSURES)
    sat = table.saturation(pressure)
    vapour = sat.vapour_enthalpy_j_kg + table.vapour_over_dew(pressure, OVER_K)[0]
    degrees = np.full_like(pressure, UNDER_K)
    liquid = sat.liquid_enthalpy_j_kg - table.liquid_under_bubble(pressure, degrees)[0]
    cold = table.saturation(table.bubble_pressure_pa(233.15)).liquid_enthalpy_j_kg
    assert reckoned["vapour"] == pytest.approx((vapour - cold) / 1e3, abs=0.4)
    assert reckoned["liquid"] == pytest.approx((liquid - cold) / 1e3, abs=0.4)


def test_moist_air(reckoned: dict[str, list[float]]) -> None:
    dry, wet = np.array(DRY_K), np.array(WET_K)
    ratio = humidity_ratio_from_wet_bulb(dry, wet, SEA_LEVEL_PA)
    assert reckoned["ratio"] == pytest.approx(ratio, abs=8e-5)
    assert reckoned["heat"] == pytest.approx(enthalpy_j_kg(dry, ratio) / 1e3, abs=0.25)
