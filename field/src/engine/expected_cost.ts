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

interface Cluster {
  readonly members: readonly number[];
  /** What must be paid once in this situation. */
  readonly price: (situation: Situation) => number;
}

/** What depends on the family alone. */
interface Prices {
  readonly cost: Float64Array;
  readonly owed: Float64Array;
  /** Per needs, the cheapest repair for each condition that must go. */
  readonly wanted: readonly Int32Array[];
  readonly places: readonly Cluster[];
  readonly covers: readonly Cluster[];
  readonly clusters: readonly Cluster[];
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

function clustersOf(needs: NeedTable): Pick<Prices, "places" | "covers" | "clusters"> {
  const { family } = needs;
  const places = new Map<string, number[]>();
  const covers = new Map<string, number[]>();
  needs.repairs.forEach((repair, r) => {
    if (family.places.has(repair.place)) push(places, repair.place, r);
    for (const cover of coversOf(repair.requires)) push(covers, cover, r);
  });
  const rate = family.dollarsPerMinute;
  const byPlace = [...places].map(([place, members]) => {
    const dollars = family.places.get(place)!.travel_minutes * rate;
    return { members, price: (s: Situation) => (s.place === place ? 0 : dollars) };
  });
  const byCover = [...covers].map(([cover, members]) => {
    const dollars = coverMinutes(family, cover) * rate;
    return { members, price: (s: Situation) => (s.opened.has(cover) ? 0 : dollars) };
  });
  return { places: byPlace, covers: byCover, clusters: [...byPlace, ...byCover] };
}

function push(lists: Map<string, number[]>, key: string, value: number): void {
  const list = lists.get(key);
  if (list === undefined) lists.set(key, [value]);
  else list.push(value);
}

/** Prices repairing on from each row of masses, in the situation of the row. */
export function tailCost(
  needs: NeedTable,
  masses: Masses,
  situations: readonly Situation[],
): Float64Array {
  const tail = new Tail(needs, masses.ids);
  return Float64Array.from(masses.rows, (row, i) => tail.cost(row, situations[i]!));
}

/** Works out one row after the other in the same arrays. */
class Tail {
  private readonly prices: Prices;
  private readonly least: Float64Array;
  private readonly chance: Float64Array;
  private readonly price: Float64Array;
  private readonly own: Float64Array;
  private readonly inner: Float64Array;
  private readonly key: Float64Array;
  private readonly rank: Int32Array;
  private readonly ended: Float64Array;
  private readonly solved: Float64Array;
  private readonly paid: Float64Array;
  private readonly helped: readonly Int32Array[];
  /** The repairs that could help, the first `count` entries. */
  private readonly order: Int32Array;
  private readonly there: Uint8Array;
  private count = 0;
  private free: Uint8Array = new Uint8Array();
  private readonly freed = new Map<ReadonlySet<string>, Uint8Array>();
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
    this.own = new Float64Array(n);
    this.inner = new Float64Array(n);
    this.key = new Float64Array(n);
    this.rank = new Int32Array(n);
    this.order = new Int32Array(n);
    this.there = new Uint8Array(n);
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

  cost(mass: Float64Array, situation: Situation): number {
    this.free = this.freeIn(situation.done);
    const leaving = this.weigh(mass);
    this.block(situation);
    this.sort();
    this.mend(mass);
    return this.stop(mass, leaving, situation);
  }

  private freeIn(done: ReadonlySet<string>): Uint8Array {
    let found = this.freed.get(done);
    if (found === undefined) {
      found = Uint8Array.from(this.needs.repairs, (repair) => (done.has(repair.id) ? 0 : 1));
      this.freed.set(done, found);
    }
    return found;
  }

  /** Chance that each repair removes something needed; returns the cost of leaving at once. */
  private weigh(mass: Float64Array): number {
    const { chance, ids } = this;
    const { repairs } = this.needs;
    const { owed } = this.prices;
    chance.fill(0);
    let leaving = 0;
    for (let u = 1; u < ids.length; u++) {
      const m = mass[u]!;
      if (m === 0) continue;
      leaving += m * owed[ids[u]!]!;
      for (const r of this.helped[u]!) chance[r]! += m;
    }
    for (let r = 0; r < chance.length; r++) {
      chance[r] = this.free[r] ? chance[r]! * repairs[r]!.success : 0;
    }
    return leaving;
  }

  /** Chance over cost of the block each repair belongs to. */
  private block(situation: Situation): void {
    const { chance, price, own, inner, key } = this;
    for (let r = 0; r < chance.length; r++) {
      price[r] = this.least[r]!;
      own[r] = chance[r]! / price[r]!;
      key[r] = own[r]!;
    }
    for (const cover of this.prices.covers) this.absorb(cover.members, cover.price(situation));
    inner.set(key);
    for (const place of this.prices.places) this.absorb(place.members, place.price(situation));
  }

