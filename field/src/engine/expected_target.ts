/** What a sound unit should read today, with its uncertainty, and the verdict (cycle/expected.py, verdict.py). */

import type { Air, TargetData, TargetGrid, TargetUnit } from "./target_data.ts";
import { between, cornersAt, limitWords, valueAt } from "./target_data.ts";

/** The weather of the visit and its spreads (K). */
export interface Today {
  readonly air: Air;
  readonly spread: Air;
}

/** One source's target (K or W); null where it has none today. */
export interface Expected {
  readonly source: string;
  readonly value: number | null;
  readonly deviation: number;
  /** How far a reading may lie to either side and still pass (K); none for a capacity. */
  readonly band: number;
  readonly note: string;
}

export type Verdict = "ok" | "low" | "high" | "too-close" | "";

const STEP_K = 1;

/** A quantity of this unit's own model. */
export function modelExpected(
  data: TargetData,
  unit: TargetUnit,
  grid: TargetGrid,
  { air, spread }: Today,
  name: string,
  band: number,
): Expected {
  const axes = data.axes[unit.demand]!;
  const corners = cornersAt(axes, air);
  const value = valueAt(data, grid, corners, name);
  const weather = air.map((_, k) => {
    const moved = [...air] as [number, number, number];
    moved[k]! -= STEP_K;
    moved[2] = Math.min(moved[2], moved[1]);
    return (valueAt(data, grid, cornersAt(axes, moved), name) - value) * spread[k]!;
  });
  const own = data.own[unit.valve && name === "superheat_k" ? `valve ${name}` : name]!;
  const notes = limitWords(data, unit.demand, grid, corners);
  if (unit.demand === "cool" && air[0] < data.coldest_k) notes.push(data.words["cold"]!);
  const deviation = Math.hypot(...weather, name.endsWith("_k") ? own : own * Math.abs(value));
  return { source: data.words["model"]!, value, deviation, band, note: notes.join("; ") };
}

/** The published chart for fixed orifices. */
export function chartSuperheat(data: TargetData, { air, spread }: Today): Expected {
  const { words, chart, bands_k } = data;
  const at = (outdoor: number, wet: number): number | null => chartAt(chart, outdoor, wet);
  const point = [air[0], air[2]] as const;
  const none = within(air[0], chart.outdoor_k) && within(air[2], chart.wet_bulb_k);
  return published(at, point, [spread[0], spread[2]], {
    source: words["chart"]!,
    own: chart.deviation_k,
    band: bands_k["superheat"]!,
    missing: words[none ? "dash" : "off_chart"]!,
  });
}

/** The published table of the drop across the indoor coil. */
export function tableSplit(data: TargetData, { air, spread }: Today): Expected {
  const { words, split, bands_k } = data;
  const at = (dry: number, wet: number): number | null => splitAt(split, dry, wet);
  return published(at, [air[1], air[2]], [spread[1], spread[2]], {
    source: words["split"]!,
    own: split.deviation_k,
    band: bands_k["split"]!,
    missing: words["off_split"]!,
  });
}

/** The usual range of an expansion valve that works. */
export function valveRange({ words, valve_superheat_k: [low, high] }: TargetData): Expected {
  const band = (high - low) / 2;
  return { source: words["valve"]!, value: (low + high) / 2, deviation: 0, band, note: "" };
}

/** A reading against a target: too close to call when the uncertainty covers an edge of the band. */
export function judged(reading: number, target: number, band: number, deviation: number): Verdict {
  const away = reading - target;
  const [over, under] = [away - band, -band - away];
  if (over > deviation + TINY) return "high";
  if (under > deviation + TINY) return "low";
  return Math.max(over, under) <= (deviation <= 0 ? TINY : -deviation) ? "ok" : "too-close";
}

const TINY = 1e-9;

type Relation = (one: number, other: number) => number | null;

interface Published {
  readonly source: string;
  readonly own: number;
  readonly band: number;
  readonly missing: string;
}

function published(
  at: Relation,
  [one, other]: readonly [number, number],
  spread: readonly [number, number],
  { source, own, band, missing }: Published,
): Expected {
  const value = at(one, other);
  if (value === null) return { source, value, deviation: 0, band, note: missing };
  const slope = (move: (step: number) => number | null): number => {
    for (const step of [STEP_K, -STEP_K]) {
      const moved = move(step);
      if (moved !== null) return (moved - value) / step;
    }
    return 0;
  };
  const parts = [
    slope((step) => at(one + step, other)) * spread[0],
    slope((step) => at(one, other + step)) * spread[1],
  ];
  return { source, value, deviation: Math.hypot(own, ...parts), band, note: "" };
}

/** Whether an air lies on a chart, give or take the last bit of a conversion. */
function within(at: number, nodes: readonly number[]): boolean {
  return at >= nodes[0]! - 1e-6 && at <= nodes[nodes.length - 1]! + 1e-6;
}

function chartAt(chart: TargetData["chart"], outdoor: number, wet: number): number | null {
  if (!within(outdoor, chart.outdoor_k) || !within(wet, chart.wet_bulb_k)) return null;
  const rows = between(outdoor, chart.outdoor_k);
  const columns = between(wet, chart.wet_bulb_k);
  let found = 0;
  for (const [i, one] of [[0, 1 - rows.share], [1, rows.share]] as const) {
    for (const [j, other] of [[0, 1 - columns.share], [1, columns.share]] as const) {
      const weight = one * other;
      if (weight <= 1e-9) continue;
      const cell = chart.superheat_k[rows.low + i]![columns.low + j]!;
      if (cell === null) return null;
      found += weight * cell;
    }
  }
  return found;
}

function splitAt(split: TargetData["split"], dryK: number, wetK: number): number | null {
  const inside = (at: number, [low, high]: readonly [number, number]): boolean => at >= low && at <= high;
  if (!inside(dryK, split.dry_k) || !inside(wetK, split.wet_bulb_k)) return null;
  const [dry, wet] = [dryK, wetK].map((k) => k * 1.8 - 459.67) as [number, number];
  const [a, b, c, d, e, f] = split.polynomial;
  return (a + b * dry + c * dry ** 2 + d * wet + e * wet ** 2 + f * dry * wet) / 1.8;
}
