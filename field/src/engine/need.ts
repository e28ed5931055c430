/** Needs: the conditions that must go before the system works (see need.py). */

import { byCode } from "./belief.ts";
import type { Family, Repair } from "./family.ts";
import type { NeedClasses } from "./need_class.ts";
import { classesOf, fixersOf, reducedClasses } from "./need_class.ts";

/** The needs of a family, made once; the first is empty. */
export interface NeedTable {
  readonly family: Family;
  readonly count: number;
  readonly ofWorld: Int32Array;
  /** Every repair, by id. */
  readonly repairs: readonly Repair[];
  /** Per needs, the repairs that help and the needs they leave. */
  readonly helped: readonly (readonly Left[])[];
  readonly classes: NeedClasses;
}

export interface Left {
  readonly repair: number;
  readonly target: number;
}

const made = new WeakMap<Family, NeedTable>();

/** The needs of the family; made on the first call, then remembered. */
export function needTable(family: Family): NeedTable {
  const known = made.get(family);
  if (known !== undefined) return known;
  const repairs = [...family.repairs.values()].sort((a, b) => byCode(a.id, b.id));
  const fixers = fixersOf(family, repairs);
  const gone = repairs.map(({ fixes }) => new Set(fixes.map((name) => family.column.get(name))));
  const numbers = new Numbers();
  const ofWorld = Int32Array.from(family.needs, (need) => numbers.of(need));
  const { CLOSED_AT } = family.constants;
  const start = numbers.sets.length;
  const helped: Left[][] = [];
  let listed = start;
  for (let i = 0; i < listed; i++) {
    const need = Array.from(numbers.sets[i]!);
    const helping = new Set(need.flatMap((j) => fixers[j]!));
    helped.push(
      [...helping]
        .sort((a, b) => a - b)
        .map((r) => ({ repair: r, target: numbers.of(need.filter((j) => !gone[r]!.has(j))) })),
    );
    if (i + 1 === listed && numbers.sets.length < CLOSED_AT * start) listed = numbers.sets.length;
  }
  while (helped.length < numbers.sets.length) helped.push([]);
  const classes = classesOf(family, numbers.sets, repairs);
  const table = { family, count: helped.length, ofWorld, repairs, helped, classes };
  made.set(family, table);
  return table;
}

/** Numbers needs, given as ascending condition columns, in the order they come. */
class Numbers {
  readonly sets: ArrayLike<number>[] = [[]];
  private readonly known = new Map<string, number>([["", 0]]);

  of(need: ArrayLike<number>): number {
    const key = Array.prototype.join.call(need);
    let number = this.known.get(key);
    if (number === undefined) {
      number = this.sets.length;
      this.known.set(key, number);
      this.sets.push(need);
    }
    return number;
  }
}

/**
 * The needs held, ascending, of worlds whose needs are among them, with the repairs that help any of
 * those touched; what a repair leaves that is not held stays as it is.
 */
export function reducedNeeds(
  full: NeedTable,
  held: Int32Array,
  helping: readonly number[],
  worlds: Int32Array,
): NeedTable {
  const number = new Map(Array.from(held, (need, n) => [need, n]));
  const position = new Map(helping.map((r, k) => [r, k]));
  const helped = Array.from(held, (need) =>
    full.helped[need]!.flatMap(({ repair, target }) => {
      const to = number.get(target);
      return to === undefined ? [] : [{ repair: position.get(repair)!, target: to }];
    }),
  );
  return {
    family: full.family,
    count: held.length,
    ofWorld: Int32Array.from(worlds, (w) => number.get(full.ofWorld[w]!)!),
    repairs: helping.map((r) => full.repairs[r]!),
    helped,
    classes: reducedClasses(full.classes, held, helping),
  };
}
