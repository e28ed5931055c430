/**
 * Expected cost of repairing from here on without looking further, for many beliefs at once
 * (see expected_cost.py). A row holds the mass of each of the needs that occur.
 */

import type { Family, Repair } from "./family.ts";
import type { NeedTable } from "./need.ts";
import { coverMinutes, coversOf, needsPowerOff } from "./safety_order.ts";
import type { Situation } from "./situation.ts";

const TINY = 2.2250738585072014e-308;

/** Rows of masses; a column for each of the needs in `ids`, of which the first is always 0. */
export interface Masses {
  readonly ids: Int32Array;
  readonly rows: readonly Float64Array[];
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
interface Cluster {
  readonly id: string;
  readonly members: readonly number[];
  /** What it costs where it is not at hand yet. */
  readonly dollars: number;
}

/** What depends on the family alone. */
interface Prices {
  readonly cost: Float64Array;
  readonly owed: Float64Array;
  /** Per needs, the cheapest repair for each condition that must go. */
  readonly wanted: readonly Int32Array[];
  readonly places: readonly Cluster[];
  readonly covers: readonly Cluster[];
  /** Per repair, which of the places it is at; -1 for none. */
  readonly placeOf: Int32Array;
}

const known = new WeakMap<NeedTable, Prices>();

function pricesOf(needs: NeedTable): Prices {
  const found = known.get(needs);
  if (found !== undefined) return found;
  const { family } = needs;
  const cost = Float64Array.from(needs.repairs, (repair) => repairCost(family, repair));
  const wanted = needs.sets.map((need) => wantedBy(need, needs, cost));
  const owed = Float64Array.from(wanted, (repairs) => {
    const still = family.repairStillOwed ? repairs.reduce((sum, r) => sum + cost[r]!, 0) : 0;
    return family.callBackDollars + still;
  });
  owed[0] = 0;
  const made = { cost, owed, wanted, ...clustersOf(needs) };
  known.set(needs, made);
  return made;
}

function wantedBy(need: ArrayLike<number>, needs: NeedTable, cost: Float64Array): Int32Array {
  const chosen = new Set<number>();
  for (const j of Array.from(need)) {
    let best = -1;
    for (const r of needs.fixers[j]!) if (best < 0 || cost[r]! < cost[best]!) best = r;
    if (best >= 0) chosen.add(best);
  }
  return Int32Array.from(chosen).sort();
}

/** What leaving with each of the needs unmet costs. */
export function leavingDollars(needs: NeedTable): Float64Array {
  return pricesOf(needs).owed;
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
    return { id, members, dollars: family.places.get(id)!.travel_minutes * rate };
  });
  const covers = [...behind].map(([id, members]) => {
    return { id, members, dollars: coverMinutes(family, id) * rate };
  });
  const placeOf = new Int32Array(needs.repairs.length).fill(-1);
  places.forEach(({ members }, p) => members.forEach((r) => (placeOf[r] = p)));
  return { places, covers, placeOf };
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

/** Prices repairing on from each row of masses, with what is still to be paid for the row. */
export function tailCost(
  needs: NeedTable,
  masses: Masses,
  openings: readonly Opening[],
): Float64Array {
  const tail = new Tail(needs, masses.ids);
  return Float64Array.from(masses.rows, (row, i) => tail.cost(row, openings[i]!));
}

/** Works out one row after the other in the same arrays. */
export class Tail {
  private readonly prices: Prices;
  private readonly least: Float64Array;
  private readonly chance: Float64Array;
  private readonly price: Float64Array;
  /**
   * Chance over cost, in single precision: what differs in the last bits alone is equal and goes
   * by position, on every machine alike.
   */
  private readonly own: Float32Array;
  private readonly inner: Float32Array;
  private readonly key: Float32Array;
  private readonly rank: Int32Array;
  private readonly ended: Float64Array;
  private readonly solved: Float64Array;
  private readonly paid: Float64Array;
  private readonly helped: readonly Int32Array[];
  /** The repairs that could help, the first `count` entries. */
  private readonly order: Int32Array;
  private readonly likely: Int32Array;
  private count = 0;
  /** Per condition column, the place of its first fixer in the order. */
  private readonly first: Int32Array;
  /** The condition columns that occur in the needs used. */
  private readonly columns: Int32Array;

  constructor(
    private readonly needs: NeedTable,
    private readonly ids: Int32Array,
  ) {
    this.prices = pricesOf(needs);
    this.least = this.prices.cost.map((dollars) => Math.max(dollars, 1e-9));
    const n = needs.repairs.length;
    this.chance = new Float64Array(n);
    this.price = new Float64Array(n);
    this.own = new Float32Array(n);
    this.inner = new Float32Array(n);
    this.key = new Float32Array(n);
    this.rank = new Int32Array(n);
    this.order = Int32Array.from({ length: n }, (_, r) => r);
    this.likely = new Int32Array(n);
    this.ended = new Float64Array(n + 1);
    this.solved = new Float64Array(n + 1);
    this.paid = new Float64Array(n);
    this.first = new Int32Array(needs.fixers.length);
    this.columns = Int32Array.from(
      new Set(Array.from(ids).flatMap((id) => Array.from(needs.sets[id]!))),
    );
    this.helped = Array.from(ids, (id) =>
      Int32Array.from(
        new Set(Array.from(needs.sets[id]!).flatMap((j) => Array.from(needs.fixers[j]!))),
      ),
    );
  }

