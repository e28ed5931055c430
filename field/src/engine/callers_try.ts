/** What a question is worth because it comes before something the caller could try (callers_try.py). */

import type { Draft } from "./draft.ts";
import { GO } from "./ending.ts";
import { columnsNamed } from "./family.ts";
import type { Kept } from "./kept.ts";
import { massByRow } from "./kept.ts";
import type { Likelihoods } from "./likelihood.ts";
import type { Step } from "./situation.ts";
import { totalCost } from "./situation.ts";

/** Something the caller could try: the worlds it touches, and what it is worth and costs there. */
interface Try {
  readonly touched: readonly number[];
  readonly worth: number;
  readonly cost: number;
}

const TINY = 1e-9;

/** The dollars each question saves by the tries that its answers speak for. */
export function triesAfterAnswers(
  kept: Kept,
  drafts: readonly Draft[],
  steps: readonly Step[],
): Map<string, number> {
  const going = steps.find((step) => step.target === GO);
  const found = new Map<string, number>();
  if (going === undefined) return found;
  const totals = new Map(steps.map((step) => [step.target, totalCost(step)]));
  const tries = drafts
    .filter(({ kind }) => kind === "repair")
    .map((draft) => tryOf(kept, draft, totalCost(going) - totals.get(draft.target)!));
  for (const { kind, target } of drafts) {
    const check = kept.family.checks.get(target);
    if (kind !== "ask" || check === undefined || tries.length === 0) continue;
    found.set(target, savedBy(kept, kept.told(check), tries));
  }
  return found;
}

function tryOf(kept: Kept, draft: Draft, saves: number): Try {
  const { family, share } = kept;
  const fixed = new Set(columnsNamed(family, family.repairs.get(draft.target)!.fixes));
  const touched = Array.from(kept.worlds).filter((w) => family.holds[w]!.some((j) => fixed.has(j)));
  const chance = touched.reduce((sum, w) => sum + share[w]!, 0);
  const worth = Math.max(saves + draft.ownCost, 0) / Math.max(chance, TINY);
  return { touched, worth, cost: draft.ownCost };
}

function savedBy(kept: Kept, table: Likelihoods, tries: readonly Try[]): number {
  const { columns, rows, row } = table;
  const best = new Float64Array(columns);
  const said = new Float64Array(columns);
  massByRow(kept, table).forEach((mass, r) => {
    for (let a = 0; a < columns; a++) said[a]! += mass * rows[r * columns + a]!;
  });
  for (const { touched, worth, cost } of tries) {
    const joint = new Float64Array(columns);
    for (const w of touched) {
      const mass = kept.share[w]!;
      for (let a = 0; a < columns; a++) joint[a]! += mass * rows[row[w]! * columns + a]!;
    }
    for (let a = 0; a < columns; a++) {
      best[a] = Math.max(best[a]!, worth * joint[a]! - cost * said[a]!);
    }
  }
  return best.reduce((sum, dollars) => sum + dollars, 0);
}
