/** The belief after a repair on a real job: relapses, a second fault (see aftermath.py). */

import type { Belief } from "./belief.ts";
import type { Family, Repair } from "./family.ts";
import { columnsNamed, holdsAny, rootsAny, shareOf, targets } from "./family.ts";

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
  let top = -Infinity;
  for (const value of family.logPrior) if (value > top) top = value;
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

/** Repairs that would be undone at once: a fuse while the short is likelier than not. */
export function prematureRepairs(belief: Belief, returnsAtOnce: ReadonlySet<string>): Set<string> {
  const chance = belief.probabilities();
  const found = new Set<string>();
  for (const { id, behind, needed } of undoings(belief.family, returnsAtOnce)) {
    if (shareOf(behind, chance) > 0.5 * shareOf(needed, chance)) found.add(id);
  }
  return found;
}

/** A repair that may be undone: the worlds where it would be, and those that need it. */
interface Undoing {
  readonly id: string;
  readonly behind: Uint8Array;
  readonly needed: Uint8Array;
}

const knownUndoings = new WeakMap<Family, readonly Undoing[]>();

function undoings(family: Family, returnsAtOnce: ReadonlySet<string>): readonly Undoing[] {
  let found = knownUndoings.get(family);
  if (found === undefined) {
    found = [...family.repairs.values()].flatMap((repair) => undoing(family, repair, returnsAtOnce));
    knownUndoings.set(family, found);
  }
  return found;
}

function undoing(
  family: Family,
  repair: Repair,
  returnsAtOnce: ReadonlySet<string>,
): readonly Undoing[] {
  const fixed = columnsNamed(family, repair.fixes);
  const quick = fixed.filter((j) => returnsAtOnce.has(family.conditions[j]!));
  if (quick.length === 0) return [];
  const gone = new Set(fixed);
  const behind = holdsAny(family, quick).map((held, w) =>
    held && family.rootsOf[w]!.some((j) => !gone.has(j)) ? 1 : 0,
  );
  return [{ id: repair.id, behind, needed: holdsAny(family, fixed) }];
}
