/** What each outcome of a step would mean (see forecast.py). */

import { byCode } from "./belief.ts";
import { NO_FAULT } from "./causes.ts";
import { tempered } from "./doubt.ts";
import type { Family, Repair } from "./family.ts";
import { LATENT, OTHER, targets } from "./family.ts";
import type { Kept } from "./kept.ts";
import type { Forecast, Step } from "./situation.ts";

/** Target of the step that runs the system as it is. */
export const SYSTEM = "system";

/** Outcome of a repair, and of running the system, after which it works. */
export const WORKED = "worked";

/**
 * Adds what each way the step may come out would mean. After a repair the statements are those of the
 * state it leaves: what it removed is gone. How likely it is to work is tempered by the doubt whether
 * this home is like any of the worlds.
 */
export function withForecasts(kept: Kept, step: Step, doubt: number): Step {
  const { family } = kept;
  const check = family.checks.get(step.target);
  if (check !== undefined) {
    const table = kept.told(check);
    const forecasts = check.outcomes.map((outcome, c) => {
      const weights = kept.chance.map(
        (share, i) => share * table.rows[table.row[kept.worlds[i]!]! * table.columns + c]!,
      );
      return forecast(family, outcome.id, outcome.label, outcome.danger, kept.worlds, weights);
    });
    return { ...step, forecasts };
  }
  const repair = family.repairs.get(step.target);
  if (repair === undefined && step.target !== SYSTEM) return step;
  const { worlds, weights } = tried(kept, repair);
  const running = weights.map((weight, i) => (family.works[worlds[i]!] ? weight : 0));
  const failing = weights.map((weight, i) => (family.works[worlds[i]!] ? 0 : weight));
  const works = forecast(family, WORKED, "it works now", false, worlds, running);
  const fails = forecast(family, "did-not", "it still fails", false, worlds, failing);
  if (repair === undefined) return { ...step, forecasts: [works, fails] };
  const probability = tempered(works.probability, doubt, family.constants);
  const rest = works.probability + fails.probability - probability;
  return { ...step, forecasts: [{ ...works, probability }, { ...fails, probability: rest }] };
}

/** How likely the system is to work after a repair, as the worlds say. */
export function chanceToWork(kept: Kept, repair: Repair): number {
  const { worlds, weights } = tried(kept, repair);
  let sum = 0;
  for (let i = 0; i < worlds.length; i++) if (kept.family.works[worlds[i]!]) sum += weights[i]!;
  return sum;
}

/** What leads before anything further is done. */
export function outlook(kept: Kept): Forecast {
  return forecast(kept.family, "now", "now", false, kept.worlds, kept.chance);
}

/**
 * The worlds that may be there when the system is tried, as it is or after a repair: those it leads to,
 * and those where it missed or has no target.
 */
function tried(
  { family, worlds, chance }: Kept,
  repair: Repair | undefined,
): { readonly worlds: Int32Array; readonly weights: Float64Array } {
  if (repair === undefined) return { worlds, weights: chance };
  const reached = targets(family, repair.fixes);
  const count = worlds.length;
  const after = new Int32Array(2 * count);
  const weights = new Float64Array(2 * count);
  for (let i = 0; i < count; i++) {
    const own = worlds[i]!;
    const to = reached[own]!;
    const share = to < 0 ? 0 : repair.success;
    after[i] = to < 0 ? own : to;
    after[count + i] = own;
    weights[i] = chance[i]! * share;
    weights[count + i] = chance[i]! * (1 - share);
  }
  return { worlds: after, weights };
}

function forecast(
  family: Family,
  outcomeId: string,
  label: string,
  danger: boolean,
  worlds: Int32Array,
  weights: Float64Array,
): Forecast {
  const statements = statementsOf(family);
  const sums = new Float64Array(statements.names.length);
  let total = 0;
  for (let i = 0; i < worlds.length; i++) {
    const weight = weights[i]!;
    total += weight;
    const stated = statements.of[worlds[i]!]!;
    for (let k = 0; k < stated.length; k++) sums[stated[k]!]! += weight;
  }
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
