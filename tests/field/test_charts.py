"""What the phone reckons for its charts and of today's targets is what Python's physics says."""

from __future__ import annotations

import base64
import json
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import numpy as np
import pytest

from catchpan.calls.carried.carried_call import carried_call
from catchpan.calls.carried.charts_part import charts_part
from catchpan.calls.carried.container import Parts, read_parts, write_parts
from catchpan.catalog.load import catalog
from catchpan.diagnosis.cases.todays_targets import plate_of
from catchpan.diagnosis.worlds.description import Description
from catchpan.physics.cycle.expected import quantities
from catchpan.physics.cycle.solve import operating_points
from catchpan.physics.cycle.unit import Weather
from catchpan.physics.moist_air import enthalpy_j_kg, humidity_ratio_from_wet_bulb
from catchpan.physics.refrigerant.reading import bubble_temperature_k, dew_temperature_k
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.plant.refrigeration import unit_of
from tests.calls.one_home import OPTIONS, SYSTEM, small_family
from tools.shell import ROOT

KNOWN: Final = Description(SYSTEM, OPTIONS, "cooling")
ENGINE: Final = ROOT / "field" / "src" / "engine"
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
    data = charts_part(small_family(KNOWN))["charts"]
    given = {
        "data": data, "pressures": PRESSURES, "over": OVER_K, "under": UNDER_K,
        "dry": DRY_K, "wet": WET_K, "sea": SEA_LEVEL_PA,
    }  # fmt: skip
    node = Path(sys.executable).with_name("node")
    done = subprocess.run(
        [node, "--input-type=module", "--eval", PROGRAM,
         str(ENGINE / "charts.ts")],
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


MOST: Final = {
    "superheat_k": 1.0 / 1.8,
    "subcooling_k": 0.5 / 1.8,
    "split_k": 0.5 / 1.8,
    "net_w": 0.01,
}
"""Largest difference allowed: K, or a share of a capacity."""

TARGETS_PROGRAM: Final = """
import { readFileSync } from "node:fs";
const [calls, data, targets] = await Promise.all(process.argv.slice(1).map(m => import(m)));
const { now, before, air, names } = JSON.parse(readFileSync(0, "utf8"));
const open = text => calls.readCompiledCall(new Uint8Array(Buffer.from(text, "base64")).buffer);
const call = open(now);
const grid = call.targetGrids[0];
const at = (one, name) =>
  data.valueAt(call.targets, grid, data.cornersAt(call.targets.axes.cool, one), name);
const old = open(before);
const belief = { family: old.family, readings: [], views: new Map([["cool", {}]]) };
console.log(JSON.stringify({
  values: Object.fromEntries(names.map(n => [n, air.map(one => at(one, n))])),
  old: { targets: old.targets, grids: old.targetGrids.length,
         checks: old.family.checks.size, today: targets.todaysTargets(belief, old, {}, "cool") },
}));
"""


def usual_air() -> np.ndarray[Any, Any]:
    """Thirty conditions of a visit: outdoors, return air, its wet bulb [K]."""
    draw = np.random.default_rng(20)
    indoor = draw.uniform(294.0, 303.0, 30)
    return np.column_stack(
        [draw.uniform(292.0, 316.0, 30), indoor, indoor - draw.uniform(3.0, 9.0, 30)]
    )


def before_targets(parts: Parts) -> bytes:
    """Return the same call as it was made before it carried targets."""
    arrays = {n: a for n, a in parts.arrays.items() if not n.startswith("targets.")}
    header = {n: v for n, v in parts.header.items() if n not in {"targets", "form"}}
    return write_parts(Parts(header, arrays))


@pytest.fixture(scope="module")
def on_the_phone() -> dict[str, Any]:
    made = datetime(2025, 7, 4, tzinfo=UTC)
    now = carried_call(KNOWN, small_family(KNOWN), catalog(), "key", made)
    given = {
        "now": base64.b64encode(now).decode(),
        "before": base64.b64encode(before_targets(read_parts(now))).decode(),
        "air": usual_air().tolist(),
        "names": list(MOST),
    }
    modules = [str(ENGINE / f"{m}.ts") for m in ("compiled_call", "target_data", "targets")]
    node = Path(sys.executable).with_name("node")
    done = subprocess.run(
        [node, "--experimental-transform-types", "--input-type=module",
         "--eval", TARGETS_PROGRAM, *modules],
        input=json.dumps(given), capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize("name", MOST)
def test_the_phone_s_grid_is_never_far_from_the_solved_cycle(
    on_the_phone: dict[str, Any], name: str
) -> None:
    outdoor, indoor, wet = usual_air().T
    unit = unit_of(plate_of(KNOWN, small_family(KNOWN).settings[0]))
    solved = quantities(operating_points(unit, Weather(indoor, wet, outdoor)), indoor)[name]
    off = np.abs(np.array(on_the_phone["values"][name]) - solved)
    most = float((off / solved).max() if name == "net_w" else off.max())
    assert 0.0 < most < MOST[name]


def test_a_call_kept_before_there_were_targets_opens_and_shows_none(
    on_the_phone: dict[str, Any],
) -> None:
    checks = len(small_family(KNOWN).checks)
    assert on_the_phone["old"] == {"targets": None, "grids": 0, "checks": checks, "today": None}
