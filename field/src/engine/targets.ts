/** Today's targets for a call, and how what was read stands to them (see todays_targets.py). */

import type { Belief } from "./belief.ts";
import type { CompiledCall } from "./compiled_call.ts";
import type { Expected, Today, Verdict } from "./expected_target.ts";
import { chartSuperheat, judged, modelExpected, tableSplit, valveRange } from "./expected_target.ts";
import type { Measured } from "./measured_capacity.ts";
import { AIRFLOW_CHECKS, AIRFLOW_SHARE, AIR_READ, WATER, measuredCapacities } from "./measured_capacity.ts";
import { isWeather, quantityOf } from "./panel.ts";
import { isOfPanel } from "./panel_reading.ts";
import type { PanelView } from "./panel_view.ts";
import type { TargetData, TargetGrid, TargetUnit } from "./target_data.ts";

/** One source's target (in its quantity's unit) with its verdict; a range has no deviation of its own. */
export interface Target extends Expected {
  readonly verdict: Verdict;
}

/** What a quantity is counted in: kelvin of difference, watts, gauge pascals. */
export type Counted = "K" | "W" | "Pa";

/** A quantity with what was read of it and its targets. */
export interface Judged {
  readonly quantity: string;
  readonly title: string;
  readonly counted: Counted;
  readonly reading: number | null;
  readonly deviation: number;
  readonly targets: readonly Target[];
}

/** All targets under one demand, for the unit and the weather (K) they are for. */
export interface Todays {
  readonly demand: string;
  readonly refrigerant: string;
  readonly tons: number;
  readonly valve: boolean;
  readonly today: Today;
  readonly judged: readonly Judged[];
}

/** What was read: degrees off the chart for a pressure, or as the instrument has it. */
interface Readings {
  readonly kelvin: (name: string) => Measured | null;
  readonly told: (name: string) => Measured | null;
  /** Airflow for each ton by a heater's rise (m3/s). */
  readonly tonFlow: number | null;
}

/** Barometric pressure that gauges are taken to be at (panel_quantity.py). */
const ATMOSPHERE_PA = 101325;

/** Today's targets; null where the call carries none for such a unit under the demand. */
export function todaysTargets(
  belief: Belief,
  call: CompiledCall,
  setting: Readonly<Record<string, string>>,
  demand: string,
): Todays | null {
  const view = belief.views.get(demand);
  const data = call.targets;
  if (view === undefined || data === null) return null;
  const at = data.units.findIndex((unit) => fits(unit, setting, demand));
  const unit = data.units[at];
  if (unit === undefined) return null;
  const { weather } = view;
  const [outdoor, indoor, wet] = weather.mean as unknown as [number, number, number];
  const spread = Array.from(weather.spread) as unknown as [number, number, number];
  const today: Today = { air: [outdoor, indoor, Math.min(wet, indoor)], spread };
  const tons = data.tons[setting["tons"] ?? ""] ?? unit.tons;
  const make: Maker = { data, unit, grid: call.targetGrids[at]!, today, tons };
  return {
    demand,
    refrigerant: unit.name,
    tons,
    valve: unit.valve,
    today,
    judged: quantities(make, readingsOf(belief, view)),
  };
}

/** What a setting leaves open fits any unit; the first is the one that stands in for it. */
function fits(unit: TargetUnit, setting: Readonly<Record<string, string>>, demand: string): boolean {
  const { refrigerant = unit.refrigerant, metering = unit.metering } = setting;
  return unit.demand === demand && unit.refrigerant === refrigerant && unit.metering === metering;
}

interface Maker {
  readonly data: TargetData;
  readonly unit: TargetUnit;
  readonly grid: TargetGrid;
  readonly today: Today;
  readonly tons: number;
}

function quantities(make: Maker, { kelvin, told, tonFlow }: Readings): Judged[] {
  const { data, unit, today, tons } = make;
  const cooling = unit.demand === "cool";
  const own = (name: string): Expected => fromModel(make, name);
  const superheat = [own("superheat")];
  if (cooling) superheat.push(unit.valve ? valveRange(data) : chartSuperheat(data, today));
  const found = [
    against(data, "superheat", superheat, kelvin("superheat")),
    against(data, "subcooling", [own("subcooling")], kelvin("subcooling")),
  ];
  const rise = kelvin("split");
  if (!cooling) {
    const split = own("split");
    return [
      ...found,
      against(data, "rise", [{ ...split, value: -split.value! }], rise),
      pressure(make, "suction-pressure", "suction_pa", told("suction_pressure")),
      pressure(make, "liquid-pressure", "liquid_pa", told("liquid_pressure")),
      capacity(make, "capacity", "net_w", null),
    ];
  }
  const dropped = rise === null ? null : { ...rise, value: -rise.value };
  const byWater = tonFlow === null;
  const flow = byWater ? told(WATER) : { value: tonFlow * tons, spread: AIRFLOW_SHARE * tonFlow * tons };
  const air = [...AIR_READ.map(told), flow].filter((one) => one !== null);
  const measured = air.length <= AIR_READ.length ? null : measuredCapacities(air, byWater);
  return [
    ...found,
    against(data, "split", [own("split"), tableSplit(data, today)], dropped),
    capacity(make, "capacity", "net_w", measured?.[0] ?? null),
    capacity(make, "sensible-capacity", "sensible_w", measured?.[1] ?? null),
  ];
}