  private absorb(members: readonly number[], opening: number): void {
    const { chance, price, own, key } = this;
    const likely = members.filter((r) => chance[r]! > 0);
    if (likely.length === 0) return;
    likely.sort((a, b) => key[b]! - key[a]! || own[b]! - own[a]! || a - b);
    price[likely[0]!]! += opening;
    let won = 0;
    let paid = 0;
    let best = -1;
    let most = -1;
    for (let i = 0; i < likely.length; i++) {
      won += chance[likely[i]!]!;
      paid += price[likely[i]!]!;
      const ratio = won / paid;
      if (ratio > most) {
        most = ratio;
        best = i;
      }
    }
    for (let i = 0; i <= best; i++) key[likely[i]!] = most;
  }

  /** Order of the repairs that could help: by block, then by cover, then by themselves. */
  private sort(): void {
    const { chance, rank, order, there } = this;
    there.fill(0);
    let count = 0;
    for (let i = 0; i < this.count; i++) {
      const r = order[i]!;
      if (chance[r]! > 0) {
        there[r] = 1;
        order[count++] = r;
      }
    }
    for (let r = 0; r < chance.length; r++) if (chance[r]! > 0 && !there[r]) order[count++] = r;
    this.count = count;
    this.insert();
    rank.fill(chance.length);
    for (let i = 0; i < count; i++) rank[order[i]!] = i;
  }

  /** Sorts by insertion: the order of the row before is nearly that of this one. */
  private insert(): void {
    const { order } = this;
    for (let i = 1; i < this.count; i++) {
      const r = order[i]!;
      let at = i;
      while (at > 0 && this.comesBefore(r, order[at - 1]!)) {
        order[at] = order[at - 1]!;
        at -= 1;
      }
      order[at] = r;
    }
  }

  private comesBefore(a: number, b: number): boolean {
    const { key, inner, own } = this;
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

  /** The least over leaving at once and stopping after the first k repairs. */
  private stop(mass: Float64Array, leaving: number, situation: Situation): number {
    const { order, paid, rank, ended, solved } = this;
    for (let k = 0; k < this.count; k++) paid[order[k]!] = this.least[order[k]!]!;
    for (const { members, price } of this.prices.clusters) {
      let first = -1;
      for (const r of members) {
        if (rank[r]! < rank.length && (first < 0 || rank[r]! < rank[first]!)) first = r;
      }
      if (first >= 0) paid[first]! += price(situation);
    }
    let left = 0;
    for (let u = 1; u < mass.length; u++) left += mass[u]!;
    let best = leaving;
    let running = 0;
    let spent = 0;
    let mended = 0;
    let relieved = 0;
    for (let k = 0; k < this.count; k++) {
      running += paid[order[k]!]!;
      spent += ended[k]! * running;
      mended += ended[k]!;
      relieved += solved[k]!;
      const stop = spent + Math.max(left - mended, 0) * running + Math.max(leaving - relieved, 0);
      if (stop < best) best = stop;
    }
    return best;
  }
}

/** Cost of each row if the truth were told: only the repairs it needs, or the call-back. */
export function revealedCost(
  needs: NeedTable,
  masses: Masses,
  situations: readonly Situation[],
  done: ReadonlySet<string>,
): Float64Array {
  const prices = pricesOf(needs);
  const isDone = needs.repairs.map((repair) => done.has(repair.id));
  const { clusters } = prices;
  const alone = new Float64Array(masses.ids.length);
  const users: Int32Array[] = [];
  masses.ids.forEach((id, u) => {
    const wanted = prices.wanted[id]!;
    const lasting = wanted.some((r) => isDone[r]) ? 0 : needs.lasting[id]!;
    const repairs = wanted.reduce((sum, r) => sum + prices.cost[r]!, 0);
    alone[u] = id === 0 ? 0 : repairs * lasting + prices.owed[id]! * (1 - lasting);
    users.push(
      Int32Array.from(
        clusters.flatMap(({ members }, c) => (wanted.some((r) => members.includes(r)) ? [c] : [])),
      ),
    );
  });
  return Float64Array.from(masses.rows, (row, i) => {
    const opening = clusters.map((cluster) => cluster.price(situations[i]!));
    let told = 0;
    let leaving = 0;
    for (let u = 0; u < row.length; u++) {
      const m = row[u]!;
      if (m === 0) continue;
      let dollars = alone[u]!;
      for (const c of users[u]!) dollars += opening[c]!;
      told += m * dollars;
      leaving += m * prices.owed[masses.ids[u]!]!;
    }
    return Math.min(told, leaving);
  });
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

