/** The worlds worth reckoning with, and what each outcome of a step would mean (see forecast.py). */

import type { Belief } from "./belief.ts";
import { byCode } from "./belief.ts";
import { NO_FAULT } from "./causes.ts";
import type { Family, Repair } from "./family.ts";
import { LATENT, OTHER, targets } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";
import type { NeedTable } from "./need.ts";
import { needTable } from "./need.ts";
import type { Forecast, Step } from "./situation.ts";

/** Target of the step that runs the system as it is. */
export const SYSTEM = "system";

/** The likeliest worlds, sorted by needs; their chances sum to 1. */
export interface Kept {
  readonly family: Family;
  readonly belief: Belief;
  readonly needs: NeedTable;
  readonly worlds: Int32Array;
  readonly chance: Float64Array;
  readonly cut: number;
  /** The needs that occur and those that a repair leaves of them, ascending, 0 among them. */
  readonly ids: Int32Array;
  /** Place of each of the needs in `ids`, -1 for those left out. */
  readonly local: Int32Array;
  /** Place in `ids` of the needs of each world kept. */
  readonly column: Int32Array;
  /** Mass of each of the needs in `ids` now. */
  readonly present: Float64Array;
  /** What was summed by needs and row of a table; checks that share their rows share it. */
  readonly sums: Map<RowOf, NeedRowSums>;
}

type RowOf = Likelihoods["row"];

/** Mass of the worlds kept by needs and row of a table; only pairs that occur. */
export interface NeedRowSums {
  /** Place of the needs in `Kept.ids`. */
  readonly need: Int32Array;
  readonly row: Int32Array;
  readonly mass: Float64Array;
}

const ordered = new WeakMap<Float64Array, Int32Array>();

/**
 * Positions by falling share, equal ones in their own order; remembered, not to be changed. Shares
 * that differ in the last bits alone are equal, on every machine alike.
 */
export function likeliestFirst(chance: Float64Array): Int32Array {
  let order = ordered.get(chance);
  if (order === undefined) {
    const single = Float32Array.from(chance);
    order = Int32Array.from(chance.keys()).sort((a, b) => single[b]! - single[a]! || a - b);
    ordered.set(chance, order);
  }
  return order;
}

/** How many of the likeliest reach a share together. */
export function countReaching(order: Int32Array, chance: Float64Array, share: number): number {
  let sum = 0;
  for (let i = 0; i < order.length; i++) {
    sum += chance[order[i]!]!;
    if (sum >= share) return i + 1;
  }
  return order.length + 1;
}

export function keep(family: Family, belief: Belief): Kept {
  const { MOST_WORLDS, KEPT_MASS } = family.constants;
  const needs = needTable(family);
  const chance = belief.probabilities();
  const order = likeliestFirst(chance);
  const enough = countReaching(order, chance, KEPT_MASS);
  const best = order.slice(0, Math.min(enough, MOST_WORLDS, order.length));
  const place = new Int32Array(family.size);
  best.forEach((w, i) => (place[w] = i));
  best.sort((a, b) => needs.ofWorld[a]! - needs.ofWorld[b]! || place[a]! - place[b]!);
  let share = 0;
  for (const w of best) share += chance[w]!;
  const shares = Float64Array.from(best, (w) => chance[w]! / share);
  const cut = Math.max(0, 1 - share);
  const found = byNeeds(needs, best, shares);
  return { family, belief, needs, worlds: best, chance: shares, cut, ...found, sums: new Map() };
}

/** The needs of the worlds kept and what repairs leave of them. */
function byNeeds(
  needs: NeedTable,
  worlds: Int32Array,
  chance: Float64Array,
): Pick<Kept, "ids" | "local" | "column" | "present"> {
  const held = new Set(Array.from(worlds, (w) => needs.ofWorld[w]!));
  const used = new Set<number>([0, ...held]);
  for (const need of held) for (const left of needs.helped[need]!) used.add(left.target);
  const ids = Int32Array.from(used).sort();
  const local = new Int32Array(needs.sets.length).fill(-1);
  ids.forEach((id, u) => (local[id] = u));
  const column = Int32Array.from(worlds, (w) => local[needs.ofWorld[w]!]!);
  const present = new Float64Array(ids.length);
  chance.forEach((share, i) => (present[column[i]!]! += share));
  return { ids, local, column, present };
}

