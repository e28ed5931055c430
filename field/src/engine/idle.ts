/** What is not worth anybody's time (see idle.py). */

import type { Belief } from "./belief.ts";
import type { Catalog } from "./catalog.ts";
import { helpingRepairs, sharesHelped } from "./family.ts";

const OTHER_DEMANDS: Readonly<Record<string, readonly string[]>> = {
  cooling: ["heat", "emergency"],
  heating: ["cool"],
};

/** The checks a caller cannot answer in a season: they ask for the other kind of call. */
export function outOfSeason(data: Catalog, season: string | null): Set<string> {
  const other = OTHER_DEMANDS[season ?? ""] ?? [];
  const found = new Set<string>();
  for (const check of data.checks.values()) if (other.includes(check.runs)) found.add(check.id);
  return found;
}

/** The questions that ask for what another answer already told, in other words. */
export function answeredAlike(data: Catalog, done: ReadonlySet<string>): Set<string> {
  const told = new Set<number>();
  for (const id of done) {
    const looked = data.checks.get(id)?.looks_at ?? null;
    if (looked !== null) told.add(looked);
  }
  const found = new Set<string>();
  for (const check of data.checks.values()) {
    if (check.looks_at !== null && told.has(check.looks_at) && !done.has(check.id)) {
      found.add(check.id);
    }
  }
  return found;
}

/** The repairs that hardly any world needs; on the phone all, once the system works. */
export function idleRepairs(belief: Belief, onPhone: boolean): Set<string> {
  const { family } = belief;
  const { WORTH_TRYING, WORTH_DOING } = family.constants;
  const { ids, conditions } = helpingRepairs(family);
  const least = onPhone ? WORTH_TRYING : WORTH_DOING;
  const shares = sharesHelped(family, conditions, belief.probabilities());
  return new Set(ids.filter((_, r) => shares[r]! < least || (onPhone && belief.verdict === true)));
}
