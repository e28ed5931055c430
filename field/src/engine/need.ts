/** Needs: the conditions that must go before the system works (see need.py). */

import { byCode } from "./belief.ts";
import type { Family, Repair } from "./family.ts";

/** The needs of a family, made once; the first is empty. */
export interface NeedTable {
  readonly family: Family;
  /** Condition columns of each of the needs. */
  readonly sets: readonly ArrayLike<number>[];
  readonly ofWorld: Int32Array;
  /** Every repair, by id. */
  readonly repairs: readonly Repair[];
  /** Per needs, the repairs that help and the needs they leave. */
  readonly helped: readonly (readonly Left[])[];
  /** Per condition column, the positions of the repairs that remove it. */
  readonly fixers: readonly Int32Array[];
  /** Per needs, the chance that all the repairs needed do their work. */
  readonly lasting: Float64Array;
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
  const numbers = new Numbers();
  const ofWorld = Int32Array.from(family.needs, (need) => numbers.of(need));
  const { CLOSED_AT } = family.constants;
  const start = numbers.sets.length;
  const helped: Left[][] = [];
  let listed = start;
  for (let i = 0; i < listed; i++) {
    helped.push(leftBy(numbers.sets[i]!, fixers, repairs, family, numbers));
    if (i + 1 === listed && numbers.sets.length < CLOSED_AT * start) listed = numbers.sets.length;
  }
  while (helped.length < numbers.sets.length) helped.push([]);
  const table = tableOf(family, numbers.sets, ofWorld, repairs, helped);
  made.set(family, table);
  return table;
}

/** A table of these needs and repairs, with what follows from them. */
export function tableOf(
  family: Family,
  sets: readonly ArrayLike<number>[],
  ofWorld: Int32Array,
  repairs: readonly Repair[],
  helped: readonly (readonly Left[])[],
): NeedTable {
  const fixers = fixersOf(family, repairs);
  return { family, sets, ofWorld, repairs, helped, fixers, lasting: lastingOf(sets, fixers, repairs) };
}

class Numbers {
  readonly sets: ArrayLike<number>[] = [[]];
  private readonly known = new Map<string, number>([["", 0]]);

  of(need: ArrayLike<number>): number {
    const key = Array.from(need).join(",");
    let number = this.known.get(key);
    if (number === undefined) {
      number = this.sets.length;
      this.known.set(key, number);
      this.sets.push(need);
    }
    return number;
  }
}

function fixersOf(family: Family, repairs: readonly Repair[]): Int32Array[] {
  const found: number[][] = family.conditions.map(() => []);
  repairs.forEach((repair, r) => {
    for (const name of repair.fixes) {
      const j = family.column.get(name);
      if (j !== undefined) found[j]!.push(r);
    }
  });
  return found.map((list) => Int32Array.from(new Set(list)).sort());
}

/** For every repair that helps, in order: the needs it leaves, numbered on where they are new. */
function leftBy(
  need: ArrayLike<number>,
  fixers: readonly Int32Array[],
  repairs: readonly Repair[],
  family: Family,
  numbers: Numbers,
): Left[] {
  const helping = new Set<number>();
  for (const j of Array.from(need)) for (const r of fixers[j]!) helping.add(r);
  return [...helping]
    .sort((a, b) => a - b)
    .map((r) => {
      const gone = new Set(repairs[r]!.fixes);
      const left = Array.from(need).filter((j) => !gone.has(family.conditions[j]!));
      return { repair: r, target: numbers.of(left) };
    });
}

function lastingOf(
  sets: readonly ArrayLike<number>[],
  fixers: readonly Int32Array[],
  repairs: readonly Repair[],
): Float64Array {
  const best = fixers.map((list) =>
    list.reduce((most, r) => Math.max(most, repairs[r]!.success), 0),
  );
  return Float64Array.from(sets, (need) =>
    Array.from(need).reduce((chance, j) => chance * best[j]!, 1),
  );
}

/** The needs left after the repair did its work. */
export function targetOf(needs: NeedTable, repair: number, need: number): number {
  return needs.helped[need]!.find((left) => left.repair === repair)?.target ?? need;
}
