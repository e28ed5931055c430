/** The likeliest worlds, by what they need, and sums over them (`Kept` in forecast.py). */

import type { Belief } from "./belief.ts";
import type { Family } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";
import type { NeedTable } from "./need.ts";
import { needTable } from "./need.ts";

/** The likeliest worlds, sorted by needs; their chances sum to 1. */
export interface Kept {
  readonly family: Family;
  readonly belief: Belief;
  readonly needs: NeedTable;
  readonly worlds: Int32Array;
  readonly chance: Float64Array;
  readonly cut: number;
  readonly byNeed: Grouped;
  readonly byClass: Grouped;
  /** The needs that occur, ascending, with their masses. */
  readonly held: Int32Array;
  readonly heldMass: Float64Array;
  /** The classes of needs that occur or that a repair leaves of them, ascending, 0 among them. */
  readonly ids: Int32Array;
  /** Place of each class in `ids`, -1 for those left out. */
  readonly local: Int32Array;
  /** Mass of each of the classes in `ids` now. */
  readonly present: Float64Array;
  /** Per repair, what it helps: place in `held`, and place in `ids` of what it leaves, in turn. */
  readonly moves: readonly (readonly number[])[];
}

/** A grouping of the worlds kept. */
export interface Grouped {
  /** Group of each world. */
  readonly group: Int32Array;
  /** The worlds, those of one group one after the other. */
  readonly order: Int32Array;
  /** What was summed by group and row of a table; checks that share their rows share it. */
  readonly sums: Map<Likelihoods["row"], RowSums>;
}

/** Mass of the worlds kept by group and row of a table; only pairs that occur, by group. */
export interface RowSums {
  readonly group: Int32Array;
  readonly row: Int32Array;
  readonly mass: Float64Array;
}

const ordered = new WeakMap<Float64Array, Int32Array>();

/**
 * Positions by falling share, equal ones in their own order; remembered, not to be changed. Shares
 * that differ in the last bits alone are equal, on every machine alike.
 */
export function likeliestFirst(chance: Float64Array): Int32Array {
  let order = ordered.get(chance);
  if (order === undefined) {
    const single = Float32Array.from(chance);
    order = Int32Array.from(chance.keys()).sort((a, b) => single[b]! - single[a]! || a - b);
    ordered.set(chance, order);
  }
  return order;
}

/** How many of the likeliest reach a share together. */
export function countReaching(order: Int32Array, chance: Float64Array, share: number): number {
  let sum = 0;
  for (let i = 0; i < order.length; i++) {
    sum += chance[order[i]!]!;
    if (sum >= share) return i + 1;
  }
  return order.length + 1;
}

/** Keeps the likeliest worlds: at most so many, covering so much if they can. */
export function keep(family: Family, belief: Belief): Kept {
  const { MOST_WORLDS, KEPT_MASS } = family.constants;
  const needs = needTable(family);
  const chance = belief.probabilities();
  const order = likeliestFirst(chance);
  const enough = countReaching(order, chance, KEPT_MASS);
  const best = order.subarray(0, Math.min(enough, MOST_WORLDS, order.length));
  const worlds = sortedBy(needs.ofWorld, best, needs.count);
  let share = 0;
  for (const w of best) share += chance[w]!;
  const shares = Float64Array.from(worlds, (w) => chance[w]! / share);
  const cut = Math.max(0, 1 - share);
  return { family, belief, needs, worlds, chance: shares, cut, ...grouped(needs, worlds, shares) };
}

/** Members by ascending group, those of one group in the order they came. */
function sortedBy(groupOf: Int32Array, members: Int32Array, groups: number): Int32Array {
  const start = new Int32Array(groups + 1);
  for (const member of members) start[groupOf[member]! + 1]! += 1;
  for (let g = 0; g < groups; g++) start[g + 1]! += start[g]!;
  const sorted = new Int32Array(members.length);
  for (const member of members) sorted[start[groupOf[member]!]!++] = member;
  return sorted;
}

