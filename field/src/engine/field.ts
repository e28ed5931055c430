/** The likeliest worlds of a belief, reduced for looking further than one step (see field.py). */

import type { Opening } from "./expected_cost.ts";
import { openingOf, proofCost } from "./expected_cost.ts";
import type { Check, Family, Repair } from "./family.ts";
import type { Kept } from "./forecast.ts";
import { SYSTEM, likeliestFirst } from "./forecast.ts";
import type { NeedTable } from "./need.ts";
import { tableOf, targetOf } from "./need.ts";
import { checkAllowed, prepare, repairAllowed } from "./safety_order.ts";
import type { Situation } from "./situation.ts";

/** Something that can be done in a spot. */
export interface Act {
  readonly kind: "check" | "repair" | "run";
  readonly target: string;
  readonly dollars: number;
  readonly after: Situation;
  /** Its first row in the spot, and how many it has. */
  readonly start: number;
  readonly outcomes: number;
  /** Of a check: the likelihoods by outcome; empty for others. */
  readonly likelihoods: readonly Float64Array[];
  /** Of a repair: its position in the field's repairs. */
  readonly position: number;
  /** What is still to be paid afterwards. */
  readonly opening: Opening;
}

/** What can be done in one situation; a row for each unsolved outcome. */
export interface Spot {
  readonly acts: readonly Act[];
  readonly rows: number;
}

/** A check with its likelihoods in the worlds of the field, by outcome. */
interface Look {
  readonly check: Check;
  readonly likelihoods: readonly Float64Array[];
}

const NOTHING: readonly Float64Array[] = [];

/** The reduced problem: a few worlds, their needs, the repairs that touch them, a few checks. */
export class Field {
  private readonly family: Family;
  private readonly requires: readonly ReadonlySet<string>[];

  constructor(
    /** The needs of these worlds and the repairs that touch them. */
    readonly needs: NeedTable,
    /** Probability of each world now; those that only stand in have 0. */
    readonly start: Float64Array,
    /** Per repair, the world it leads to from each; -1 where nothing is needed then. */
    private readonly reached: readonly Int32Array[],
    private readonly looks: readonly Look[],
  ) {
    this.family = needs.family;
    this.requires = needs.repairs.map((repair) => new Set(repair.requires));
  }

  /** Prepares a situation: the checks and repairs allowed in it, or only some of them. */
  spot(situation: Situation, only: ReadonlySet<string> | null = null): Spot {
    const acts: Act[] = [];
    let at = 0;
    const add = (act: Omit<Act, "start" | "opening">): void => {
      acts.push({ ...act, start: at, opening: openingOf(this.needs, act.after) });
      at += act.outcomes;
    };
    for (const look of this.looks) {
      const wanted = only === null || only.has(look.check.id);
      if (wanted && checkAllowed(look.check, situation)) add(this.checkAct(look, situation));
    }
    this.needs.repairs.forEach((repair, position) => {
      const wanted = only === null || only.has(repair.id);
      if (wanted && repairAllowed(repair, situation)) {
        add(this.repairAct(repair, position, situation));
      }
    });
    if (only?.has(SYSTEM)) add(this.run(situation));
    return { acts, rows: at };
  }

  private checkAct({ check, likelihoods }: Look, situation: Situation): Omit<Act, "start" | "opening"> {
    const { dollarsPerMinute } = this.family;
    const ready = prepare(this.family, situation, check.place, check.requires, check.group);
    return {
      kind: "check",
      target: check.id,
      dollars: (ready.minutes + check.minutes) * dollarsPerMinute + check.hazardCost,
      after: withDone(ready.after, check.id),
      outcomes: likelihoods.length,
      likelihoods,
      position: -1,
    };
  }

