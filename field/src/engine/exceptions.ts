/**
 * Most worlds have the same row of a check's table. The others are listed once, so that a sum over all
 * worlds needs to look at them alone: by table, and for the tables of a family also by world.
 */

import type { Family } from "./family.ts";
import { likelihoodTable } from "./likelihood.ts";

/** The row most worlds have, and the worlds that have another, with theirs. */
export interface Exceptions {
  readonly usual: number;
  readonly worlds: Int32Array;
  readonly rows: Uint16Array;
}

const known = new WeakMap<Uint16Array, Exceptions>();

/** The worlds that have another row than most; made once for the rows of a table. */
export function exceptionsOf(row: Uint16Array, count: number): Exceptions {
  let found = known.get(row);
  if (found === undefined) known.set(row, (found = exceptionsAnew(row, count)));
  return found;
}

function exceptionsAnew(row: Uint16Array, count: number): Exceptions {
  const times = new Int32Array(count);
  for (const r of row) times[r]! += 1;
  let usual = 0;
  for (let r = 1; r < count; r++) if (times[r]! > times[usual]!) usual = r;
  const others = row.length - (times[usual] ?? 0);
  const worlds = new Int32Array(others);
  const rows = new Uint16Array(others);
  let at = 0;
  for (let w = 0; w < row.length; w++) {
    if (row[w] === usual) continue;
    worlds[at] = w;
    rows[at++] = row[w]!;
  }
  return { usual, worlds, rows };
}

/**
 * The exceptions of all tables of a family, world by world. The rows of all tables are numbered through:
 * those of table `t` are the cells from `offset[t]` to `offset[t + 1]`.
 */
export interface ByWorld {
  /** Number of the table that has these rows. */
  readonly table: ReadonlyMap<Uint16Array, number>;
  readonly offset: Int32Array;
  /** Per table the row most worlds have. */
  readonly usual: Int32Array;
  /** Table of each cell. */
  readonly of: Uint16Array;
  /** The cells of world `w` are at `start[w]` to `start[w + 1]`, by table. */
  readonly start: Int32Array;
  readonly cells: Int32Array;
}

const ofFamily = new WeakMap<Family, ByWorld>();

/** The exceptions of every world of a family; made once. */
export function exceptionsByWorld(family: Family): ByWorld {
  let found = ofFamily.get(family);
  if (found === undefined) ofFamily.set(family, (found = byWorldAnew(family)));
  return found;
}

function byWorldAnew(family: Family): ByWorld {
  const counts = new Map<Uint16Array, number>();
  for (const check of family.checks.values()) {
    const { row, count } = likelihoodTable(family, check);
    counts.set(row, Math.max(counts.get(row) ?? 0, count));
  }
  const rows = [...counts.keys()];
  const offset = new Int32Array(rows.length + 1);
  rows.forEach((row, t) => (offset[t + 1] = offset[t]! + counts.get(row)!));
  const apart = rows.map((row) => exceptionsOf(row, counts.get(row)!));
  const start = new Int32Array(family.size + 1);
  for (const { worlds } of apart) {
    for (let k = 0; k < worlds.length; k++) start[worlds[k]! + 1]! += 1;
  }
  for (let w = 0; w < family.size; w++) start[w + 1]! += start[w]!;
  const cells = new Int32Array(start[family.size]!);
  const at = start.slice();
  apart.forEach((one, t) => {
    for (let k = 0; k < one.worlds.length; k++) {
      cells[at[one.worlds[k]!]!++] = offset[t]! + one.rows[k]!;
    }
  });
  const of = new Uint16Array(offset[rows.length]!);
  rows.forEach((_, t) => of.fill(t, offset[t]!, offset[t + 1]!));
  const usual = Int32Array.from(apart, (one) => one.usual);
  return { table: new Map(rows.map((row, t) => [row, t])), offset, usual, of, start, cells };
}