  cost(mass: Float64Array, opening: Opening): number {
    const leaving = this.weigh(mass, opening.free);
    this.block(opening);
    this.sort();
    this.mend(mass);
    return this.stop(mass, leaving, opening);
  }

  /** Chance that each repair removes something needed; returns the cost of leaving at once. */
  private weigh(mass: Float64Array, free: Uint8Array): number {
    const { chance, ids } = this;
    const { repairs } = this.needs;
    const { owed } = this.prices;
    chance.fill(0);
    let leaving = 0;
    for (let u = 1; u < ids.length; u++) {
      const m = mass[u]!;
      if (m === 0) continue;
      leaving += m * owed[ids[u]!]!;
      const helped = this.helped[u]!;
      for (let i = 0; i < helped.length; i++) chance[helped[i]!]! += m;
    }
    for (let r = 0; r < chance.length; r++) {
      chance[r] = free[r] ? chance[r]! * repairs[r]!.success : 0;
    }
    return leaving;
  }

  /** Chance over cost of the block each repair belongs to. */
  private block(opening: Opening): void {
    const { chance, price, own, inner, key } = this;
    const { places, covers } = this.prices;
    for (let r = 0; r < chance.length; r++) {
      price[r] = this.least[r]!;
      own[r] = chance[r]! / price[r]!;
    }
    key.set(own);
    for (let c = 0; c < covers.length; c++) this.absorb(covers[c]!.members, opening.covers[c]!);
    inner.set(key);
    for (let p = 0; p < places.length; p++) this.absorb(places[p]!.members, opening.places[p]!);
  }

  private absorb(members: readonly number[], opening: number): void {
    const { chance, price, own, key, likely } = this;
    let count = 0;
    for (let i = 0; i < members.length; i++) {
      const r = members[i]!;
      if (chance[r]! === 0) continue;
      let at = count++;
      while (at > 0 && goesBefore(key, own, r, likely[at - 1]!)) {
        likely[at] = likely[at - 1]!;
        at -= 1;
      }
      likely[at] = r;
    }
    if (count === 0) return;
    price[likely[0]!]! += opening;
    let won = 0;
    let paid = 0;
    let best = -1;
    let most = -1;
    for (let i = 0; i < count; i++) {
      won += chance[likely[i]!]!;
      paid += price[likely[i]!]!;
      const ratio = Math.fround(won / paid);
      if (ratio > most) {
        most = ratio;
        best = i;
      }
    }
    for (let i = 0; i <= best; i++) key[likely[i]!] = most;
  }

  /** Order of the repairs that could help: by block, then by cover, then by themselves. */
  private sort(): void {
    const { chance, rank, order } = this;
    this.insert();
    let count = 0;
    while (count < order.length && chance[order[count]!]! > 0) count += 1;
    this.count = count;
    rank.fill(chance.length);
    for (let i = 0; i < count; i++) rank[order[i]!] = i;
  }

  /** Sorts by insertion: the order of the row before is nearly that of this one. */
  private insert(): void {
    const { order } = this;
    for (let i = 1; i < order.length; i++) {
      const r = order[i]!;
      let at = i;
      while (at > 0 && this.comesBefore(r, order[at - 1]!)) {
        order[at] = order[at - 1]!;
        at -= 1;
      }
      order[at] = r;
    }
  }

  /** Whether a repair comes before another; what could not help comes last. */
  private comesBefore(a: number, b: number): boolean {
    const { chance, key, inner, own } = this;
    if (chance[a]! === 0) return false;
    if (chance[b]! === 0) return true;
    if (key[a] !== key[b]) return key[a]! > key[b]!;
    if (inner[a] !== inner[b]) return inner[a]! > inner[b]!;
    return own[a] !== own[b] ? own[a]! > own[b]! : a < b;
  }

  /** Mass mended at each position of the order, and what leaving with it would have cost. */
  private mend(mass: Float64Array): void {
    const { ended, solved, first, ids } = this;
    this.placeFirstFixers();
    ended.fill(0);
    solved.fill(0);
    const { lasting, sets } = this.needs;
    const { owed } = this.prices;
    for (let u = 1; u < ids.length; u++) {
      const m = mass[u]!;
      if (m === 0) continue;
      const need = sets[ids[u]!]!;
      let last = 0;
      for (let i = 0; i < need.length; i++) last = Math.max(last, first[need[i]!]!);
      const held = m * lasting[ids[u]!]!;
      ended[last]! += held;
      solved[last]! += held * owed[ids[u]!]!;
    }
  }

