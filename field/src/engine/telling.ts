/** Which checks would tell anything now (see telling.py). */

import type { Belief } from "./belief.ts";
import { exceptionsByWorld, exceptionsOf } from "./exceptions.ts";
import type { Family } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";

const ordered = new WeakMap<Float64Array, Int32Array>();

/** A share in single precision is sorted by so many of its bits at a time. */
const DIGIT_BITS = 11;
const DIGITS = 2 ** DIGIT_BITS;

/**
 * Positions by falling share, equal ones in their own order; remembered, not to be changed. Shares
 * that differ in the last bits alone are equal, on every machine alike.
 */
export function likeliestFirst(chance: Float64Array): Int32Array {
  let order = ordered.get(chance);
  if (order === undefined) {
    order = fallingOrder(new Uint32Array(Float32Array.from(chance).buffer));
    ordered.set(chance, order);
  }
  return order;
}

/**
 * Positions by the falling bits of positive numbers: sorted digit by digit, the last first, so that
 * equal ones stay in their order.
 */
function fallingOrder(bits: Uint32Array): Int32Array {
  const next = new Int32Array(DIGITS);
  let order = new Int32Array(bits.length);
  let sorted = new Int32Array(bits.length);
  for (let i = 0; i < order.length; i++) order[i] = i;
  for (let shift = 0; shift < 32; shift += DIGIT_BITS) {
    next.fill(0);
    for (let i = 0; i < bits.length; i++) next[(bits[i]! >>> shift) & (DIGITS - 1)]! += 1;
    let start = 0;
    for (let d = DIGITS - 1; d >= 0; d--) {
      const count = next[d]!;
      next[d] = start;
      start += count;
    }
    for (let i = 0; i < order.length; i++) {
      const digit = (bits[order[i]!]! >>> shift) & (DIGITS - 1);
      sorted[next[digit]!++] = order[i]!;
    }
    [order, sorted] = [sorted, order];
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

const told = new WeakMap<Belief, ReadonlyMap<string, number>>();

/** For every check how many bits its answer is expected to tell about the worlds; remembered. */
export function toldBits(belief: Belief): ReadonlyMap<string, number> {
  let found = told.get(belief);
  if (found === undefined) told.set(belief, (found = toldAnew(belief)));
  return found;
}

function toldAnew(belief: Belief): ReadonlyMap<string, number> {
  const { family } = belief;
  const likely = likeliest(belief);
  const { table: number, offset } = exceptionsByWorld(family);
  const all = massOfCells(family, likely);
  const others = new Map<Uint16Array, Float64Array>();
  const found = new Map<string, number>();
  for (const check of family.checks.values()) {
    const table = belief.table(check);
    const t = number.get(table.row);
    let mass = t === undefined ? others.get(table.row) : all.subarray(offset[t]!);
    if (mass === undefined) others.set(table.row, (mass = massOfRows(table, likely)));
    found.set(check.id, informationOf(mass, table));
  }
  return found;
}

/** The likeliest worlds, ascending, and the shares of all, which sum to 1; 0 for the others. */
export interface Likely {
  readonly worlds: Int32Array;
  readonly share: Float64Array;
}

export function likeliest(belief: Belief): Likely {
  const chance = belief.probabilities();
  const order = likeliestFirst(chance);
  const count = countReaching(order, chance, belief.family.constants.LIKELY_WORLDS);
  const best = order.subarray(0, count);
  let total = 0;
  for (let k = 0; k < best.length; k++) total += chance[best[k]!]!;
  const share = new Float64Array(chance.length);
  for (let k = 0; k < best.length; k++) share[best[k]!] = chance[best[k]!]! / total;
  return { worlds: best.slice().sort(), share };
}

/** The mass of each row of every table of the family. */
function massOfCells(family: Family, { worlds, share }: Likely): Float64Array {
  const { offset, usual, of, start, cells } = exceptionsByWorld(family);
  const mass = new Float64Array(of.length);
  const others = new Float64Array(usual.length);
  for (let k = 0; k < worlds.length; k++) {
    const w = worlds[k]!;
    const m = share[w]!;
    const end = start[w + 1]!;
    for (let i = start[w]!; i < end; i++) {
      mass[cells[i]!]! += m;
      others[of[cells[i]!]!]! += m;
    }
  }
  for (let t = 0; t < usual.length; t++) {
    mass[offset[t]! + usual[t]!] = Math.max(1 - others[t]!, 0);
  }
  return mass;
}

/** The mass of each row of a table, from shares of all worlds that sum to 1. */
function massOfRows({ row, count }: Likelihoods, { worlds, share }: Likely): Float64Array {
  const { usual } = exceptionsOf(row, count);
  const mass = new Float64Array(count);
  let others = 0;
  for (let k = 0; k < worlds.length; k++) {
    const r = row[worlds[k]!]!;
    if (r === usual) continue;
    mass[r]! += share[worlds[k]!]!;
    others += share[worlds[k]!]!;
  }
  mass[usual] = Math.max(1 - others, 0);
  return mass;
}

/** Mutual information of world and answer in bits, from the mass of each distinct row. */
export function informationOf(
  mass: Float64Array,
  { rows, bits, columns, count }: Likelihoods,
): number {
  const usual = new Float64Array(columns);
  let within = 0;
  for (let r = 0; r < count; r++) {
    const m = mass[r]!;
    if (m === 0) continue;
    within += m * bits[r]!;
    for (let c = 0; c < columns; c++) usual[c]! += m * rows[r * columns + c]!;
  }
  let between = 0;
  for (const p of usual) between += p * Math.log2(Math.max(p, 1e-300));
  return within - between;
}

/** The checks that would tell next to nothing now, questions about danger excepted. */
export function silentChecks(belief: Belief): Set<string> {
  const { checks, constants } = belief.family;
  const found = new Set<string>();
  for (const [id, bits] of toldBits(belief)) {
    const check = checks.get(id)!;
    const warns = check.phone && check.outcomes.some((outcome) => outcome.danger);
    if (bits < constants.TELLING_BITS && !check.proof && !warns) found.add(id);
  }
  return found;
}