  private repairAct(
    repair: Repair,
    position: number,
    situation: Situation,
  ): Omit<Act, "start" | "opening"> {
    const { family } = this;
    const ready = prepare(family, situation, repair.place, this.requires[position]!);
    const spent = (ready.minutes + repair.minutes) * family.dollarsPerMinute;
    return {
      kind: "repair",
      target: repair.id,
      dollars: spent + (repair.dollars + repair.hazard_cost + proofCost(family, repair)),
      after: withDone(ready.after, repair.id),
      outcomes: 1,
      likelihoods: NOTHING,
      position,
    };
  }

  private run(situation: Situation): Omit<Act, "start" | "opening"> {
    return {
      kind: "run",
      target: SYSTEM,
      dollars: this.family.proofMinutes * this.family.dollarsPerMinute,
      after: withDone(situation, SYSTEM),
      outcomes: 1,
      likelihoods: NOTHING,
      position: -1,
    };
  }

  /** The weights of the worlds after an outcome of an act in which the system still fails. */
  outcome(weights: Float64Array, act: Act, outcome: number): Float64Array {
    if (act.kind === "check") {
      const likelihood = act.likelihoods[outcome]!;
      return weights.map((weight, i) => weight * likelihood[i]!);
    }
    return act.kind === "repair" ? this.failing(weights, act.position) : this.withoutSound(weights);
  }

  /** The mass by needs after an outcome of an act, written into a row. */
  mass(weights: Float64Array, act: Act, outcome: number, row: Float64Array): void {
    row.fill(0);
    const { ofWorld } = this.needs;
    if (act.kind === "check") {
      const likelihood = act.likelihoods[outcome]!;
      for (let i = 0; i < weights.length; i++) row[ofWorld[i]!]! += weights[i]! * likelihood[i]!;
      return;
    }
    for (let i = 0; i < weights.length; i++) row[ofWorld[i]!]! += weights[i]!;
    if (act.kind === "repair") this.mend(row, act.position);
    row[0] = 0;
  }

  /** Moves the share that a repair mends to the needs it leaves. */
  private mend(row: Float64Array, position: number): void {
    const share = this.needs.repairs[position]!.success;
    const { helped } = this.needs;
    const now = Float64Array.from(row);
    for (let n = 0; n < row.length; n++) {
      if (now[n] === 0) continue;
      for (const left of helped[n]!) {
        if (left.repair !== position) continue;
        row[n]! -= share * now[n]!;
        row[left.target]! += share * now[n]!;
      }
    }
  }

  private failing(weights: Float64Array, position: number): Float64Array {
    const share = this.needs.repairs[position]!.success;
    const left = this.reached[position]!;
    const after = weights.map((weight) => (1 - share) * weight);
    for (let i = 0; i < weights.length; i++) {
      if (left[i]! >= 0) after[left[i]!]! += share * weights[i]!;
    }
    return this.withoutSound(after);
  }

  private withoutSound(weights: Float64Array): Float64Array {
    const { ofWorld } = this.needs;
    return weights.map((weight, i) => (ofWorld[i] === 0 ? 0 : weight));
  }
}

function withDone(situation: Situation, id: string): Situation {
  return { ...situation, done: new Set(situation.done).add(id) };
}

const standIns = new WeakMap<NeedTable, Int32Array>();

/** The likeliest world with each of the needs, -1 where there is none. */
function standInsOf(needs: NeedTable): Int32Array {
  let found = standIns.get(needs);
  if (found === undefined) {
    const { logPrior } = needs.family;
    found = new Int32Array(needs.sets.length).fill(-1);
    for (let w = 0; w < logPrior.length; w++) {
      const need = needs.ofWorld[w]!;
      if (found[need]! < 0 || logPrior[w]! >= logPrior[found[need]!]!) found[need] = w;
    }
    standIns.set(needs, found);
  }
  return found;
}

