/** How likely each answer of a check is in every world, before anything was read (family.py). */

import type { Check, Family } from "./family.ts";

/** A check's likelihoods: distinct rows, floored and summing to 1; `even` holds in OTHER. */
export interface Likelihoods {
  readonly columns: number;
  readonly rows: Float64Array;
  /** Per row the sum of p log2 p. */
  readonly bits: Float64Array;
  /** Row of every world; a world outside the library has the last row, where all is even. */
  readonly row: Uint16Array;
  readonly count: number;
}

const tables = new WeakMap<Check, Likelihoods>();
const outsides = new WeakMap<object, Uint16Array>();
const widened = new WeakMap<object, Uint16Array>();

/** P(outcome | world), floored and even in the OTHER world (see likelihood_table). */
export function likelihoodTable(family: Family, check: Check): Likelihoods {
  const known = tables.get(check);
  if (known !== undefined) return known;
  const columns = check.outcomes.length;
  const count = check.rows.length / columns;
  const rows = new Float64Array((count + 1) * columns).fill(1 / columns);
  const { FLOOR } = family.constants;
  for (let r = 0; r < count; r++) flooredRow(check.rows, rows, r * columns, columns, FLOOR);
  const row = check.keepsOutside
    ? wide(check.row)
    : rowsWithOutside(family, check.row, count);
  const made = likelihoodsOf(columns, rows, row);
  tables.set(check, made);
  return made;
}

/** The rows of the worlds in two bytes each; what is shared stays shared. */
function wide(own: Uint8Array | Uint16Array): Uint16Array {
  let row = own instanceof Uint16Array ? own : widened.get(own);
  if (row === undefined) widened.set(own, (row = Uint16Array.from(own)));
  return row;
}

/** Likelihoods from their distinct rows, which sum to 1, and the row of every world. */
export function likelihoodsOf(
  columns: number,
  rows: Float64Array,
  row: Uint16Array,
): Likelihoods {
  return { columns, rows, bits: bitsOf(rows, columns), row, count: rows.length / columns };
}

function bitsOf(rows: Float64Array, columns: number): Float64Array {
  const found = new Float64Array(rows.length / columns);
  for (let i = 0; i < rows.length; i++) {
    const p = rows[i]!;
    found[Math.floor(i / columns)]! += p * Math.log2(Math.max(p, 1e-300));
  }
  return found;
}

/** The rows of the worlds, with one of its own for OTHER; what is shared stays shared. */
export function rowsWithOutside(
  family: Family,
  own: Uint8Array | Uint16Array,
  count: number,
): Uint16Array {
  let row = outsides.get(own);
  if (row === undefined) {
    row = Uint16Array.from(own);
    for (const w of family.outsideWorlds) row[w] = count;
    outsides.set(own, row);
  }
  return row;
}

function flooredRow(
  from: Float64Array,
  to: Float64Array,
  at: number,
  columns: number,
  floor: number,
): void {
  let sum = 0;
  for (let c = 0; c < columns; c++) {
    const value = Math.max(from[at + c] ?? 0, floor);
    to[at + c] = value;
    sum += value;
  }
  for (let c = 0; c < columns; c++) to[at + c] = (to[at + c] ?? 0) / sum;
}
