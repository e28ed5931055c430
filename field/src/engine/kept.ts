/** The likeliest worlds, by what they need, and sums over them (`Kept` in forecast.py). */

import type { Belief, Reporter } from "./belief.ts";
import { exceptionsByWorld, exceptionsOf } from "./exceptions.ts";
import type { Check, Family } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";
import type { NeedTable } from "./need.ts";
import { needTable } from "./need.ts";
import { asToldBy, countReaching, likeliestFirst } from "./telling.ts";

/** The likeliest worlds, sorted by needs; their chances sum to 1. */
export interface Kept {
  readonly family: Family;
  readonly belief: Belief;
  /** The likelihoods of a check, as whoever is asked or looks next would tell of them. */
  readonly told: (check: Check) => Likelihoods;
  readonly needs: NeedTable;
  readonly worlds: Int32Array;
  readonly chance: Float64Array;
  /** The same for every world of the family, 0 where it is not kept. */
  readonly share: Float64Array;
  /** The exceptions of the tables of the family among the worlds kept. */
  readonly exceptions: KeptExceptions;
  readonly cut: number;
  readonly byNeed: Grouped;
  readonly byClass: Grouped;
  /** The needs that occur, ascending; the groups of `byNeed`. */
  readonly held: Int32Array;
  /** The classes of needs that occur or that a repair leaves, ascending; the groups of `byClass`. */
  readonly ids: Int32Array;
  /** Place of each class in `ids`, -1 for those left out. */
  readonly local: Int32Array;
  /** Per repair, what it helps: place in `held`, and place in `ids` of what it leaves, in turn. */
  readonly moves: readonly (readonly number[])[];
}

/** The worlds kept that have another row than most: those of table `t` from `start[t]` on. */
export interface KeptExceptions {
  readonly start: Int32Array;
  readonly world: Int32Array;
  readonly row: Int32Array;
  readonly mass: Float64Array;
}

/** A grouping of the worlds kept, and what was found of it by the rows of a table. */
export interface Grouped {
  /** Group of each world of the family; -1 where it is not kept. */
  readonly group: Int32Array;
  /** Mass of each group. */
  readonly mass: Float64Array;
  /** Checks that share their rows share this. */
  readonly apart: Map<Likelihoods["row"], Apart>;
}

/** The worlds kept that have another row of a table than most. */
export interface Apart {
  readonly usual: number;
  readonly group: Int32Array;
  readonly row: Int32Array;
  readonly mass: Float64Array;
}

/** Keeps the likeliest worlds: at most so many, covering so much if they can. */
export function keep(family: Family, belief: Belief, reporter: Reporter): Kept {
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
  const all = new Float64Array(family.size);
  worlds.forEach((w, i) => (all[w] = shares[i]!));
  const found = grouped(needs, worlds, shares);
  const exceptions = exceptionsAmong(family, worlds.slice().sort(), all);
  const cut = Math.max(0, 1 - share);
  const told = (check: Check): Likelihoods => asToldBy(belief, reporter, check);
  const kept = { family, belief, told, needs, worlds, chance: shares, share: all };
  return { ...kept, exceptions, cut, ...found };
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
): Pick<Kept, "byNeed" | "byClass" | "held" | "ids" | "local" | "moves"> {
  const classOf = needs.classes.of;
  const listed: number[] = [];
  const need = new Int32Array(needs.ofWorld.length).fill(-1);
  for (const w of worlds) {
    const id = needs.ofWorld[w]!;
    if (id !== listed[listed.length - 1]) listed.push(id);
    need[w] = listed.length - 1;
  }
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
  const byNeed = { group: need, mass: new Float64Array(held.length), apart: new Map() };
  const column = new Int32Array(need.length).fill(-1);
  const byClass = { group: column, mass: new Float64Array(ids.length), apart: new Map() };
  worlds.forEach((w, i) => {
    column[w] = place[need[w]!]!;
    byNeed.mass[need[w]!]! += chance[i]!;
    byClass.mass[column[w]!]! += chance[i]!;
  });
  const moves: number[][] = needs.repairs.map(() => []);
  held.forEach((id, h) => {
    for (const left of needs.helped[id]!) {
      moves[left.repair]!.push(h, local[classOf[left.target]!]!);
    }
  });
  return { byNeed, byClass, held, ids, local, moves };
}

