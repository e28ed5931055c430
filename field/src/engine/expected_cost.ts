/**
 * Expected cost of repairing from here on without looking further, for many beliefs at once
 * (see expected_cost.py). A row holds the mass of each of the needs that occur.
 */

import type { Family, Repair } from "./family.ts";
import type { NeedTable } from "./need.ts";
import { coverMinutes, coversOf, needsPowerOff } from "./safety_order.ts";
import type { Situation } from "./situation.ts";

/** Dollars, or bits for a dollar, as they are compared: whole, so that no last bits decide. */
export function compared(value: number, { constants }: Family): number {
  return Math.round(value * 10 ** constants.DECIMALS);
}

/** Rows of masses; a column for each class of needs in `ids`, of which the first is always 0. */
export interface Masses {
  readonly ids: Int32Array;
  readonly count: number;
  /** Writes a row, or gives it as it is. */
  readonly row: (i: number, into: Float64Array) => Float64Array;
  /** Per row the repair, by position, that is not to be had any more; -1 for none. */
  readonly without: readonly number[];
}

/** What must still be paid once per place and per cover, and the repairs still to be had. */
export interface Opening {
  readonly places: Float64Array;
  readonly covers: Float64Array;
  readonly free: Uint8Array;
}

/** Dollars to prove the repair: its own proofs, or the family's usual minutes. */
export function proofCost(family: Family, repair: Repair): number {
  const known = repair.proofs.flatMap((id) => family.checks.get(id)?.minutes ?? []);
  const minutes = known.length > 0 ? known.reduce((a, b) => a + b, 0) : family.proofMinutes;
  return minutes * family.dollarsPerMinute;
}

/** Dollars of the repair and its proof, without travel and covers. */
export function repairCost(family: Family, repair: Repair): number {
  const minutes = repair.minutes + (needsPowerOff(repair.requires) ? family.powerMinutes : 0);
  const spent = minutes * family.dollarsPerMinute + repair.dollars + repair.hazard_cost;
  return spent + proofCost(family, repair);
}

/** Repairs that share a place or a cover. */
export interface Cluster {
  readonly id: string;
  readonly members: Int32Array;
  /** What it costs where it is not at hand yet. */
  readonly dollars: number;
}

/** What the work of some repairs costs, once and for each opening. */
export interface Prices {
  readonly cost: Float64Array;
  readonly places: readonly Cluster[];
  readonly covers: readonly Cluster[];
  /** Per repair, which of the places it is at; -1 for none. */
  readonly placeOf: Int32Array;
}

const known = new WeakMap<NeedTable, Prices>();

/** What the work on these needs costs; made once. */
export function pricesOf(needs: NeedTable): Prices {
  let found = known.get(needs);
  if (found === undefined) {
    const cost = Float64Array.from(needs.repairs, (repair) => repairCost(needs.family, repair));
    found = { cost, ...clustersOf(needs) };
    known.set(needs, found);
  }
  return found;
}

function clustersOf(needs: NeedTable): Pick<Prices, "places" | "covers" | "placeOf"> {
  const { family } = needs;
  const atPlace = new Map<string, number[]>();
  const behind = new Map<string, number[]>();
  needs.repairs.forEach((repair, r) => {
    if (family.places.has(repair.place)) push(atPlace, repair.place, r);
    for (const cover of coversOf(repair.requires)) push(behind, cover, r);
  });
  const rate = family.dollarsPerMinute;
  const places = [...atPlace].map(([id, members]) => {
    return cluster(id, members, family.places.get(id)!.travel_minutes * rate);
  });
  const covers = [...behind].map(([id, members]) => {
    return cluster(id, members, coverMinutes(family, id) * rate);
  });
  const placeOf = new Int32Array(needs.repairs.length).fill(-1);
  places.forEach(({ members }, p) => members.forEach((r) => (placeOf[r] = p)));
  return { places, covers, placeOf };
}