/** Reduces the likeliest worlds, at most so many, and the checks given. */
export function fieldOf(kept: Kept, checks: readonly string[], most: number): Field {
  const { needs: full, family } = kept;
  const likely = Array.from(likeliestFirst(kept.chance).subarray(0, most));
  const shares = new Map(likely.map((i) => [kept.worlds[i]!, kept.chance[i]!]));
  const touched = new Set(Array.from(shares.keys(), (w) => full.ofWorld[w]!));
  const helping = helpingOf(full, touched);
  const left = new Set<number>(helping.size > 0 ? touched : []);
  for (const need of touched) for (const one of full.helped[need]!) left.add(one.target);
  const standIn = standInsOf(full);
  for (const need of left) {
    const world = standIn[need]!;
    if (world >= 0 && !shares.has(world)) shares.set(world, 0);
  }
  const held = Int32Array.from(new Set([0, ...touched, ...left])).sort();
  const number = new Map(Array.from(held, (need, n) => [need, n]));
  const worlds = inOrder(shares, full, likely, kept);
  const needs = reduced(full, held, number, helping, worlds);
  const start = Float64Array.from(worlds, (w) => shares.get(w)!);
  const looks = checks.map((id) => lookOf(kept, family.checks.get(id)!, worlds));
  return new Field(needs, start, reachedBy(needs, held, standIn, worlds), looks);
}

/** The repairs that take something from any of these needs, ascending. */
function helpingOf(needs: NeedTable, touched: ReadonlySet<number>): Set<number> {
  const found = new Set<number>();
  for (const need of touched) for (const left of needs.helped[need]!) found.add(left.repair);
  return new Set([...found].sort((a, b) => a - b));
}

/** The worlds by needs, then the likeliest first, then those that stand in. */
function inOrder(
  shares: ReadonlyMap<number, number>,
  full: NeedTable,
  likely: readonly number[],
  kept: Kept,
): Int32Array {
  const inside = likely.map((i) => kept.worlds[i]!);
  const held = new Set(inside);
  const added = [...shares.keys()].filter((w) => !held.has(w)).sort((a, b) => a - b);
  const listed = [...inside, ...added];
  const place = new Map(listed.map((w, i) => [w, i]));
  listed.sort((a, b) => full.ofWorld[a]! - full.ofWorld[b]! || place.get(a)! - place.get(b)!);
  return Int32Array.from(listed);
}

function reduced(
  full: NeedTable,
  held: Int32Array,
  number: ReadonlyMap<number, number>,
  helping: ReadonlySet<number>,
  worlds: Int32Array,
): NeedTable {
  const position = new Map([...helping].map((r, k) => [r, k]));
  const helped = Array.from(held, (need) =>
    full.helped[need]!.flatMap(({ repair, target }) => {
      const to = number.get(target);
      return to === undefined ? [] : [{ repair: position.get(repair)!, target: to }];
    }),
  );
  return tableOf(
    full.family,
    Array.from(held, (need) => full.sets[need]!),
    Int32Array.from(worlds, (w) => number.get(full.ofWorld[w]!)!),
    [...helping].map((r) => full.repairs[r]!),
    helped,
  );
}

function lookOf(kept: Kept, check: Check, worlds: Int32Array): Look {
  const { columns, rows, row } = kept.belief.table(check);
  const likelihoods = Array.from({ length: columns }, (_, c) =>
    Float64Array.from(worlds, (w) => rows[row[w]! * columns + c]!),
  );
  return { check, likelihoods };
}

/** Per repair, the world it leads to from each; -1 where nothing is needed then. */
function reachedBy(
  needs: NeedTable,
  held: Int32Array,
  standIn: Int32Array,
  worlds: Int32Array,
): Int32Array[] {
  const position = new Map(Array.from(worlds, (w, i) => [w, i]));
  const byNeed = Int32Array.from(held, (need) => position.get(standIn[need]!) ?? -1);
  return needs.repairs.map((_, r) =>
    Int32Array.from(worlds, (_, i) => {
      const own = needs.ofWorld[i]!;
      const left = targetOf(needs, r, own);
      if (left === 0) return -1;
      return left === own || byNeed[left]! < 0 ? i : byNeed[left]!;
    }),
  );
}
