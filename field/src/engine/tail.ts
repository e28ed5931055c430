/**
 * Repairing on in a good order, one row of masses after the other in the same arrays
 * (`tail_cost` in expected_cost.py).
 */

import type { Masses, Opening, Prices } from "./expected_cost.ts";
import { pricesOf } from "./expected_cost.ts";
import type { NeedTable } from "./need.ts";

/** Lists kept one after the other: those of `k` are at `start[k]` to `start[k + 1]`. */
interface Lists {
  readonly start: Int32Array;
  readonly list: Int32Array;
}

/** Prices repairing on from each row of masses, with what is still to be paid for the row. */
export function tailCost(
  needs: NeedTable,
  masses: Masses,
  openings: readonly Opening[],
): Float64Array {
  const tail = new Tail(needs, masses.ids);
  const found = new Float64Array(masses.count);
  const into = new Float64Array(masses.ids.length);
  for (let i = 0; i < found.length; i++) {
    found[i] = tail.cost(masses.row(i, into), openings[i]!, masses.without[i]!);
  }
  return found;
}

/** Works out one row after the other in the same arrays. */
export class Tail {
  private readonly prices: Prices;
  private readonly least: Float64Array;
  private readonly success: Float64Array;
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
  /** The repairs that could help, the first `count` entries. */
  private readonly order: Int32Array;
  private readonly likely: Int32Array;
  /** The repairs behind each cover and at each place, in the order of the row before. */
  private readonly behind: readonly Int32Array[];
  private readonly at: readonly Int32Array[];
  private count = 0;
  /** Per key that occurs, the place of its first repair in the order. */
  private readonly first: Int32Array;
  /**
   * Per class of needs: the repairs that remove any of it; and its locks among the keys below, the
   * first, the second and those beyond (one past the last key: none).
   */
  private readonly helped: Lists;
  private readonly lock: Int32Array;
  private readonly second: Int32Array;
  private readonly further: Lists;
  /** Per key that occurs, its repairs. */
  private readonly keys: Lists;
  private readonly owed: Float64Array;
  private readonly lasting: Float64Array;
  /** The classes with any mass, the first `held` entries. */
  private readonly live: Int32Array;
  private held = 0;

  constructor(needs: NeedTable, ids: Int32Array) {
    const n = needs.repairs.length;
    this.prices = pricesOf(needs);
    this.behind = this.prices.covers.map(({ members }) => Int32Array.from(members));
    this.at = this.prices.places.map(({ members }) => Int32Array.from(members));
    this.least = this.prices.cost.map((dollars) => Math.max(dollars, 1e-9));
    this.success = Float64Array.from(needs.repairs, (repair) => repair.success);
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
    const { classes } = needs;
    const number = new Int32Array(classes.keys.length).fill(-1);
    const keys: Int32Array[] = [];
    const locks = Array.from(ids, (id) =>
      classes.locks[id]!.map((key) => {
        if (number[key]! < 0) number[key] = keys.push(classes.keys[key]!) - 1;
        return number[key]!;
      }),
    );
    this.first = new Int32Array(keys.length + 1);
    this.keys = listed(keys);
    this.lock = Int32Array.from(locks, (own) => own[0] ?? keys.length);
    this.second = Int32Array.from(locks, (own) => own[1] ?? keys.length);
    this.further = listed(locks.map((own) => own.subarray(2)));
    this.helped = listed(Array.from(ids, (id) => classes.helped[id]!));
    this.owed = Float64Array.from(ids, (id) => classes.owed[id]!);
    this.lasting = Float64Array.from(ids, (id) => classes.lasting[id]!);
    this.live = new Int32Array(ids.length);
  }

  /**
   * Cost of repairing on, or of leaving at once where that is less; column 0 is sound. One repair,
   * by position, may no longer be had.
   */
  cost(mass: Float64Array, opening: Opening, without = -1): number {
    const leaving = this.weigh(mass, opening.free, without);
    this.block(opening);
    this.sort();
    this.mend(mass);
    return this.stop(mass, leaving, opening);
  }

  /** Chance that each repair removes something needed; returns the cost of leaving at once. */
  private weigh(mass: Float64Array, free: Uint8Array, without: number): number {
    const { chance, live, owed, success } = this;
    const { start, list } = this.helped;
    chance.fill(0);
    let leaving = 0;
    let held = 0;
    for (let u = 1; u < owed.length; u++) {
      const m = mass[u]!;
      if (m === 0) continue;
      live[held++] = u;
      leaving += m * owed[u]!;
      const end = start[u + 1]!;
      for (let i = start[u]!; i < end; i++) chance[list[i]!]! += m;
    }
    this.held = held;
    for (let r = 0; r < chance.length; r++) chance[r] = free[r] ? chance[r]! * success[r]! : 0;
    if (without >= 0) chance[without] = 0;
    return leaving;
  }

  /** Chance over cost of the block each repair belongs to. */
  private block(opening: Opening): void {
    const { chance, price, own, inner, key, least, behind, at } = this;
    for (let r = 0; r < chance.length; r++) {
      price[r] = least[r]!;
      own[r] = chance[r]! / least[r]!;
    }
    key.set(own);
    for (let c = 0; c < behind.length; c++) this.absorb(behind[c]!, opening.covers[c]!);
    inner.set(key);
    for (let p = 0; p < at.length; p++) this.absorb(at[p]!, opening.places[p]!);
  }

