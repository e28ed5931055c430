/** Today's targets for a call, and how what was read stands to them (see todays_targets.py). */

import type { Belief } from "./belief.ts";
import type { CompiledCall } from "./compiled_call.ts";
import type { Expected, Today, Verdict } from "./expected_target.ts";
import { chartSuperheat, judged, modelExpected, tableSplit, valveRange } from "./expected_target.ts";
import { isWeather, quantityOf } from "./panel.ts";
import { isOfPanel } from "./panel_reading.ts";
import type { PanelView } from "./panel_view.ts";
import type { TargetData, TargetGrid, TargetUnit } from "./target_data.ts";

/** One source's target (K or W) with its verdict; a range has no deviation of its own. */
export interface Target extends Expected {
  readonly verdict: Verdict;
}

/** A quantity with what was read of it (K) and its targets. */
export interface Judged {
  readonly quantity: string;
  readonly title: string;
  readonly isPower: boolean;
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

/** Value and standard deviation of what was read (K). */
interface Read {
  readonly value: number;
  readonly spread: number;
}

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

function quantities(make: Maker, read: (name: string) => Read | null): Judged[] {
  const { data, unit, today } = make;
  const cooling = unit.demand === "cool";
  const own = (name: string): Expected => fromModel(make, name);
  const superheat = [own("superheat")];
  if (cooling) superheat.push(unit.valve ? valveRange(data) : chartSuperheat(data, today));
  const split = cooling ? [own("split"), tableSplit(data, today)] : [own("split")];
  const found = [
    against(data, "superheat", superheat, read("superheat")),
    against(data, "subcooling", [own("subcooling")], read("subcooling")),
    against(data, "split", split, read("split")),
    capacity(make, "capacity", "net_w"),
  ];
  return cooling ? [...found, capacity(make, "sensible-capacity", "sensible_w")] : found;
}

function fromModel({ data, unit, grid, today }: Maker, name: string): Expected {
  return modelExpected(data, unit, grid, today, `${name}_k`, data.bands_k[name]!);
}

function against(
  data: TargetData,
  quantity: string,
  sources: readonly Expected[],
  read: Read | null,
): Judged {
  const targets = sources.map((one) => ({ ...one, verdict: verdictOf(one, read) }));
  return {
    quantity,
    title: data.titles[quantity]!,
    isPower: false,
    reading: read?.value ?? null,
    deviation: read?.spread ?? 0,
    targets,
  };
}

function verdictOf({ value, band, deviation }: Expected, read: Read | null): Verdict {
  if (value === null || read === null) return "";
  return judged(read.value, value, band, Math.hypot(deviation, read.spread));
}

function capacity(make: Maker, quantity: string, name: string): Judged {
  const { data, unit, grid, today, tons } = make;
  const one = modelExpected(data, unit, grid, today, name, 0);
  const [value, deviation] = [one.value!, one.deviation].map((watts) => (watts * tons) / unit.tons);
  return {
    quantity,
    title: data.titles[quantity]!,
    isPower: true,
    reading: null,
    deviation: 0,
    targets: [{ ...one, value: value!, deviation: deviation!, verdict: "" }],
  };
}

/** What was read, worked out where its parts were; the split as return less supply. */
function readingsOf(belief: Belief, view: PanelView): (name: string) => Read | null {
  const told = toldUnder(belief, view);
  const kelvin = (name: string): Read | null => {
    const one = told.get(name);
    if (one === undefined) return null;
    const { chart } = quantityOf(view.panel, name);
    if (chart === "") return one;
    const { at, slope } = view.panel.charts[0]!.temperature(one.value, chart);
    return { value: at, spread: one.spread * slope };
  };
  const found = (name: string): Read | null => {
    const whole = kelvin(name);
    if (whole !== null) return whole;
    const [one, other] = quantityOf(view.panel, name).parts.map(kelvin);
    if (one == null || other == null) return null;
    const sign = name === "superheat" ? -1 : 1;
    return { value: sign * (one.value - other.value), spread: Math.hypot(one.spread, other.spread) };
  };
  return (name) => {
    const read = found(name);
    return name === "split" && read !== null ? { ...read, value: -read.value } : read;
  };
}

/** What was read off the circuit under the panel's demand, and of the weather; of repeats the last. */
function toldUnder({ family, readings }: Belief, { panel }: PanelView): Map<string, Read> {
  const found = new Map<string, Read>();
  for (const reading of readings) {
    const look = family.checks.get(reading.checkId)?.look ?? null;
    if (look === null || !isOfPanel(family, reading)) continue;
    if (look.demand !== panel.demand && !isWeather(quantityOf(panel, look.of))) continue;
    found.set(look.of, { value: reading.valueSi!, spread: look.instrument_sd });
  }
  return found;
}
