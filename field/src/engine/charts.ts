/** What charts are drawn from: refrigerant properties and moist air (see charts_part.py). */

/** A refrigerant by rising absolute pressure; enthalpies in kJ/kg, 0 for liquid at -40 degrees. */
export interface RefrigerantData {
  readonly pressure_pa: readonly number[];
  readonly bubble_k: readonly number[];
  readonly dew_k: readonly number[];
  readonly liquid_kj_kg: readonly number[];
  readonly vapour_kj_kg: readonly number[];
  readonly over_dew_k: readonly number[];
  /** Enthalpy over dew, by degrees over dew and by pressure. */
  readonly over_dew_kj_kg: readonly (readonly number[])[];
  readonly under_bubble_k: readonly number[];
  /** Enthalpy under bubble, by degrees under bubble and by pressure. */
  readonly under_bubble_kj_kg: readonly (readonly number[])[];
}

export interface MoistAirData {
  readonly temperature_k: readonly number[];
  readonly saturation_pa: readonly number[];
  /** Share of the air that meets the coil's surface. */
  readonly contact: number;
}

export interface ChartData {
  readonly refrigerants: Readonly<Record<string, RefrigerantData>>;
  readonly moist_air: MoistAirData;
}

const ICE_K = 273.15;
/** Molar mass of water over that of dry air (ASHRAE Fundamentals 2017, chapter 1). */
const WATER_TO_AIR = 0.621945;

/** The value at a place between rising nodes; beyond the ends it stays as it is there. */
function along(at: number, nodes: readonly number[], values: readonly number[]): number {
  const last = nodes.length - 1;
  if (at <= nodes[0]!) return values[0]!;
  if (at >= nodes[last]!) return values[last]!;
  const high = nodes.findIndex((node) => node > at);
  const share = (at - nodes[high - 1]!) / (nodes[high]! - nodes[high - 1]!);
  return values[high - 1]! + share * (values[high]! - values[high - 1]!);
}

/** Temperature at a pressure, on the line where boiling ends or begins. */
export function saturationK(data: RefrigerantData, pressurePa: number, line: "dew" | "bubble"): number {
  const logs = data.pressure_pa.map(Math.log);
  return along(Math.log(pressurePa), logs, line === "dew" ? data.dew_k : data.bubble_k);
}

/** Pressure at a temperature, on the line where boiling ends or begins. */
export function saturationPa(data: RefrigerantData, temperatureK: number, line: "dew" | "bubble"): number {
  const logs = data.pressure_pa.map(Math.log);
  return Math.exp(along(temperatureK, line === "dew" ? data.dew_k : data.bubble_k, logs));
}

/** Enthalpy (kJ/kg) of the refrigerant at a pressure and temperature, off the two-phase region. */
export function enthalpyKj(
  data: RefrigerantData,
  pressurePa: number,
  temperatureK: number,
  phase: "vapour" | "liquid",
): number {
  const log = Math.log(pressurePa);
  const logs = data.pressure_pa.map(Math.log);
  const at = (values: readonly number[]): number => along(log, logs, values);
  if (phase === "vapour") {
    const over = Math.max(temperatureK - at(data.dew_k), 0);
    return at(data.vapour_kj_kg) + along(over, data.over_dew_k, data.over_dew_kj_kg.map(at));
  }
  const under = Math.max(at(data.bubble_k) - temperatureK, 0);
  return at(data.liquid_kj_kg) - along(under, data.under_bubble_k, data.under_bubble_kj_kg.map(at));
}

/** Vapour pressure (Pa) of saturated air. */
export function saturatedAirPa(air: MoistAirData, temperatureK: number): number {
  return Math.exp(along(temperatureK, air.temperature_k, air.saturation_pa.map(Math.log)));
}

/** Water by dry air (kg/kg) at a relative humidity from 0 to 1. */
export function humidityRatio(
  air: MoistAirData,
  temperatureK: number,
  relative: number,
  barometerPa: number,
): number {
  const vapour = relative * saturatedAirPa(air, temperatureK);
  return (WATER_TO_AIR * vapour) / (barometerPa - vapour);
}

/** Water by dry air (kg/kg) from dry and wet bulb, above freezing (ASHRAE, same chapter). */
export function ratioFromWetBulb(
  air: MoistAirData,
  temperatureK: number,
  wetBulbK: number,
  barometerPa: number,
): number {
  const [dry, wet] = [temperatureK - ICE_K, Math.min(wetBulbK, temperatureK) - ICE_K];
  const full = humidityRatio(air, wet + ICE_K, 1, barometerPa);
  const taken = (2501 - 2.326 * wet) * full - 1.006 * (dry - wet);
  return Math.max(taken / (2501 + 1.86 * dry - 4.186 * wet), 0);
}

/** Enthalpy of moist air (kJ by kg of dry air). */
export function airEnthalpyKj(temperatureK: number, ratio: number): number {
  const dry = temperatureK - ICE_K;
  return 1.006 * dry + ratio * (2501 + 1.86 * dry);
}

/**
 * Water by dry air behind a coil that cools so far: most of the air meets a surface and leaves it
 * saturated, the rest passes by.
 */
export function ratioBehindCoil(
  air: MoistAirData,
  entering: { readonly temperatureK: number; readonly ratio: number },
  leavingK: number,
  barometerPa: number,
): number {
  const surface = entering.temperatureK - (entering.temperatureK - leavingK) / air.contact;
  const full = humidityRatio(air, surface, 1, barometerPa);
  return entering.ratio - air.contact * Math.max(entering.ratio - full, 0);
}
