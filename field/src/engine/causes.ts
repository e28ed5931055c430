/** What the belief says: causes, what they left behind, what lurks (see causes.py). */

import type { Belief } from "./belief.ts";
import { byCode } from "./belief.ts";
import { LATENT, OTHER } from "./family.ts";
import { shareOf } from "./family.ts";

export const NO_FAULT = "no-fault";

/** A name and the probability that it holds. */
export interface Share {
  readonly id: string;
  readonly probability: number;
}

export interface Causes {
  readonly roots: readonly Share[];
  readonly consequences: readonly Share[];
  readonly latent: readonly Share[];
  readonly pairs: readonly Share[];
  readonly several: number;
  readonly noFault: number;
  readonly other: number;
  readonly settings: Readonly<Record<string, readonly Share[]>>;
  readonly cutMass: number;
  readonly leading: Share;
}

/** Ranks all causes under the belief. */
export function rankCauses(belief: Belief): Causes {
  const { family } = belief;
  const chance = belief.probabilities();
  const width = family.conditions.length;
  const isLatent = family.conditions.map((name) => family.kinds.get(name) === LATENT);
  const roots = new Tally(width);
  const consequences = new Tally(width);
  const latent = new Tally(width);
  const pairs = new Map<number, number>();
  let several = 0;
  for (let w = 0; w < family.size; w++) {
    if (family.other[w]) continue;
    const share = chance[w]!;
    const rooted = family.rootsOf[w]!;
    for (const j of family.holds[w]!) {
      const part = isLatent[j] ? latent : rooted.includes(j) ? roots : consequences;
      part.add(j, share);
    }
    const plain = rooted.filter((j) => !isLatent[j]);
    if (plain.length > 1) several += share;
    for (let a = 0; a < plain.length; a++) {
      for (let b = a + 1; b < plain.length; b++) {
        const key = plain[a]! * width + plain[b]!;
        pairs.set(key, (pairs.get(key) ?? 0) + share);
      }
    }
  }
  const name = (j: number): string => family.conditions[j]!;
  const ranked = roots.ranked(name);
  const noFault = shareOf(family.lasts, chance);
  const other = shareOf(family.other, chance);
  return {
    roots: ranked,
    consequences: consequences.ranked(name),
    latent: latent.ranked(name),
    pairs: sorted(
      [...pairs].map(([key, probability]) => ({
        id: `${name(Math.floor(key / width))} + ${name(key % width)}`,
        probability,
      })),
    ),
    several,
    noFault,
    other,
    settings: settingShares(belief),
    cutMass: family.cutMass,
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

class Tally {
  private readonly sums: Float64Array;
  private readonly seen: Uint8Array;

  constructor(width: number) {
    this.sums = new Float64Array(width);
    this.seen = new Uint8Array(width);
  }

  add(j: number, share: number): void {
    this.sums[j]! += share;
    this.seen[j] = 1;
  }

  ranked(name: (j: number) => string): Share[] {
    const found: Share[] = [];
    this.seen.forEach((seen, j) => {
      if (seen) found.push({ id: name(j), probability: this.sums[j]! });
    });
    return sorted(found);
  }
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

function settingShares(belief: Belief): Record<string, Share[]> {
  const weights = settingWeights(belief);
  const options = new Map<string, Map<string, number>>();
  belief.family.settings.forEach((setting, s) => {
    for (const [option, value] of Object.entries(setting)) {
      const values = options.get(option) ?? new Map<string, number>();
      options.set(option, values.set(value, (values.get(value) ?? 0) + weights[s]!));
    }
  });
  const unknown = [...options].filter(([, values]) => values.size > 1);
  return Object.fromEntries(
    unknown
      .sort(([a], [b]) => byCode(a, b))
      .map(([option, values]) => [
        option,
        sorted([...values].map(([id, probability]) => ({ id, probability }))),
      ]),
  );
}
