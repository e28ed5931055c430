/** The belief after a repair on a real job: relapses, a second fault (see aftermath.py). */

import type { Belief } from "./belief.ts";
import { columnsNamed, rootsAny, shareOf, targets } from "./family.ts";

const WORKS = "works";
const NO_CHANGE = "no-change";

/** The belief after a repair and what came of it; `worked` null: not known. */
export function afterRepair(belief: Belief, repairId: string, worked: boolean | null): Belief {
  const { family } = belief;
  const { fixes, success } = family.repairs.get(repairId)!;
  const chance = belief.probabilities();
  const touched = rootsAny(family, columnsNamed(family, fixes));
  const removed = success * shareOf(touched, chance);
  const relapsed = withRelapse(belief, belief.repairTried(repairId), repairId, touched);
  const after = withSecondFault(relapsed, family.constants.PAIR_SHARE * removed);
  return worked === null ? after : after.systemTried(worked);
}

/**
 * The belief after something that tripped or blew was put back once and watched: what is gone then,
 * and what came of it. Where it tripped or blew again, all is as it was; where not, the system has
 * still to be run and judged.
 */
export function afterPuttingBack(
  belief: Belief,
  conditions: readonly string[],
  outcomeId: string | null,
): Belief {
  if (outcomeId !== WORKS && outcomeId !== NO_CHANGE) return belief.judged(false);
  const target = targets(belief.family, conditions);
  const moved = new Float64Array(belief.family.size);
  belief.probabilities().forEach((share, w) => {
    moved[target[w]! >= 0 ? target[w]! : w]! += share;
  });
  return belief.startedWith(moved).judged(null);
}

/** Mindful that a new fuse blows again while the short is still there. */
function withRelapse(
  before: Belief,
  after: Belief,
  repairId: string,
  touched: Uint8Array,
): Belief {
  const { family } = before;
  const { fixes, success } = family.repairs.get(repairId)!;
  const chance = before.probabilities();
  const target = targets(family, fixes);
  const mixed = Float64Array.from(after.probabilities());
  for (let w = 0; w < family.size; w++) {
    const to = target[w]!;
    if (family.rootsOf[w]!.length === 0 || touched[w] || to < 0 || to === w) continue;
    const back = family.constants.COMES_BACK * success * chance[w]!;
    mixed[w]! += back;
    mixed[to]! -= back;
  }
  return after.startedWith(mixed);
}

/** Mindful that a second fault may have been there as well. */
function withSecondFault(belief: Belief, share: number): Belief {
  const { family } = belief;
  const chance = belief.probabilities();
  const top = family.logPrior.reduce((most, value) => Math.max(most, value), -Infinity);
  const prior = family.logPrior.map((value, w) =>
    family.rootsOf[w]!.length === 1 && !family.other[w] ? Math.exp(value - top) : 0,
  );
  const held = new Float64Array(family.settings.length);
  const usual = new Float64Array(family.settings.length);
  for (let w = 0; w < family.size; w++) {
    held[family.setting[w]!]! += chance[w]!;
    usual[family.setting[w]!]! += prior[w]!;
  }
  const second = prior.map((weight, w) => {
    const s = family.setting[w]!;
    return weight * (held[s]! / Math.max(usual[s]!, 1e-300));
  });
  const total = second.reduce((sum, weight) => sum + weight, 0);
  if (total <= 0) return belief;
  return belief.startedWith(
    chance.map((p, w) => (1 - share) * p + (share * second[w]!) / total),
  );
}
