/** What is not worth anybody's time now (see worthwhile.py). */

import type { Belief } from "./belief.ts";
import type { Family } from "./family.ts";
import { columnsNamed, helpingRepairs, holdsAny, shareOf, sharesHelped } from "./family.ts";
import type { Practice } from "./practice.ts";
import { answeredAlike } from "./practice.ts";
import type { Situation } from "./situation.ts";
import { silentChecks } from "./telling.ts";

/** The checks and repairs that are not worth proposing in this situation. */
export function notWorthwhile(
  belief: Belief,
  situation: Situation,
  practice: Practice,
): Set<string> {
  const { onPhone, done } = situation;
  return new Set([
    ...silentChecks(belief, onPhone ? "caller" : "technician"),
    ...prematureRepairs(belief, practice.returning),
    ...idleRepairs(belief, onPhone),
    ...practice.otherSeason,
    ...(onPhone ? answeredAlike(practice, done) : []),
  ]);
}

/** The repairs that hardly any world needs; on the phone all, once the system works. */
function idleRepairs(belief: Belief, onPhone: boolean): string[] {
  const { family } = belief;
  const { WORTH_TRYING, WORTH_DOING } = family.constants;
  const { ids, conditions } = helpingRepairs(family);
  const least = onPhone ? WORTH_TRYING : WORTH_DOING;
  const shares = sharesHelped(family, conditions, belief.probabilities());
  const none = onPhone && belief.verdict === true;
  return ids.filter((_, r) => none || shares[r]! < least);
}

/** Where a repair of what arises at once has something to remove, and would be undone by a root. */
interface Quick {
  readonly id: string;
  readonly touched: Uint8Array;
  readonly undone: Uint8Array;
}

/** The repairs that would be undone at once: a fuse while the short is likelier than not. */
export function prematureRepairs(belief: Belief, returning: ReadonlySet<string>): string[] {
  const chance = belief.probabilities();
  return quickOf(belief.family, returning)
    .filter(({ touched, undone }) => shareOf(undone, chance) > 0.5 * shareOf(touched, chance))
    .map(({ id }) => id);
}

const known = new WeakMap<Family, Map<string, readonly Quick[]>>();

function quickOf(family: Family, returning: ReadonlySet<string>): readonly Quick[] {
  let all = known.get(family);
  if (all === undefined) known.set(family, (all = new Map()));
  const name = [...returning].sort().join();
  const found = all.get(name);
  if (found !== undefined) return found;
  const quick = [...family.repairs.values()].flatMap(({ id, fixes }) => {
    const soon = fixes.filter((condition) => returning.has(condition));
    if (soon.length === 0) return [];
    const fixed = new Set(columnsNamed(family, fixes));
    const brought = family.rootsOf.map((roots) => roots.some((j) => !fixed.has(j)));
    const undone = holdsAny(family, columnsNamed(family, soon)).map((holds, w) =>
      holds && brought[w] ? 1 : 0,
    );
    return [{ id, touched: holdsAny(family, [...fixed]), undone }];
  });
  all.set(name, quick);
  return quick;
}
