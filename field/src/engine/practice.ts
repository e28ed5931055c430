/** What the trade knows of steps beyond their costs and readings (see practice.py). */

import type { Catalog } from "./catalog.ts";

const OTHER_DEMANDS: Readonly<Record<string, readonly string[]>> = {
  cooling: ["heat", "emergency"],
  heating: ["cool"],
};

/** Hazards to the people of the house: proofs that carry one are where they are looked out for. */
const LOOKED_OUT_FOR: ReadonlySet<string> = new Set(["gas", "carbon-monoxide"]);

/** What is known of the checks and conditions of a job. */
export interface Practice {
  /** Checks whose answer stays true after a repair: history, options, what a reset did. */
  readonly lasting: ReadonlySet<string>;
  /** Conditions that arise again at once while what brings them is there. */
  readonly returning: ReadonlySet<string>;
  /** For checks that put a tripped or blown thing back: the conditions that are gone then. */
  readonly putsBack: ReadonlyMap<string, readonly string[]>;
  /** Checks under the other kind of call: nobody heats a hot house to make them. */
  readonly otherSeason: ReadonlySet<string>;
  /** What a question looks at; two with the same number ask one thing in other words. */
  readonly looksAt: ReadonlyMap<string, number>;
  /** Proofs that guard the people of the house: without them a call is never closed as done. */
  readonly guarding: ReadonlySet<string>;
}

/** What the catalog knows for a call of a season; null: trouble with both. */
export function practiceOf(
  data: Catalog,
  season: string | null,
  returning: ReadonlySet<string>,
): Practice {
  const checks = [...data.checks.values()];
  return {
    lasting: new Set(checks.filter((check) => check.lasting).map(({ id }) => id)),
    returning,
    putsBack: new Map(
      checks.filter((check) => check.puts_back.length > 0).map((c) => [c.id, c.puts_back]),
    ),
    otherSeason: outOfSeason(data, season),
    looksAt: new Map(
      checks.flatMap(({ id, looks_at }) => (looks_at === null ? [] : [[id, looks_at] as const])),
    ),
    guarding: new Set(
      [...data.proofs.values()]
        .filter(({ hazards }) => hazards.some((hazard) => LOOKED_OUT_FOR.has(hazard)))
        .map(({ id }) => id),
    ),
  };
}

/** The checks a caller cannot answer in a season: they ask for the other kind of call. */
export function outOfSeason(data: Catalog, season: string | null): Set<string> {
  const other = OTHER_DEMANDS[season ?? ""] ?? [];
  const found = new Set<string>();
  for (const check of data.checks.values()) if (other.includes(check.runs)) found.add(check.id);
  return found;
}

/** The questions that ask for what another answer told, in other words. */
export function answeredAlike({ looksAt }: Practice, done: ReadonlySet<string>): Set<string> {
  const told = new Set<number>();
  for (const id of done) {
    const seen = looksAt.get(id);
    if (seen !== undefined) told.add(seen);
  }
  const found = new Set<string>();
  for (const [id, seen] of looksAt) if (told.has(seen) && !done.has(id)) found.add(id);
  return found;
}
