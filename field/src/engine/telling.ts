/** Which checks would tell anything now (see telling.py). */

import type { Belief } from "./belief.ts";
import type { Likelihoods } from "./likelihood.ts";

/** For every check how many bits its answer is expected to tell about the worlds. */
export function toldBits(belief: Belief): Map<string, number> {
  const likely = likeliest(belief);
  const masses = new Map<Uint16Array, Float64Array>();
  const found = new Map<string, number>();
  for (const check of belief.family.checks.values()) {
    const table = belief.table(check);
    let mass = masses.get(table.row);
    if (mass === undefined || mass.length < table.count) {
      mass = new Float64Array(table.count);
      for (let i = 0; i < likely.worlds.length; i++) {
        mass[table.row[likely.worlds[i]!]!]! += likely.share[i]!;
      }
      masses.set(table.row, mass);
    }
    found.set(check.id, informationOf(mass, table));
  }
  return found;
}

/** The likeliest worlds, in their own order, with chances that sum to 1. */
function likeliest(belief: Belief): { worlds: Int32Array; share: Float64Array } {
  const chance = belief.probabilities();
  const order = Int32Array.from(chance.keys()).sort((a, b) => chance[b]! - chance[a]! || a - b);
  let count = 0;
  for (let sum = 0; count < order.length && sum < belief.family.constants.LIKELY_WORLDS; count++) {
    sum += chance[order[count]!]!;
  }
  const worlds = order.slice(0, count).sort();
  const total = worlds.reduce((sum, w) => sum + chance[w]!, 0);
  return { worlds, share: Float64Array.from(worlds, (w) => chance[w]! / total) };
}

/** Mutual information of world and answer in bits, from the mass of each distinct row. */
export function informationOf(
  mass: Float64Array,
  { rows, bits, columns, count }: Likelihoods,
): number {
  const usual = new Float64Array(columns);
  let within = 0;
  for (let r = 0; r < count; r++) {
    const m = mass[r]!;
    if (m === 0) continue;
    within += m * bits[r]!;
    for (let c = 0; c < columns; c++) usual[c]! += m * rows[r * columns + c]!;
  }
  let between = 0;
  for (const p of usual) between += p * Math.log2(Math.max(p, 1e-300));
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
