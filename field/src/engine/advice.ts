/** What a caller may safely do until somebody comes; advice, not orders (see advice.py). */

import type { Reading } from "./belief.ts";
import { byCode } from "./belief.ts";
import type { Catalog } from "./catalog.ts";
import { columnsNamed, holdsAny, shareOf } from "./family.ts";
import type { Guide } from "./guide.ts";

export interface Advice {
  readonly text: string;
  readonly chance: number;
  readonly repairId: string;
}

/** What to say at once where an answer means danger; empty where none does. */
export function dangerAdvice(data: Catalog, dangers: readonly Reading[]): string[] {
  const kinds = dangers.map(
    ({ checkId, outcomeId }) => data.checks.get(checkId)?.danger_kinds[outcomeId ?? ""] ?? "damage",
  );
  return [...new Set(kinds)].flatMap((kind) => data.words.danger[kind] ?? []);
}

/** What the caller may try now, the likeliest to matter first; nothing while there is danger. */
export function advice(guide: Guide): Advice[] {
  if (guide.dangers.length > 0) return [];
  const { family, data } = guide;
  const chance = guide.belief.probabilities();
  const share = (conditions: readonly string[]): number =>
    shareOf(holdsAny(family, columnsNamed(family, conditions)), chance);
  const found: Advice[] = data.words.precautions.map(({ faults, text }) => ({
    text,
    chance: share(family.conditions.filter((name) => faults.some((glob) => fits(glob, name)))),
    repairId: "",
  }));
  for (const repair of family.repairs.values()) {
    if (!repair.caller_safe || repair.refer || wasTried(guide, repair.id, repair.fixes)) continue;
    const steps = data.repairs.get(repair.id)?.steps.join(" ") ?? "";
    const text = `${repair.title}: ${steps}`;
    found.push({ text, chance: share(repair.fixes), repairId: repair.id });
  }
  return found
    .filter((one) => one.chance >= family.constants.WORTH_SAYING)
    .sort((a, b) => b.chance - a.chance || byCode(a.text, b.text));
}

/** Whether a name fits a pattern that is the name itself or ends in an asterisk. */
function fits(pattern: string, name: string): boolean {
  return pattern.endsWith("*") ? name.startsWith(pattern.slice(0, -1)) : name === pattern;
}

/** Whether this was done already, as a repair or as a reset: nobody resets twice. */
function wasTried(guide: Guide, repairId: string, fixes: readonly string[]): boolean {
  for (const entry of guide.state.timeline) {
    if (entry.kind === "repair_done" && entry.body.repair_id === repairId) return true;
    if (entry.kind !== "reading_taken") continue;
    const resets = guide.data.checks.get(entry.body.check_id)?.resets ?? [];
    if (resets.some((condition) => fixes.includes(condition))) return true;
  }
  return false;
}
