/** Before leaving: a root that is likelier there than not is mended (see unmended.py). */

import type { Belief } from "./belief.ts";
import { byCode } from "./belief.ts";
import { LEAVE_ID } from "./ending.ts";
import { helpingRepairs, sharesHelped } from "./family.ts";
import { prepare, repairAllowed } from "./safety_order.ts";
import type { Situation, Step } from "./situation.ts";
import { totalCost } from "./situation.ts";

/** The steps, led by the repair of a root that is likelier there than not. */
export function mendBeforeLeaving(
  belief: Belief,
  situation: Situation,
  steps: readonly Step[],
): readonly Step[] {
  const leave = steps[0]!;
  if (situation.onPhone || leave.target !== LEAVE_ID) return steps;
  const { family } = belief;
  const { ids, roots } = helpingRepairs(family);
  const shares = sharesHelped(family, roots, belief.probabilities());
  const allowed = ids
    .map((id, r) => ({ repair: family.repairs.get(id)!, share: shares[r]! }))
    .filter(({ repair }) => repairAllowed(repair, situation))
    .sort(
      (a, b) =>
        b.share - a.share ||
        a.repair.minutes - b.repair.minutes ||
        byCode(b.repair.id, a.repair.id),
    );
  const best = allowed[0];
  if (best === undefined || best.share <= family.constants.LIKELIER_THAN_NOT) return steps;
  const { repair } = best;
  const ready = prepare(family, situation, repair.place, new Set(repair.requires));
  const step: Step = {
    kind: repair.refer ? "refer" : "repair",
    target: repair.id,
    title: repair.title,
    ownCost: (ready.minutes + repair.minutes) * family.dollarsPerMinute + repair.dollars,
    costAfter: totalCost(leave),
    first: ready.acts,
    forecasts: [],
  };
  return [step, ...steps];
}