/** The needs and classes of the worlds kept, and what repairs leave of them. */
function grouped(
  needs: NeedTable,
  worlds: Int32Array,
  chance: Float64Array,
): Pick<Kept, "byNeed" | "byClass" | "held" | "heldMass" | "ids" | "local" | "present" | "moves"> {
  const classOf = needs.classes.of;
  const listed: number[] = [];
  const need = new Int32Array(worlds.length);
  worlds.forEach((w, i) => {
    const id = needs.ofWorld[w]!;
    if (id !== listed[listed.length - 1]) listed.push(id);
    need[i] = listed.length - 1;
  });
  const held = Int32Array.from(listed);
  const local = new Int32Array(needs.classes.owed.length).fill(-1);
  local[0] = 0;
  for (const id of held) {
    local[classOf[id]!] = 0;
    for (const { target } of needs.helped[id]!) local[classOf[target]!] = 0;
  }
  const ids = Int32Array.from(local.keys()).filter((c) => local[c] === 0);
  ids.forEach((c, u) => (local[c] = u));
  const place = held.map((id) => local[classOf[id]!]!);
  const column = need.map((h) => place[h]!);
  const heldMass = new Float64Array(held.length);
  const present = new Float64Array(ids.length);
  chance.forEach((share, i) => {
    heldMass[need[i]!]! += share;
    present[column[i]!]! += share;
  });
  const all = Int32Array.from(worlds.keys());
  const moves: number[][] = needs.repairs.map(() => []);
  held.forEach((id, h) => {
    for (const left of needs.helped[id]!) {
      moves[left.repair]!.push(h, local[classOf[left.target]!]!);
    }
  });
  return {
    byNeed: { group: need, order: all, sums: new Map() },
    byClass: { group: column, order: sortedBy(column, all, ids.length), sums: new Map() },
    held,
    heldMass,
    ids,
    local,
    present,
    moves,
  };
}

/** Sums the worlds kept by group and row of a table. */
export function rowSums(kept: Kept, by: Grouped, { row, count }: Likelihoods): RowSums {
  const known = by.sums.get(row);
  if (known !== undefined) return known;
  const { worlds, chance } = kept;
  const groups = new Int32Array(worlds.length);
  const rows = new Int32Array(worlds.length);
  const mass = new Float64Array(worlds.length);
  const place = new Int32Array(count).fill(-1);
  let at = 0;
  let start = 0;
  let group = -1;
  for (const i of by.order) {
    if (by.group[i] !== group) {
      group = by.group[i]!;
      start = at;
    }
    const r = row[worlds[i]!]!;
    let k = place[r]!;
    if (k < start) {
      k = place[r] = at++;
      groups[k] = group;
      rows[k] = r;
    }
    mass[k]! += chance[i]!;
  }
  const found = {
    group: groups.subarray(0, at),
    row: rows.subarray(0, at),
    mass: mass.subarray(0, at),
  };
  by.sums.set(row, found);
  return found;
}

/** The mass of each of the classes in `ids` together with each answer of a check. */
export function massByAnswer(kept: Kept, table: Likelihoods): Float64Array[] {
  const { columns, rows } = table;
  const { group, row, mass } = rowSums(kept, kept.byClass, table);
  return Array.from({ length: columns }, (_, c) => {
    const found = new Float64Array(kept.ids.length);
    for (let k = 0; k < group.length; k++) {
      found[group[k]!]! += mass[k]! * rows[row[k]! * columns + c]!;
    }
    return found;
  });
}

/** Entropy of the needs after each answer of a check times the answer's chance, in bits. */
export function bitsByAnswer(kept: Kept, table: Likelihoods): number[] {
  const { columns, rows } = table;
  const { group, row, mass } = rowSums(kept, kept.byNeed, table);
  return Array.from({ length: columns }, (_, c) => {
    let total = 0;
    let logs = 0;
    let own = 0;
    for (let k = 0; k < group.length; k++) {
      own += mass[k]! * rows[row[k]! * columns + c]!;
      if (group[k + 1] === group[k]) continue;
      total += own;
      logs += own * Math.log2(Math.max(own, TINY));
      own = 0;
    }
    return total * Math.log2(Math.max(total, TINY)) - logs;
  });
}

const TINY = 2.2250738585072014e-308;

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
