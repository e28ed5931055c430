/** Causes taken together as a technician takes them: by part, by repair (see grouped.py). */

import type { Belief } from "./belief.ts";
import { byCode } from "./belief.ts";
import type { Share } from "./causes.ts";
import type { Family } from "./family.ts";
import { LATENT } from "./family.ts";

/** The share of a system it may be, and the belief about its worlds. */
export type Weighted = readonly [number, Belief];

const plain = new WeakMap<Family, readonly Uint16Array[]>();

/** The columns of the roots of every world, latent ones and what is outside the library left out. */
function plainRoots(family: Family): readonly Uint16Array[] {
  let found = plain.get(family);
  if (found === undefined) {
    const latent = family.conditions.map((name) => family.kinds.get(name) === LATENT);
    found = family.rootsOf.map((roots, w) =>
      family.other[w] ? new Uint16Array() : roots.filter((j) => !latent[j]),
    );
    plain.set(family, found);
  }
  return found;
}

/** For every part the probability that a root of it is there, the likeliest first. */
export function sharesOfParts(
  beliefs: readonly Weighted[],
  partOfRoot: (root: string) => string,
): Share[] {
  const total = new Map<string, number>();
  for (const [weight, belief] of beliefs) {
    const { conditions } = belief.family;
    const roots = plainRoots(belief.family);
    belief.probabilities().forEach((share, w) => {
      const parts = new Set(Array.from(roots[w]!, (j) => partOfRoot(conditions[j]!)));
      for (const part of parts) total.set(part, (total.get(part) ?? 0) + weight * share);
    });
  }
  return [...total]
    .map(([id, probability]) => ({ id, probability }))
    .sort((a, b) => b.probability - a.probability || byCode(a.id, b.id));
}

/**
 * The repairs that together are likeliest to hit, the best first. The share of each is the
 * probability that it removes a root where those before it would have removed none.
 */
export function sharesOfRepairs(
  beliefs: readonly Weighted[],
  fixes: ReadonlyMap<string, ReadonlySet<string>>,
  limit = 3,
): Share[] {
  const hits = new Map(
    [...fixes].map(([repair, roots]) => [repair, beliefs.map(([, one]) => hit(one, roots))]),
  );
  const left = beliefs.map(([weight, one]) => one.probabilities().map((p) => weight * p));
  const found: Share[] = [];
  while (found.length < limit && hits.size > 0) {
    let best = { id: "", probability: 0 };
    for (const [id, marked] of hits) {
      const probability = left.reduce((sum, p, i) => sum + massOf(p, marked[i]!), 0);
      if (probability > best.probability) best = { id, probability };
    }
    if (best.probability <= 0) break;
    found.push(best);
    hits.get(best.id)!.forEach((marked, i) => {
      left[i] = left[i]!.map((p, w) => (marked[w] ? 0 : p));
    });
    hits.delete(best.id);
  }
  return found;
}

/** Probability that at least one of some roots is there. */
export function shareOfAny(beliefs: readonly Weighted[], roots: ReadonlySet<string>): number {
  const sum = beliefs.reduce(
    (all, [weight, one]) => all + weight * massOf(one.probabilities(), hit(one, roots)),
    0,
  );
  return Math.min(sum, 1);
}

function hit(belief: Belief, roots: ReadonlySet<string>): Uint8Array {
  const wanted = belief.family.conditions.map((name) => roots.has(name));
  return Uint8Array.from(plainRoots(belief.family), (held) => (held.some((j) => wanted[j]) ? 1 : 0));
}

function massOf(chance: Float64Array, marked: Uint8Array): number {
  return chance.reduce((sum, p, w) => (marked[w] ? sum + p : sum), 0);
}