/** The exceptions of every table among some worlds, given ascending. */
function exceptionsAmong(
  family: Family,
  worlds: Int32Array,
  share: Float64Array,
): KeptExceptions {
  const all = exceptionsByWorld(family);
  const start = new Int32Array(all.usual.length + 1);
  for (let k = 0; k < worlds.length; k++) {
    const end = all.start[worlds[k]! + 1]!;
    for (let i = all.start[worlds[k]!]!; i < end; i++) start[all.of[all.cells[i]!]! + 1]! += 1;
  }
  for (let t = 0; t < all.usual.length; t++) start[t + 1]! += start[t]!;
  const count = start[all.usual.length]!;
  const world = new Int32Array(count);
  const row = new Int32Array(count);
  const mass = new Float64Array(count);
  const next = start.slice();
  for (let k = 0; k < worlds.length; k++) {
    const w = worlds[k]!;
    const end = all.start[w + 1]!;
    for (let i = all.start[w]!; i < end; i++) {
      const t = all.of[all.cells[i]!]!;
      const at = next[t]!++;
      world[at] = w;
      row[at] = all.cells[i]! - all.offset[t]!;
      mass[at] = share[w]!;
    }
  }
  return { start, world, row, mass };
}

/** The worlds kept that have another row of a table than most. */
function apartOf(kept: Kept, by: Grouped, table: Likelihoods): Apart {
  let found = by.apart.get(table.row);
  if (found === undefined) by.apart.set(table.row, (found = apartAnew(kept, by, table)));
  return found;
}

function apartAnew(kept: Kept, by: Grouped, { row, count }: Likelihoods): Apart {
  const all = exceptionsByWorld(kept.family);
  const t = all.table.get(row);
  if (t === undefined) return apartOfOther(kept, by, row, count);
  const from = kept.exceptions.start[t]!;
  const to = kept.exceptions.start[t + 1]!;
  const { world } = kept.exceptions;
  const group = new Int32Array(to - from);
  for (let k = 0; k < group.length; k++) group[k] = by.group[world[from + k]!]!;
  return {
    usual: all.usual[t]!,
    group,
    row: kept.exceptions.row.subarray(from, to),
    mass: kept.exceptions.mass.subarray(from, to),
  };
}

/** The same for a table that is none of the family's: that of a circuit that was read. */
function apartOfOther(kept: Kept, by: Grouped, row: Uint16Array, count: number): Apart {
  const { usual } = exceptionsOf(row, count);
  const worlds = kept.worlds.filter((w) => row[w] !== usual).sort();
  return {
    usual,
    group: worlds.map((w) => by.group[w]!),
    row: worlds.map((w) => row[w]!),
    mass: Float64Array.from(worlds, (w) => kept.share[w]!),
  };
}

/** Writes the mass of each group together with one answer of a check into a row. */
export function massWithAnswer(
  kept: Kept,
  by: Grouped,
  table: Likelihoods,
  answer: number,
  into: Float64Array,
): Float64Array {
  const { columns, rows } = table;
  const { usual, group, row, mass } = apartOf(kept, by, table);
  const all = by.mass;
  const most = rows[usual * columns + answer]!;
  for (let g = 0; g < all.length; g++) into[g] = all[g]! * most;
  for (let k = 0; k < group.length; k++) {
    into[group[k]!]! += mass[k]! * (rows[row[k]! * columns + answer]! - most);
  }
  return into;
}

/** Entropy of the needs after each answer of a check, times the chance of it, in bits. */
export function bitsByAnswer(kept: Kept, table: Likelihoods): number[] {
  const row = new Float64Array(kept.held.length);
  return Array.from({ length: table.columns }, (_, c) =>
    entropyBits(massWithAnswer(kept, kept.byNeed, table, c, row)),
  );
}

/** The mass of each row of a table. */
export function massByRow(kept: Kept, table: Likelihoods): Float64Array {
  const { usual, row, mass } = apartOf(kept, kept.byClass, table);
  const found = new Float64Array(table.count);
  let others = 0;
  for (let k = 0; k < row.length; k++) {
    found[row[k]!]! += mass[k]!;
    others += mass[k]!;
  }
  found[usual] = Math.max(1 - others, 0);
  return found;
}

const TINY = 2.2250738585072014e-308;

/** Entropy of a row times its sum, in bits. */
export function entropyBits(row: Float64Array): number {
  let total = 0;
  let logs = 0;
  for (let i = 0; i < row.length; i++) {
    const m = row[i]!;
    if (m === 0) continue;
    total += m;
    logs += m * Math.log2(Math.max(m, TINY));
  }
  return total * Math.log2(Math.max(total, TINY)) - logs;
}
