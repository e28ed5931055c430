/** What the world outside the library makes of readings (see outside.py). */

import type { Check, Family } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";
import { withOutside } from "./likelihood.ts";

/** Chance of every answer outside the library where one of them was read before a repair. */
export function asBefore(family: Family, check: Check, position: number): Float64Array {
  const { STAYS } = family.constants;
  const chance = new Float64Array(check.outcomes.length).fill((1 - STAYS) / check.outcomes.length);
  chance[position]! += STAYS;
  return chance;
}

/** Log of how much more a moment says for the worlds outside than it may; 0 where less. */
export function excessForOutside(
  family: Family,
  before: Float64Array,
  after: Float64Array,
): number {
  const was = logSumsByOther(family.other, before);
  const is = logSumsByOther(family.other, after);
  const gain = is.outside - was.outside - (is.inside - was.inside);
  return Math.max(gain - Math.log(family.constants.MOST_FOR_OUTSIDE), 0);
}

/**
 * The likelihoods of a check, the world outside the library as the belief will weigh it: where a moment
 * says more for it than it may, an answer is believed first to have been that much too much.
 *
 * `library`: chance of every answer in the library; `shown`: the same outside where the check was read
 * before a repair; `excess`: how much more the moment says than it may.
 */
export function asWeighed(
  table: Likelihoods,
  library: Float64Array,
  shown: Float64Array | null,
  excess: number,
): Likelihoods {
  const room = Math.exp(-excess);
  return withOutside(table, (own) => {
    const alone = shown ?? own;
    if (excess <= 0) return alone;
    const weighed = alone.map((chance, c) => Math.min(chance, room * library[c]!));
    const total = weighed.reduce((sum, chance) => sum + chance, 0);
    return weighed.map((chance) => chance / Math.max(total, TINY));
  });
}

const TINY = 2.2250738585072014e-308;

/** Logs of the sums over the worlds outside the library and over those in it. */
function logSumsByOther(
  other: Uint8Array,
  logs: Float64Array,
): { inside: number; outside: number } {
  const top = [-Infinity, -Infinity];
  for (let w = 0; w < logs.length; w++) {
    const side = other[w]! ? 1 : 0;
    if (logs[w]! > top[side]!) top[side] = logs[w]!;
  }
  const sum = [0, 0];
  for (let w = 0; w < logs.length; w++) {
    const side = other[w]! ? 1 : 0;
    sum[side]! += Math.exp(logs[w]! - top[side]!);
  }
  return { inside: top[0]! + Math.log(sum[0]!), outside: top[1]! + Math.log(sum[1]!) };
}
