/** What each outcome of a step would mean (see forecast.py). */

import { byCode } from "./belief.ts";
import { NO_FAULT } from "./causes.ts";
import type { Family, Repair } from "./family.ts";
import { LATENT, OTHER, targets } from "./family.ts";
import type { Kept } from "./kept.ts";
import type { Forecast, Step } from "./situation.ts";

/** Target of the step that runs the system as it is. */
export const SYSTEM = "system";

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
