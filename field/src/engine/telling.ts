/** Which checks would tell anything now (see telling.py). */

import type { Belief, Reporter } from "./belief.ts";
import { outcomePosition } from "./belief.ts";
import { exceptionsByWorld, exceptionsOf } from "./exceptions.ts";
import type { Check, Family } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";
import { asBefore, asWeighed } from "./outside.ts";

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

/** What the likeliest worlds say of each check: the mass of each row of its table. */
interface Masses {
  /** Of all tables of the family, side by side. */
  readonly all: Float64Array;
  /** Of the tables of a circuit that was read. */
  readonly others: Map<Uint16Array, Float64Array>;
  readonly likely: Likely;
}

const masses = new WeakMap<Belief, Masses>();

function massOf(belief: Belief, table: Likelihoods): Float64Array {
  const { family } = belief;
  let found = masses.get(belief);
  if (found === undefined) {
    const likely = likeliest(belief);
    found = { all: massOfCells(family, likely), others: new Map(), likely };
    masses.set(belief, found);
  }
  const { table: number, offset } = exceptionsByWorld(family);
  const t = number.get(table.row);
  if (t !== undefined) return found.all.subarray(offset[t]!);
  let mass = found.others.get(table.row);
  if (mass === undefined) found.others.set(table.row, (mass = massOfRows(table, found.likely)));
  return mass;
}

const tables = new WeakMap<Belief, Map<Reporter, Map<string, Likelihoods>>>();

/**
 * P(answer | world) as it stands, the world outside the library as the belief would weigh it. Each
 * reporter's answers make up a moment of their own.
 */
export function asToldBy(belief: Belief, reporter: Reporter, check: Check): Likelihoods {
  let byReporter = tables.get(belief);
  if (byReporter === undefined) tables.set(belief, (byReporter = new Map()));
  let known = byReporter.get(reporter);
  if (known === undefined) byReporter.set(reporter, (known = new Map()));
  let found = known.get(check.id);
  if (found === undefined) known.set(check.id, (found = toldAnew(belief, reporter, check)));
  return found;
}

function toldAnew(belief: Belief, reporter: Reporter, check: Check): Likelihoods {
  const { outsideWorlds, size } = belief.family;
  const table = belief.table(check);
  if (outsideWorlds.length === 0 || outsideWorlds.length === size) return table;
  const before = belief.readBefore(check);
  const excess = belief.excessOf(reporter);
  if (before === undefined && excess <= 0) return table;
  const shown =
    before === undefined ? null : asBefore(belief.family, check, outcomePosition(check, before));
  return asWeighed(table, inLibrary(belief, table), shown, excess);
}

/** The chance of every answer in the library, by the likeliest worlds. */
function inLibrary(belief: Belief, table: Likelihoods): Float64Array {
  const { rows, columns, beyond } = table;
  const mass = massOf(belief, table);
  const found = new Float64Array(columns);
  let inside = 0;
  for (let r = 0; r < beyond; r++) {
    const m = mass[r]!;
    if (m === 0) continue;
    inside += m;
    for (let c = 0; c < columns; c++) found[c]! += m * rows[r * columns + c]!;
  }
  return found.map((chance) => chance / Math.max(inside, TINY));
}

const TINY = 2.2250738585072014e-308;

const told = new WeakMap<Belief, Map<Reporter, ReadonlyMap<string, number>>>();

/** For every check how many bits its answer is expected to tell about the worlds; remembered. */
export function toldBits(
  belief: Belief,
  reporter: Reporter = "technician",
): ReadonlyMap<string, number> {
  let known = told.get(belief);
  if (known === undefined) told.set(belief, (known = new Map()));
  let found = known.get(reporter);
  if (found === undefined) known.set(reporter, (found = bitsAnew(belief, reporter)));
  return found;
}

function bitsAnew(belief: Belief, reporter: Reporter): ReadonlyMap<string, number> {
  const found = new Map<string, number>();
  for (const check of belief.family.checks.values()) {
    const table = asToldBy(belief, reporter, check);
    found.set(check.id, informationOf(massOf(belief, table), table));
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
export function silentChecks(belief: Belief, reporter: Reporter): Set<string> {
  const { checks, constants } = belief.family;
  const found = new Set<string>();
  for (const [id, bits] of toldBits(belief, reporter)) {
    const check = checks.get(id)!;
    const warns = check.phone && check.outcomes.some((outcome) => outcome.danger);
    if (bits < constants.TELLING_BITS && !check.proof && !warns) found.add(id);
  }
  return found;
}
