/**
 * Needs that cost alike. What repairing costs depends on which repairs remove each condition, so needs
 * whose conditions are removed by the same repairs are priced as one: a good deal less work.
 */

import { repairCost } from "./expected_cost.ts";
import type { Family, Repair } from "./family.ts";

/** The classes of some needs; class 0 is that of nothing needed. */
export interface NeedClasses {
  /** Class of each of the needs. */
  readonly of: Int32Array;
  /** Per class: the repairs that remove any of its conditions. */
  readonly helped: readonly Int32Array[];
  /** Per class: positions in `keys`, of each of which one repair must be done. */
  readonly locks: readonly Int32Array[];
  /** The sets of repairs that occur, each a list. */
  readonly keys: readonly Int32Array[];
  /** Per class: the cheapest repair for each condition. */
  readonly wanted: readonly Int32Array[];
  /** Per class: what leaving with it costs. */
  readonly owed: Float64Array;
  /** Per class: the chance that all the repairs needed do their work. */
  readonly lasting: Float64Array;
}

/** Finds the classes of needs, given as condition columns. */
export function classesOf(
  family: Family,
  sets: readonly ArrayLike<number>[],
  repairs: readonly Repair[],
): NeedClasses {
  const maker = new ClassMaker(family, repairs);
  const of = Int32Array.from(sets, (need) => maker.classOf(Array.from(need)));
  return { ...maker.made(), of };
}

/** One class before it is numbered. */
interface Alike {
  readonly helped: Int32Array;
  readonly locks: Int32Array;
  readonly wanted: Int32Array;
  readonly owed: number;
  readonly lasting: number;
}

class ClassMaker {
  private readonly cost: Float64Array;
  /** Per condition column: which of `keys` removes it. */
  private readonly keyOf: Int32Array;
  private readonly keys: Int32Array[] = [];
  /** Per key: the keys that hold a part of its repairs alone, so that they open it as well. */
  private readonly opening: Set<number>[];
  /** Per key: the cheapest of its repairs, -1 for none, and the best chance among them. */
  private readonly cheapest: Int32Array;
  private readonly surest: Float64Array;
  private readonly numbers = new Map<string, number>();
  private readonly classes: Alike[] = [];

  constructor(
    private readonly family: Family,
    repairs: readonly Repair[],
  ) {
    this.cost = Float64Array.from(repairs, (repair) => repairCost(family, repair));
    this.keyOf = this.keysOf(fixersOf(family, repairs));
    const least = (a: number, r: number): number => (a < 0 || this.cost[r]! < this.cost[a]! ? r : a);
    this.cheapest = Int32Array.from(this.keys, (key) => key.reduce(least, -1));
    this.surest = Float64Array.from(this.keys, (key) =>
      key.reduce((most, r) => Math.max(most, repairs[r]!.success), 0),
    );
    const sets = this.keys.map((key) => new Set(key));
    this.opening = sets.map((all, k) => {
      const parts = this.keys.flatMap((key, l) =>
        l !== k && key.length < all.size && key.every((r) => all.has(r)) ? [l] : [],
      );
      return new Set(parts);
    });
    this.classOf([]);
  }

  classOf(need: readonly number[]): number {
    const keys = [...new Set(need.map((j) => this.keyOf[j]!))].sort((a, b) => a - b);
    const chance = need.reduce((all, j) => all * this.surest[this.keyOf[j]!]!, 1);
    const locks = keys.filter((k) => !keys.some((l) => this.opening[k]!.has(l)));
    const helped = distinct(keys.flatMap((k) => Array.from(this.keys[k]!)));
    const wanted = distinct(keys.flatMap((k) => (this.cheapest[k]! < 0 ? [] : [this.cheapest[k]!])));
    const name = [locks, helped, wanted].map((list) => list.join()).join("/") + `/${chance}`;
    let number = this.numbers.get(name);
    if (number === undefined) {
      number = this.classes.length;
      this.numbers.set(name, number);
      const owed = need.length === 0 ? 0 : this.owed(wanted);
      this.classes.push({ helped, locks: Int32Array.from(locks), wanted, owed, lasting: chance });
    }
    return number;
  }

  made(): Omit<NeedClasses, "of"> {
    const { classes, keys } = this;
    return {
      keys,
      helped: classes.map((one) => one.helped),
      locks: classes.map((one) => one.locks),
      wanted: classes.map((one) => one.wanted),
      owed: Float64Array.from(classes, (one) => one.owed),
      lasting: Float64Array.from(classes, (one) => one.lasting),
    };
  }

  /** The call-back, and where the family says so the repair, which somebody has to be paid for. */
  private owed(wanted: Int32Array): number {
    const { repairStillOwed, callBackDollars } = this.family;
    const still = repairStillOwed ? wanted.reduce((sum, r) => sum + this.cost[r]!, 0) : 0;
    return callBackDollars + still;
  }

  private keysOf(fixers: readonly number[][]): Int32Array {
    const known = new Map<string, number>();
    return Int32Array.from(fixers, (list) => {
      const name = list.join();
      let key = known.get(name);
      if (key === undefined) {
        key = this.keys.length;
        known.set(name, key);
        this.keys.push(Int32Array.from(list));
      }
      return key;
    });
  }
}

/** Per condition column, the positions of the repairs that remove it, ascending. */
export function fixersOf(family: Family, repairs: readonly Repair[]): number[][] {
  const found: number[][] = family.conditions.map(() => []);
  repairs.forEach((repair, r) => {
    for (const name of new Set(repair.fixes)) {
      const j = family.column.get(name);
      if (j !== undefined) found[j]!.push(r);
    }
  });
  return found;
}

/** The classes of some of the needs with some of the repairs, which are all that help them. */
export function reducedClasses(
  full: NeedClasses,
  held: Int32Array,
  repairs: readonly number[],
): NeedClasses {
  const old = [...new Set(Array.from(held, (need) => full.of[need]!))].sort((a, b) => a - b);
  const number = new Map(old.map((c, k) => [c, k]));
  const position = new Map(repairs.map((r, k) => [r, k]));
  const keys = [...new Set(old.flatMap((c) => Array.from(full.locks[c]!)))];
  const place = new Map(keys.map((key, k) => [key, k]));
  const placed = (list: Int32Array): Int32Array => list.map((r) => position.get(r)!);
  return {
    of: Int32Array.from(held, (need) => number.get(full.of[need]!)!),
    helped: old.map((c) => placed(full.helped[c]!)),
    locks: old.map((c) => full.locks[c]!.map((key) => place.get(key)!)),
    keys: keys.map((key) => placed(full.keys[key]!)),
    wanted: old.map((c) => placed(full.wanted[c]!)),
    owed: Float64Array.from(old, (c) => full.owed[c]!),
    lasting: Float64Array.from(old, (c) => full.lasting[c]!),
  };
}

function distinct(list: readonly number[]): Int32Array {
  return Int32Array.from(new Set(list)).sort();
}