  /** Lets an opening cost absorb members, given in their order, while chance over cost rises. */
  private absorb(members: Int32Array, opening: number): void {
    const { chance, price, key } = this;
    const count = this.bestFirst(members);
    if (count === 0) return;
    price[members[0]!]! += opening;
    let won = 0;
    let paid = 0;
    let best = -1;
    let most = -1;
    for (let i = 0; i < count; i++) {
      won += chance[members[i]!]!;
      paid += price[members[i]!]!;
      const ratio = Math.fround(won / paid);
      if (ratio > most) {
        most = ratio;
        best = i;
      }
    }
    for (let i = 0; i <= best; i++) key[members[i]!] = most;
  }

  /**
   * Sorts members by their key, then by themselves, those that could not help last; returns how many
   * could. By insertion: the order of the row before is nearly that of this one.
   */
  private bestFirst(members: Int32Array): number {
    const { chance, own, key, likely } = this;
    let count = 0;
    let rest = 0;
    for (let i = 0; i < members.length; i++) {
      const r = members[i]!;
      if (chance[r]! === 0) {
        likely[rest++] = r;
        continue;
      }
      let at = count++;
      const rKey = key[r]!;
      while (at > 0) {
        const b = members[at - 1]!;
        const bKey = key[b]!;
        if (bKey > rKey) break;
        if (bKey === rKey && (own[b]! - own[r]! || r - b) > 0) break;
        members[at] = b;
        at -= 1;
      }
      members[at] = r;
    }
    for (let i = 0; i < rest; i++) members[count + i] = likely[i]!;
    return count;
  }

  /**
   * Order of the repairs that could help: by block, then by cover, then by themselves. Sorted by
   * insertion: the order of the row before is nearly that of this one.
   */
  private sort(): void {
    const { chance, rank, order, likely } = this;
    let count = 0;
    let rest = 0;
    for (let i = 0; i < order.length; i++) {
      const r = order[i]!;
      if (chance[r]! === 0) likely[rest++] = r;
      else this.insert(r, count++);
    }
    for (let i = 0; i < rest; i++) order[count + i] = likely[i]!;
    this.count = count;
    rank.fill(chance.length);
    for (let i = 0; i < count; i++) rank[order[i]!] = i;
  }

  private insert(r: number, count: number): void {
    const { order, key, inner, own } = this;
    const rKey = key[r]!;
    let at = count;
    while (at > 0) {
      const b = order[at - 1]!;
      const bKey = key[b]!;
      if (bKey > rKey) break;
      if (bKey === rKey) {
        const more = inner[b]! - inner[r]! || own[b]! - own[r]! || r - b;
        if (more > 0) break;
      }
      order[at] = b;
      at -= 1;
    }
    order[at] = r;
  }

  /** Mass mended at each position of the order, and what leaving with it would have cost. */
  private mend(mass: Float64Array): void {
    const { ended, solved, first, live, owed, lasting, lock, second } = this;
    const { start, list } = this.further;
    this.placeKeys();
    ended.fill(0);
    solved.fill(0);
    for (let k = 0; k < this.held; k++) {
      const u = live[k]!;
      const end = start[u + 1]!;
      let last = first[lock[u]!]!;
      const other = first[second[u]!]!;
      if (other > last) last = other;
      for (let i = start[u]!; i < end; i++) {
        const at = first[list[i]!]!;
        if (at > last) last = at;
      }
      const held = mass[u]! * lasting[u]!;
      ended[last]! += held;
      solved[last]! += held * owed[u]!;
    }
  }

  private placeKeys(): void {
    const { first, rank } = this;
    const { start, list } = this.keys;
    for (let j = 0; j < first.length - 1; j++) {
      const end = start[j + 1]!;
      let least = rank.length;
      for (let i = start[j]!; i < end; i++) {
        const at = rank[list[i]!]!;
        if (at < least) least = at;
      }
      first[j] = least;
    }
  }

  /** Cost of the repairs in their order, each cover put on its first user. */
  private pay(opening: Opening): void {
    const { order, paid, rank, least } = this;
    const { covers } = this.prices;
    for (let k = 0; k < this.count; k++) paid[order[k]!] = least[order[k]!]!;
    for (let c = 0; c < covers.length; c++) {
      const { members } = covers[c]!;
      let at = rank.length;
      for (let i = 0; i < members.length; i++) {
        const place = rank[members[i]!]!;
        if (place < at) at = place;
      }
      if (at < rank.length) paid[order[at]!]! += opening.covers[c]!;
    }
  }

  /** The least over leaving at once and stopping after the first k repairs. */
  private stop(mass: Float64Array, leaving: number, opening: Opening): number {
    const { order, paid, ended, solved, live } = this;
    const { places, placeOf } = this.prices;
    this.pay(opening);
    let left = 0;
    for (let k = 0; k < this.held; k++) left += mass[live[k]!]!;
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

function listed(lists: readonly ArrayLike<number>[]): Lists {
  const start = new Int32Array(lists.length + 1);
  lists.forEach((list, k) => (start[k + 1] = start[k]! + list.length));
  const all = new Int32Array(start[lists.length]!);
  lists.forEach((list, k) => all.set(list, start[k]!));
  return { start, list: all };
}
