/** Which checks would tell anything now (see telling.py). */

import type { Belief } from "./belief.ts";
import type { Likelihoods } from "./family.ts";
import { likelihoodTable } from "./family.ts";
import { countReaching, likeliestFirst } from "./forecast.ts";

/** For every check how many bits its answer is expected to tell about the worlds. */
export function toldBits(belief: Belief): Map<string, number> {
  const { family } = belief;
  const likely = likeliest(belief);
  const masses = new Map<Uint16Array, Float64Array>();
  const found = new Map<string, number>();
  for (const check of family.checks.values()) {
    const table = likelihoodTable(family, check);
    let mass = masses.get(table.row);
    if (mass === undefined || mass.length < table.count) {
      mass = new Float64Array(table.count);
      for (let i = 0; i < likely.worlds.length; i++) {
        mass[table.row[likely.worlds[i]!]!]! += likely.share[i]!;
      }
      masses.set(table.row, mass);
    }
    found.set(check.id, information(mass, table));
  }
  return found;
}

/** The likeliest worlds, in their own order, with chances that sum to 1. */
function likeliest(belief: Belief): { worlds: Int32Array; share: Float64Array } {
  const chance = belief.probabilities();
  const order = likeliestFirst(chance);
  const count = countReaching(order, chance, belief.family.constants.LIKELY_WORLDS);
  const worlds = order.slice(0, count).sort();
  let sum = 0;
  for (const w of worlds) sum += chance[w]!;
  return { worlds, share: Float64Array.from(worlds, (w) => chance[w]! / sum) };
}

function information(mass: Float64Array, { rows, bits, columns, count }: Likelihoods): number {
  const usual = new Float64Array(columns);
  let within = 0;
  for (let r = 0; r < count; r++) {
    const m = mass[r]!;
    if (m === 0) continue;
    within += m * bits[r]!;
    for (let c = 0; c < columns; c++) usual[c]! += m * rows[r * columns + c]!;
  }
  let between = 0;
  for (const p of usual) between += Math.max(p, 1e-300) * Math.log2(Math.max(p, 1e-300));
  return within - between;
}

/** The checks that would tell next to nothing now, questions about danger excepted. */
export function silentChecks(belief: Belief): Set<string> {
  const { checks, constants } = belief.family;
  const found = new Set<string>();
  for (const [id, told] of toldBits(belief)) {
    const check = checks.get(id)!;
    const warns = check.phone && check.outcomes.some((outcome) => outcome.danger);
    if (told < constants.TELLING_BITS && !check.proof && !warns) found.add(id);
  }
  return found;
}
