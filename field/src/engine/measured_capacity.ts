/** What a unit in cooling is measured to do: air's enthalpies, and the airflow (measured_capacity.py). */

import { airEnthalpyKj } from "./charts.ts";

/** What has to be read first: temperatures (K). */
export const AIR_READ = ["return_air", "return_wet_bulb", "supply_air", "supply_wet_bulb"] as const;

/** What has to be read besides where the airflow was not (m3/s). */
export const WATER = "condensate";

/** The checks that read the airflow for each ton. */
export const AIRFLOW_CHECKS: ReadonlySet<string> = new Set(["air/airflow-by-strips", "air/airflow-by-rise"]);

/** Standard deviation of an airflow by temperature rise, as a share. */
export const AIRFLOW_SHARE = 0.08;

/** A value and its standard deviation. */
export interface Measured {
  readonly value: number;
  readonly spread: number;
}

type Pair = readonly [total: number, sensible: number];

const LEAST_DRIED = 5e-4;
const STEP = 0.01;
const WATER_KG_M3 = 1000;
/** Standard air, 0.075 lb/ft3. */
const AIR_KG_M3 = (0.075 * 0.45359237) / 0.3048 ** 3;
const FREEZING_K = 273.15;
const BAROMETER_PA = 101325;
const WATER_TO_AIR = 0.621945;

/**
 * Total and sensible capacity (W) from the air and, last, the water it left behind or the airflow;
 * null where ice is on the coil, or the air lost no water to speak of.
 */
export function measuredCapacities(
  read: readonly Measured[],
  byWater: boolean,
): readonly [Measured, Measured] | null {
  const values = read.map(({ value }) => value);
  const start = capacitiesOf(values, byWater);
  if (start === null) return null;
  const squares: [number, number] = [0, 0];
  read.forEach(({ spread }, i) => {
    const moved = values.map((value, k) => (k === i ? value - STEP * spread : value));
    const found = capacitiesOf(moved, byWater);
    for (const k of [0, 1] as const) {
      const off = found === null ? start[k] : (found[k] - start[k]) / STEP;
      squares[k] += off * off;
    }
  });
  return [
    { value: start[0], spread: Math.sqrt(squares[0]) },
    { value: start[1], spread: Math.sqrt(squares[1]) },
  ];
}

function capacitiesOf(values: readonly number[], byWater: boolean): Pair | null {
  const [returnK, returnWetK, supplyK, supplyWetK, flowM3S] = values as [number, number, number, number, number];
  if (Math.min(returnWetK, supplyWetK) < FREEZING_K || flowM3S <= 0) return null;
  const entering = ratio(returnK, returnWetK);
  const leaving = ratio(supplyK, supplyWetK);
  const dried = entering - leaving;
  if (byWater && dried < LEAST_DRIED) return null;
  const airKgS = byWater ? (WATER_KG_M3 * flowM3S) / dried : AIR_KG_M3 * flowM3S;
  const end = airEnthalpyKj(supplyK, leaving);
  const total = 1000 * (airEnthalpyKj(returnK, entering) - end);
  return [airKgS * total, airKgS * 1000 * (airEnthalpyKj(returnK, leaving) - end)];
}

/** Water by dry air (kg/kg) from dry and wet bulb above freezing (ASHRAE Fundamentals 2017, chapter 1). */
function ratio(dryK: number, wetBulbK: number): number {
  const wetK = Math.min(wetBulbK, dryK);
  const [dry, wet] = [dryK - FREEZING_K, wetK - FREEZING_K];
  const vapour = saturatedPa(wetK);
  const full = (WATER_TO_AIR * vapour) / (BAROMETER_PA - vapour);
  const taken = (2501 - 2.326 * wet) * full - 1.006 * (dry - wet);
  return Math.max(taken / (2501 + 1.86 * dry - 4.186 * wet), 1e-7);
}

/** Vapour pressure over water (Pa), the same chapter's equation 6. */
function saturatedPa(k: number): number {
  const rising = k * (-4.8640239e-2 + k * (4.1764768e-5 - 1.4452093e-8 * k));
  return Math.exp(-5.8002206e3 / k + 1.3914993 + rising + 6.5459673 * Math.log(k));
}
