/** The belief after a repair on a real job: relapses, look-alikes, a second fault (aftermath.py). */

import type { Belief } from "./belief.ts";
import type { Family } from "./family.ts";
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
  const mindful = withLookAlike(belief, relapsed, repairId, touched);
  const after = withSecondFault(mindful, family.constants.PAIR_SHARE * removed);
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
  const { rootsOf, constants } = before.family;
  return movedBack(before, after, repairId, constants.COMES_BACK, (w, to) =>
    rootsOf[w]!.length === 0 || touched[w] || to === w ? -1 : w,
  );
}

/** Mindful that what was repaired may be another thing outside the library that looks the same. */
function withLookAlike(
  before: Belief,
  after: Belief,
  repairId: string,
  touched: Uint8Array,
): Belief {
  const { outside, constants } = before.family;
  return movedBack(before, after, repairId, constants.LOOKS_ALIKE, (w) =>
    touched[w] ? outside[w]! : -1,
  );
}

/** Takes a share of what a repair moved to where it belongs instead; -1 leaves it. */
function movedBack(
  before: Belief,
  after: Belief,
  repairId: string,
  share: number,
  belongs: (world: number, target: number) => number,
): Belief {
  const { fixes, success } = before.family.repairs.get(repairId)!;
  const chance = before.probabilities();
  const target = targets(before.family, fixes);
  const mixed = Float64Array.from(after.probabilities());
  target.forEach((to, w) => {
    const instead = to < 0 ? -1 : belongs(w, to);
    if (instead < 0) return;
    mixed[to]! -= share * success * chance[w]!;
    mixed[instead]! += share * success * chance[w]!;
  });
  return after.startedWith(mixed);
}

/** How likely each world with a single root is beside the others of its setting, and their sums. */
interface Single {
  readonly prior: Float64Array;
  readonly usual: Float64Array;
}

const singles = new WeakMap<Family, Single>();

function singleOf(family: Family): Single {
  let found = singles.get(family);
  if (found === undefined) {
    const { logPrior, rootsOf, other, setting } = family;
    const top = logPrior.reduce((most, value) => Math.max(most, value), -Infinity);
    const prior = logPrior.map((value, w) =>
      rootsOf[w]!.length === 1 && !other[w] ? Math.exp(value - top) : 0,
    );
    const usual = new Float64Array(family.settings.length);
    for (let w = 0; w < family.size; w++) usual[setting[w]!]! += prior[w]!;
    singles.set(family, (found = { prior, usual }));
  }
  return found;
}

/** Mindful that a second fault may have been there as well. */
function withSecondFault(belief: Belief, share: number): Belief {
  const { size, setting, settings } = belief.family;
  const { prior, usual } = singleOf(belief.family);
  const chance = belief.probabilities();
  const held = new Float64Array(settings.length);
  for (let w = 0; w < size; w++) held[setting[w]!]! += chance[w]!;
  const each = held.map((mass, s) => mass / Math.max(usual[s]!, 1e-300));
  const second = new Float64Array(size);
  let total = 0;
  for (let w = 0; w < size; w++) total += second[w] = prior[w]! * each[setting[w]!]!;
  if (total <= 0) return belief;
  for (let w = 0; w < size; w++) second[w] = (1 - share) * chance[w]! + (share * second[w]!) / total;
  return belief.startedWith(second);
}