function fromModel({ data, unit, grid, today }: Maker, name: string): Expected {
  return modelExpected(data, unit, grid, today, `${name}_k`, data.bands_k[name]!);
}

function against(
  data: TargetData,
  quantity: string,
  sources: readonly Expected[],
  read: Measured | null,
): Judged {
  const targets = sources.map((one) => ({ ...one, verdict: verdictOf(one, read) }));
  return {
    quantity,
    title: data.titles[quantity]!,
    counted: "K",
    reading: read?.value ?? null,
    deviation: read?.spread ?? 0,
    targets,
  };
}

function verdictOf({ value, band, deviation }: Expected, read: Measured | null): Verdict {
  if (value === null || read === null) return "";
  return judged(read.value, value, band, Math.hypot(deviation, read.spread));
}

function capacity(make: Maker, quantity: string, name: string, read: Measured | null): Judged {
  const { data, unit, grid, today, tons } = make;
  const one = modelExpected(data, unit, grid, today, name, 0);
  const [value, deviation] = [one.value!, one.deviation].map((watts) => (watts * tons) / unit.tons);
  const target = {
    ...one,
    value: value!,
    deviation: deviation!,
    band: data.capacity_band * Math.abs(value!),
  };
  return {
    quantity,
    title: data.titles[quantity]!,
    counted: "W",
    reading: read?.value ?? null,
    deviation: read?.spread ?? 0,
    targets: [{ ...target, verdict: verdictOf(target, read) }],
  };
}

/** A gauge pressure beside the model's; no published band says what passes. */
function pressure(make: Maker, quantity: string, name: string, read: Measured | null): Judged {
  const { data, unit, grid, today } = make;
  const one = modelExpected(data, unit, grid, today, name, 0);
  return {
    quantity,
    title: data.titles[quantity]!,
    counted: "Pa",
    reading: read?.value ?? null,
    deviation: read?.spread ?? 0,
    targets: [{ ...one, value: one.value! - ATMOSPHERE_PA, verdict: "" }],
  };
}

/** What was read, worked out where its parts were. */
function readingsOf(belief: Belief, view: PanelView): Readings {
  const found = toldUnder(belief, view);
  const told = (name: string): Measured | null => found.get(name) ?? null;
  const inKelvin = (name: string): Measured | null => {
    const one = told(name);
    if (one === null) return null;
    const { chart } = quantityOf(view.panel, name);
    if (chart === "") return one;
    const { at, slope } = view.panel.charts[0]!.temperature(one.value, chart);
    return { value: at, spread: one.spread * slope };
  };
  const kelvin = (name: string): Measured | null => {
    const whole = inKelvin(name);
    if (whole !== null) return whole;
    const [one, other] = quantityOf(view.panel, name).parts.map(inKelvin);
    if (one == null || other == null) return null;
    const sign = name === "superheat" ? -1 : 1;
    return { value: sign * (one.value - other.value), spread: Math.hypot(one.spread, other.spread) };
  };
  const flows = belief.readings.filter(({ checkId }) => AIRFLOW_CHECKS.has(checkId));
  const tonFlow = flows.findLast(({ valueSi }) => valueSi !== null)?.valueSi ?? null;
  return { kelvin, told, tonFlow };
}

/** What was read off the circuit under the panel's demand, and of the weather; of repeats the last. */
function toldUnder({ family, readings }: Belief, { panel }: PanelView): Map<string, Measured> {
  const found = new Map<string, Measured>();
  for (const reading of readings) {
    const look = family.checks.get(reading.checkId)?.look ?? null;
    if (look === null || !isOfPanel(family, reading)) continue;
    if (look.demand !== panel.demand && !isWeather(quantityOf(panel, look.of))) continue;
    found.set(look.of, { value: reading.valueSi!, spread: look.instrument_sd });
  }
  return found;
}
