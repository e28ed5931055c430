/** How likely each answer of a check is in every world, before anything was read (family.py). */

import type { Check, Family } from "./family.ts";

/** A check's likelihoods: distinct rows, floored and summing to 1. */
export interface Likelihoods {
  readonly columns: number;
  readonly rows: Float64Array;
  /** Per row the sum of p log2 p. */
  readonly bits: Float64Array;
  /** Row of every world. */
  readonly row: Uint16Array;
  readonly count: number;
  /** The first of the last rows, which the worlds outside the library alone have. */
  readonly beyond: number;
}

/** The rows of the worlds, and which rows the worlds outside the library had before their own. */
interface Parted {
  readonly row: Uint16Array;
  readonly outside: readonly number[];
}

const tables = new WeakMap<Check, Likelihoods>();
const outsides = new WeakMap<object, Uint16Array>();
const parted = new WeakMap<object, Parted>();

/** P(outcome | world), floored and even in the OTHER world (see likelihood_table). */
export function likelihoodTable(family: Family, check: Check): Likelihoods {
  const known = tables.get(check);
  if (known !== undefined) return known;
  const columns = check.outcomes.length;
  const count = check.rows.length / columns;
  const { row, outside } = check.keepsOutside
    ? partedRows(family, check.row, count)
    : { row: rowsWithOutside(family, check.row, count), outside: [-1] };
  const rows = new Float64Array((count + outside.length) * columns).fill(1 / columns);
  const { FLOOR } = family.constants;
  for (let r = 0; r < count; r++) flooredRow(check.rows, rows, r * columns, columns, FLOOR);
  outside.forEach((own, k) => {
    if (own < 0) return;
    rows.set(rows.slice(own * columns, (own + 1) * columns), (count + k) * columns);
  });
  const made = likelihoodsOf(columns, rows, row, count);
  tables.set(check, made);
  return made;
}

/** The rows of the worlds, those outside the library with rows of their own; what is shared stays shared. */
function partedRows(family: Family, own: Uint8Array | Uint16Array, count: number): Parted {
  let found = parted.get(own);
  if (found === undefined) {
    const row = Uint16Array.from(own);
    const outside = [...new Set(family.outsideWorlds.map((w) => own[w]!))];
    for (const w of family.outsideWorlds) row[w] = count + outside.indexOf(own[w]!);
    parted.set(own, (found = { row, outside }));
  }
  return found;
}

/**
 * Likelihoods from their distinct rows, which sum to 1, and the row of every world; those from `beyond`
 * on belong to worlds outside the library alone.
 */
export function likelihoodsOf(
  columns: number,
  rows: Float64Array,
  row: Uint16Array,
  beyond: number,
): Likelihoods {
  return { columns, rows, bits: bitsOf(rows, columns), row, count: rows.length / columns, beyond };
}

/** The same likelihoods with other rows outside the library; `change` is given each of them. */
export function withOutside(
  table: Likelihoods,
  change: (row: Float64Array) => Float64Array,
): Likelihoods {
  const { columns, beyond, count } = table;
  const rows = table.rows.slice();
  const bits = table.bits.slice();
  for (let r = beyond; r < count; r++) {
    const changed = change(rows.slice(r * columns, (r + 1) * columns));
    rows.set(changed, r * columns);
    bits[r] = bitsOf(changed, columns)[0]!;
  }
  return { ...table, rows, bits };
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