  private placeFirstFixers(): void {
    const { first, rank } = this;
    for (const j of this.columns) {
      let least = rank.length;
      for (const r of this.needs.fixers[j]!) if (rank[r]! < least) least = rank[r]!;
      first[j] = least;
    }
  }

  /** Cost of the repairs in their order, each cover put on its first user. */
  private pay(opening: Opening): void {
    const { order, paid, rank } = this;
    const { covers } = this.prices;
    for (let k = 0; k < this.count; k++) paid[order[k]!] = this.least[order[k]!]!;
    for (let c = 0; c < covers.length; c++) {
      let first = -1;
      for (const r of covers[c]!.members) {
        if (rank[r]! < rank.length && (first < 0 || rank[r]! < rank[first]!)) first = r;
      }
      if (first >= 0) paid[first]! += opening.covers[c]!;
    }
  }

  /** The least over leaving at once and stopping after the first k repairs. */
  private stop(mass: Float64Array, leaving: number, opening: Opening): number {
    const { order, paid, ended, solved } = this;
    const { places, placeOf } = this.prices;
    this.pay(opening);
    let left = 0;
    for (let u = 1; u < mass.length; u++) left += mass[u]!;
    let best = leaving;
    let running = 0;
    let spent = 0;
    let mended = 0;
    let relieved = 0;
    let at = -1;
    for (let k = 0; k < this.count; k++) {
      const r = order[k]!;
      const place = placeOf[r]!;
      running += paid[r]!;
      if (place >= 0 && place !== at) {
        running += at < 0 ? opening.places[place]! : places[place]!.dollars;
        at = place;
      }
      spent += ended[k]! * running;
      mended += ended[k]!;
      relieved += solved[k]!;
      const stop = spent + Math.max(left - mended, 0) * running + Math.max(leaving - relieved, 0);
      if (stop < best) best = stop;
    }
    return best;
  }
}

function goesBefore(key: Float32Array, own: Float32Array, a: number, b: number): boolean {
  return key[a] !== key[b] ? key[a]! > key[b]! : own[a]! > own[b]!;
}

/** Cost of each row if the truth were told: only the repairs it needs, or the call-back. */
export function revealedCost(
  needs: NeedTable,
  masses: Masses,
  openings: readonly Opening[],
  done: ReadonlySet<string>,
): Float64Array {
  const told = new Revealed(needs, masses.ids, done);
  return Float64Array.from(masses.rows, (row, i) => told.cost(row, openings[i]!));
}

/** Prices one row after the other with the truth told. */
export class Revealed {
  private readonly alone: Float64Array;
  private readonly owed: Float64Array;
  private readonly places: readonly Int32Array[];
  private readonly covers: readonly Int32Array[];

  constructor(needs: NeedTable, ids: Int32Array, done: ReadonlySet<string>) {
    const prices = pricesOf(needs);
    const isDone = needs.repairs.map((repair) => done.has(repair.id));
    this.owed = Float64Array.from(ids, (id) => prices.owed[id]!);
    this.alone = Float64Array.from(ids, (id) => {
      if (id === 0) return 0;
      const wanted = prices.wanted[id]!;
      const lasting = wanted.some((r) => isDone[r]) ? 0 : needs.lasting[id]!;
      const repairs = wanted.reduce((sum, r) => sum + prices.cost[r]!, 0);
      return repairs * lasting + prices.owed[id]! * (1 - lasting);
    });
    const coversOfRepair: number[][] = needs.repairs.map(() => []);
    prices.covers.forEach(({ members }, c) => members.forEach((r) => coversOfRepair[r]!.push(c)));
    const wantedBy = (id: number): number[] => Array.from(prices.wanted[id]!);
    const placesBy = (id: number): number[] =>
      wantedBy(id).flatMap((r) => (prices.placeOf[r]! < 0 ? [] : [prices.placeOf[r]!]));
    this.places = Array.from(ids, (id) => Int32Array.from(new Set(placesBy(id))));
    this.covers = Array.from(ids, (id) =>
      Int32Array.from(new Set(wantedBy(id).flatMap((r) => coversOfRepair[r]!))),
    );
  }

  cost(row: Float64Array, opening: Opening): number {
    let told = 0;
    let leaving = 0;
    for (let u = 0; u < row.length; u++) {
      const m = row[u]!;
      if (m === 0) continue;
      let dollars = this.alone[u]!;
      const places = this.places[u]!;
      const covers = this.covers[u]!;
      for (let i = 0; i < places.length; i++) dollars += opening.places[places[i]!]!;
      for (let i = 0; i < covers.length; i++) dollars += opening.covers[covers[i]!]!;
      told += m * dollars;
      leaving += m * this.owed[u]!;
    }
    return Math.min(told, leaving);
  }
}

/** Entropy of a row times its sum, in bits. */
export function entropyBits(row: Float64Array): number {
  let total = 0;
  let logs = 0;
  for (const m of row) {
    if (m === 0) continue;
    total += m;
    logs += m * Math.log2(Math.max(m, TINY));
  }
  return total * Math.log2(Math.max(total, TINY)) - logs;
}