function cluster(id: string, members: readonly number[], dollars: number): Cluster {
  return { id, members: Int32Array.from(members), dollars };
}

function push(lists: Map<string, number[]>, key: string, value: number): void {
  const list = lists.get(key);
  if (list === undefined) lists.set(key, [value]);
  else list.push(value);
}

/** What is still to be paid once in a situation, and what is still to be had. */
export function openingOf(needs: NeedTable, situation: Situation): Opening {
  const { places, covers } = pricesOf(needs);
  return {
    places: Float64Array.from(places, (p) => (p.id === situation.place ? 0 : p.dollars)),
    covers: Float64Array.from(covers, (c) => (situation.opened.has(c.id) ? 0 : c.dollars)),
    free: Uint8Array.from(needs.repairs, (repair) => (situation.done.has(repair.id) ? 0 : 1)),
  };
}

/**
 * Cost of each row if the truth were told: only the repairs it needs, or the call-back. `again`: what
 * missed is made once more, which makes of a lower bound an estimate.
 */
export function revealedCost(
  needs: NeedTable,
  masses: Masses,
  openings: readonly Opening[],
  done: ReadonlySet<string>,
  again = false,
): Float64Array {
  const told = new Revealed(needs, masses.ids, done, again);
  const dollars = new Map<Opening, Float64Array>();
  const into = new Float64Array(masses.ids.length);
  return Float64Array.from({ length: masses.count }, (_, i) => {
    const opening = openings[i]!;
    let asked = dollars.get(opening);
    if (asked === undefined) dollars.set(opening, (asked = told.dollars(opening)));
    return told.cost(masses.row(i, into), asked);
  });
}

/** Prices rows with the truth told. */
export class Revealed {
  private readonly alone: Float64Array;
  private readonly owed: Float64Array;
  private readonly places: readonly Int32Array[];
  private readonly covers: readonly Int32Array[];

  constructor(needs: NeedTable, ids: Int32Array, done: ReadonlySet<string>, again = false) {
    const { cost, covers, placeOf } = pricesOf(needs);
    const { classes, repairs } = needs;
    const behind: number[][] = repairs.map(() => []);
    covers.forEach(({ members }, c) => members.forEach((r) => behind[r]!.push(c)));
    this.owed = Float64Array.from(ids, (id) => classes.owed[id]!);
    this.alone = Float64Array.from(ids, (id) => {
      const gone = classes.wanted[id]!.some((r) => done.has(repairs[r]!.id));
      const lasting = gone ? 0 : classes.lasting[id]!;
      const spent = classes.wanted[id]!.reduce((sum, r) => sum + cost[r]!, 0);
      const missed = 1 - lasting;
      if (!again || gone) return spent * lasting + classes.owed[id]! * missed;
      return spent * (1 + missed) + classes.owed[id]! * missed ** 2;
    });
    const wanted = Array.from(ids, (id) => Array.from(classes.wanted[id]!));
    this.places = wanted.map((list) => distinct(list.map((r) => placeOf[r]!)));
    this.covers = wanted.map((list) => distinct(list.flatMap((r) => behind[r]!)));
  }

  /** What each class asks for with these openings still to be paid. */
  dollars(opening: Opening): Float64Array {
    return this.alone.map((dollars, u) => {
      let sum = dollars;
      for (const p of this.places[u]!) sum += opening.places[p]!;
      for (const c of this.covers[u]!) sum += opening.covers[c]!;
      return sum;
    });
  }

  /** The cost of a row, from what each class asks for. */
  cost(row: Float64Array, dollars: Float64Array): number {
    const { owed } = this;
    let told = 0;
    let leaving = 0;
    for (let u = 1; u < owed.length; u++) {
      const m = row[u]!;
      told += m * dollars[u]!;
      leaving += m * owed[u]!;
    }
    return Math.min(told, leaving);
  }
}

function distinct(places: readonly number[]): Int32Array {
  return Int32Array.from(new Set(places.filter((p) => p >= 0)));
}