/** Sums the worlds kept by needs and row; they lie by needs, so those of one follow each other. */
export function needRowSums(kept: Kept, { row, count }: Likelihoods): NeedRowSums {
  const known = kept.sums.get(row);
  if (known !== undefined) return known;
  const { worlds, chance, column } = kept;
  const need = new Int32Array(worlds.length);
  const rows = new Int32Array(worlds.length);
  const mass = new Float64Array(worlds.length);
  const place = new Int32Array(count).fill(-1);
  let at = 0;
  let start = 0;
  for (let i = 0; i < worlds.length; i++) {
    if (i > 0 && column[i] !== column[i - 1]) start = at;
    const r = row[worlds[i]!]!;
    let k = place[r]!;
    if (k < start) {
      k = place[r] = at++;
      need[k] = column[i]!;
      rows[k] = r;
    }
    mass[k]! += chance[i]!;
  }
  const found = {
    need: need.subarray(0, at),
    row: rows.subarray(0, at),
    mass: mass.subarray(0, at),
  };
  kept.sums.set(row, found);
  return found;
}

/** Adds what each way the step may come out would mean. */
export function withForecasts(kept: Kept, step: Step): Step {
  const { family } = kept;
  const check = family.checks.get(step.target);
  if (check !== undefined) {
    const table = kept.belief.table(check);
    const forecasts = check.outcomes.map((outcome, c) => {
      const weights = kept.chance.map(
        (share, i) => share * table.rows[table.row[kept.worlds[i]!]! * table.columns + c]!,
      );
      return forecast(kept, outcome.id, outcome.label, outcome.danger, weights);
    });
    return { ...step, forecasts };
  }
  const repair = family.repairs.get(step.target);
  if (repair === undefined && step.target !== SYSTEM) return step;
  const works = worksAfter(kept, repair);
  return {
    ...step,
    forecasts: [
      forecast(kept, "worked", "it works now", false, kept.chance.map((p, i) => p * works[i]!)),
      forecast(
        kept,
        "did-not",
        "it still fails",
        false,
        kept.chance.map((p, i) => p * (1 - works[i]!)),
      ),
    ],
  };
}

/** What leads before anything further is done. */
export function outlook(kept: Kept): Forecast {
  return forecast(kept, "now", "now", false, kept.chance);
}

/** Chance that the system works when it is tried, as it is or after a repair. */
function worksAfter(kept: Kept, repair: Repair | undefined): Float64Array {
  const { family, worlds } = kept;
  if (repair === undefined) return Float64Array.from(worlds, (w) => family.works[w]!);
  const reached = targets(family, repair.fixes);
  return Float64Array.from(worlds, (w) => {
    if (family.works[w]) return 1;
    return reached[w]! >= 0 && family.works[reached[w]!] ? repair.success : 0;
  });
}

function forecast(
  kept: Kept,
  outcomeId: string,
  label: string,
  danger: boolean,
  weights: Float64Array,
): Forecast {
  const { family } = kept;
  const statements = statementsOf(family);
  const sums = new Float64Array(statements.names.length);
  let total = 0;
  kept.worlds.forEach((w, i) => {
    const weight = weights[i]!;
    total += weight;
    for (const s of statements.of[w]!) sums[s]! += weight;
  });
  let best = 0;
  const whole = Math.max(total, 1e-300);
  const rounded = sums.map((sum) => Math.round((sum / whole) * 1e9));
  for (let s = 1; s < sums.length; s++) if (rounded[s]! > rounded[best]!) best = s;
  const share = sums[best]! / whole;
  return { outcomeId, label, probability: total, leading: statements.names[best]!, share, danger };
}

interface Statements {
  readonly names: readonly string[];
  readonly of: readonly Uint16Array[];
}

const made = new WeakMap<Family, Statements>();

/** Which roots (or no fault, or OTHER) each world states. */
function statementsOf(family: Family): Statements {
  const known = made.get(family);
  if (known !== undefined) return known;
  const names = [...new Set([...family.conditions, NO_FAULT])].sort(byCode);
  const number = new Map(names.map((name, s) => [name, s]));
  const column = family.conditions.map((name) => number.get(name)!);
  const latent = family.conditions.map((name) => family.kinds.get(name) === LATENT);
  const outside = family.column.get(OTHER);
  const of = family.rootsOf.map((roots, w) => {
    const said = Array.from(roots).filter((j) => !latent[j] && family.holds[w]!.includes(j));
    if (family.other[w] && outside !== undefined && !said.includes(outside)) said.push(outside);
    const stated = said.map((j) => column[j]!);
    if (family.lasts[w]) stated.push(number.get(NO_FAULT)!);
    return Uint16Array.from(stated);
  });
  const statements = { names, of };
  made.set(family, statements);
  return statements;
}
