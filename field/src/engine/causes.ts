/** What the belief says: causes, what they left behind, what lurks (see causes.py). */

import type { Belief } from "./belief.ts";
import { byCode } from "./belief.ts";
import type { Family } from "./family.ts";
import { LATENT, OTHER, shareOf } from "./family.ts";

export const NO_FAULT = "no-fault";

/** A name and the probability that it holds. */
export interface Share {
  readonly id: string;
  readonly probability: number;
}

export interface Causes {
  readonly roots: readonly Share[];
  readonly consequences: readonly Share[];
  readonly several: number;
  readonly noFault: number;
  readonly other: number;
  readonly leading: Share;
}

/** Per world, what ranking asks for; the world outside the library names nothing. */
interface Named {
  /** Columns of its roots, latent ones left out, and of what they left behind. */
  readonly roots: readonly Uint16Array[];
  readonly leftBehind: readonly Uint16Array[];
}

const named = new WeakMap<Family, Named>();

function namedOf(family: Family): Named {
  let found = named.get(family);
  if (found === undefined) {
    const isLatent = family.conditions.map((name) => family.kinds.get(name) === LATENT);
    const none = new Uint16Array();
    const held = (w: number): Uint16Array =>
      family.other[w] ? none : family.holds[w]!.filter((j) => !isLatent[j]);
    found = {
      roots: family.rootsOf.map((roots, w) => held(w).filter((j) => roots.includes(j))),
      leftBehind: family.rootsOf.map((roots, w) => held(w).filter((j) => !roots.includes(j))),
    };
    named.set(family, found);
  }
  return found;
}

/** Ranks all causes under the belief. */
export function rankCauses(belief: Belief): Causes {
  const { family } = belief;
  const chance = belief.probabilities();
  const { roots, leftBehind } = namedOf(family);
  let several = 0;
  for (let w = 0; w < family.size; w++) if (roots[w]!.length > 1) several += chance[w]!;
  const ranked = tallied(family, roots, chance);
  const noFault = shareOf(family.lasts, chance);
  const other = shareOf(family.other, chance);
  return {
    roots: ranked,
    consequences: tallied(family, leftBehind, chance),
    several,
    noFault,
    other,
    leading: leadingOf(ranked, noFault, other),
  };
}

function leadingOf(roots: readonly Share[], noFault: number, other: number): Share {
  const named = [
    ...roots.slice(0, 1),
    { id: NO_FAULT, probability: noFault },
    { id: OTHER, probability: other },
  ];
  return named.reduce((best, one) => (one.probability > best.probability ? one : best));
}

/** The share of the worlds that list each condition, the likeliest first. */
function tallied(
  family: Family,
  lists: readonly Uint16Array[],
  chance: Float64Array,
): Share[] {
  const { conditions } = family;
  const sums = new Float64Array(conditions.length);
  const seen = new Uint8Array(conditions.length);
  for (let w = 0; w < lists.length; w++) {
    const list = lists[w]!;
    for (let k = 0; k < list.length; k++) {
      sums[list[k]!]! += chance[w]!;
      seen[list[k]!] = 1;
    }
  }
  return sorted(
    conditions.flatMap((id, j) => (seen[j] ? [{ id, probability: sums[j]! }] : [])),
  );
}

function sorted(shares: Share[]): Share[] {
  return shares.sort((a, b) => b.probability - a.probability || byCode(a.id, b.id));
}

/** The share of every setting. */
export function settingWeights(belief: Belief): Float64Array {
  const { family } = belief;
  const chance = belief.probabilities();
  const found = new Float64Array(family.settings.length);
  for (let w = 0; w < family.size; w++) found[family.setting[w]!]! += chance[w]!;
  return found;
}
