/** The likeliest worlds of a belief, reduced for looking further than one step (see field.py). */

import type { Opening } from "./expected_cost.ts";
import { Revealed, openingOf, proofCost } from "./expected_cost.ts";
import type { Check, Repair } from "./family.ts";
import { SYSTEM } from "./forecast.ts";
import type { Kept } from "./kept.ts";
import type { NeedTable } from "./need.ts";
import { reducedNeeds } from "./need.ts";
import type { Preparation } from "./safety_order.ts";
import { checkAllowed, prepare, repairAllowed } from "./safety_order.ts";
import type { Situation } from "./situation.ts";
import { Tail } from "./tail.ts";
import { likeliestFirst } from "./telling.ts";

/** Something that can be done in a spot. */
export interface Act {
  readonly kind: "check" | "repair" | "run";
  readonly target: string;
  readonly dollars: number;
  /** The situation afterwards. */
  readonly after: () => Situation;
  /** Its first row in the spot, and how many it has. */
  readonly start: number;
  readonly outcomes: number;
  /** Of a check: the likelihoods by outcome; empty for others. */
  readonly likelihoods: readonly Float64Array[];
  /** Of a repair: its position in the field's repairs. */
  readonly position: number;
  /** What is still to be paid afterwards, and what each of the needs asks for with the truth told. */
  readonly opening: Opening;
  readonly told: Float64Array;
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

/** What is still to be paid once in a place with some covers off, and with the truth told. */
interface Paid {
  readonly places: Float64Array;
  readonly covers: Float64Array;
  readonly told: Float64Array;
}

/** A way to get at work, and what is still to be paid then. */
interface Ready {
  readonly ready: Preparation;
  readonly opening: Opening;
  readonly told: Float64Array;
}

const NOTHING: readonly Float64Array[] = [];
const NO_ONE: ReadonlySet<string> = new Set();

/** The reduced problem: a few worlds, their needs, the repairs that touch them, a few checks. */
export class Field {
  readonly tail: Tail;
  readonly told: Revealed;
  private readonly requires: readonly ReadonlySet<string>[];
  private readonly success: Float64Array;
  /** Per repair, in turn: needs it helps, their class, and the class of what it leaves. */
  private readonly moves: readonly Int32Array[];
  /** Class of the needs of every world. */
  private readonly column: Int32Array;
  /** Mass by needs, and by their classes, where the search stands. */
  private readonly byNeed: Float64Array;
  private readonly byClass: Float64Array;
  /** The worlds with any weight there, the first `held` entries. */
  private readonly live: Int32Array;
  private held = 0;
  private readonly known = new Map<string, Paid>();

  constructor(
    /** The needs of these worlds and the repairs that touch them. */
    readonly needs: NeedTable,
    /** Probability of each world now; those that only stand in have 0. */
    readonly start: Float64Array,
    /** Per repair, the world it leads to from each; -1 where nothing is needed then. */
    private readonly reached: readonly Int32Array[],
    private readonly looks: readonly Look[],
  ) {
    const { of, owed } = needs.classes;
    const ids = Int32Array.from(owed.keys());
    this.tail = new Tail(needs, ids);
    this.told = new Revealed(needs, ids, NO_ONE);
    this.requires = needs.repairs.map((repair) => new Set(repair.requires));
    this.success = Float64Array.from(needs.repairs, (repair) => repair.success);
    this.moves = movesOf(needs);
    this.column = Int32Array.from(needs.ofWorld, (need) => of[need]!);
    this.byNeed = new Float64Array(needs.count);
    this.byClass = new Float64Array(owed.length);
    this.live = new Int32Array(start.length);
  }

  /** Prepares a situation: the checks and repairs allowed in it, or only some of them. */
  spot(situation: Situation, only: ReadonlySet<string> | null = null): Spot {
    const found = new SpotMaker(this.needs, situation, (after) => this.paid(after));
    for (const { check, likelihoods } of this.looks) {
      const wanted = only === null || only.has(check.id);
      if (wanted && checkAllowed(check, situation)) found.addCheck(check, likelihoods);
    }
    this.needs.repairs.forEach((repair, position) => {
      const wanted = only === null || only.has(repair.id);
      if (wanted && repairAllowed(repair, situation)) {
        found.addRepair(repair, position, this.requires[position]!);
      }
    });
    if (only?.has(SYSTEM)) found.addRun();
    return { acts: found.acts, rows: found.rows };
  }

  private paid(situation: Situation): Paid {
    const key = `${situation.place}|${[...situation.opened].sort().join()}`;
    let found = this.known.get(key);
    if (found === undefined) {
      const opening = openingOf(this.needs, situation);
      found = { ...opening, told: this.told.dollars(opening) };
      this.known.set(key, found);
    }
    return found;
  }

  /** Weights of the worlds after an outcome of an act, in which the system still fails. */
  outcome(weights: Float64Array, act: Act, number: number): Float64Array {
    if (act.kind === "check") {
      const likelihood = act.likelihoods[number]!;
      return weights.map((weight, i) => weight * likelihood[i]!);
    }
    return act.kind === "repair" ? this.failing(weights, act.position) : this.unsound(weights);
  }

  /** Stands at a belief: the masses asked for next are those of its outcomes. */
  standAt(weights: Float64Array): void {
    const { byNeed, byClass, column } = this;
    const { ofWorld } = this.needs;
    byNeed.fill(0);
    byClass.fill(0);
    let held = 0;
    for (let i = 0; i < weights.length; i++) {
      if (weights[i] === 0) continue;
      this.live[held++] = i;
      byNeed[ofWorld[i]!]! += weights[i]!;
      byClass[column[i]!]! += weights[i]!;
    }
    this.held = held;
  }

  /** The mass by class of needs after an outcome of an act, written into a row. */
  mass(weights: Float64Array, act: Act, outcome: number, row: Float64Array): void {
    if (act.kind === "check") {
      const { column, live, held } = this;
      const likelihood = act.likelihoods[outcome]!;
      row.fill(0);
      for (let k = 0; k < held; k++) {
        const i = live[k]!;
        row[column[i]!]! += weights[i]! * likelihood[i]!;
      }
      return;
    }
    row.set(this.byClass);
    if (act.kind === "repair") {
      const share = this.success[act.position]!;
      const moves = this.moves[act.position]!;
      for (let k = 0; k < moves.length; k += 3) {
        const moved = share * this.byNeed[moves[k]!]!;
        row[moves[k + 1]!] = Math.max(row[moves[k + 1]!]! - moved, 0);
        row[moves[k + 2]!]! += moved;
      }
    }
    row[0] = 0;
  }

  private failing(weights: Float64Array, position: number): Float64Array {
    const share = this.success[position]!;
    const left = this.reached[position]!;
    const after = weights.map((weight) => (1 - share) * weight);
    for (let i = 0; i < weights.length; i++) {
      if (left[i]! >= 0) after[left[i]!]! += share * weights[i]!;
    }
    return this.unsound(after);
  }

  private unsound(weights: Float64Array): Float64Array {
    const { ofWorld } = this.needs;
    return weights.map((weight, i) => (ofWorld[i] === 0 ? 0 : weight));
  }
}

function movesOf(needs: NeedTable): Int32Array[] {
  const found: number[][] = needs.repairs.map(() => []);
  const { of } = needs.classes;
  needs.helped.forEach((lefts, need) => {
    for (const { repair, target } of lefts) found[repair]!.push(need, of[need]!, of[target]!);
  });
  return found.map((pairs) => Int32Array.from(pairs));
}

/** Collects what can be done in one situation. */
class SpotMaker {
  readonly acts: Act[] = [];
  rows = 0;
  private readonly ways = new Map<string, Ready>();
  private readonly free: Uint8Array;

  constructor(
    private readonly needs: NeedTable,
    private readonly situation: Situation,
    private readonly paid: (after: Situation) => Paid,
  ) {
    const { done } = situation;
    this.free = Uint8Array.from(needs.repairs, (repair) => (done.has(repair.id) ? 0 : 1));
  }

  addCheck(check: Check, likelihoods: readonly Float64Array[]): void {
    const { dollarsPerMinute } = this.needs.family;
    const way = this.way(check.place, check.requires, check.group);
    this.acts.push({
      kind: "check",
      target: check.id,
      dollars: (way.ready.minutes + check.minutes) * dollarsPerMinute + check.hazardCost,
      after: () => withDone(way.ready.after, check.id),
      start: this.rows,
      outcomes: likelihoods.length,
      likelihoods,
      position: -1,
      opening: way.opening,
      told: way.told,
    });
    this.rows += likelihoods.length;
  }

  addRepair(repair: Repair, position: number, requires: ReadonlySet<string>): void {
    const { family } = this.needs;
    const way = this.way(repair.place, requires, "");
    const spent = (way.ready.minutes + repair.minutes) * family.dollarsPerMinute;
    this.acts.push({
      kind: "repair",
      target: repair.id,
      dollars: spent + (repair.dollars + repair.hazard_cost + proofCost(family, repair)),
      after: () => withDone(way.ready.after, repair.id),
      start: this.rows++,
      outcomes: 1,
      likelihoods: NOTHING,
      position,
      opening: way.opening,
      told: way.told,
    });
  }

  addRun(): void {
    const { family } = this.needs;
    const { places, covers, told } = this.paid(this.situation);
    this.acts.push({
      kind: "run",
      target: SYSTEM,
      dollars: family.proofMinutes * family.dollarsPerMinute,
      after: () => withDone(this.situation, SYSTEM),
      start: this.rows++,
      outcomes: 1,
      likelihoods: NOTHING,
      position: -1,
      opening: { places, covers, free: this.free },
      told,
    });
  }

  private way(place: string, requires: ReadonlySet<string>, group: string): Ready {
    const key = `${place}|${[...requires].join()}|${group}`;
    let found = this.ways.get(key);
    if (found === undefined) {
      const ready = prepare(this.needs.family, this.situation, place, requires, group);
      const { places, covers, told } = this.paid(ready.after);
      found = { ready, opening: { places, covers, free: this.free }, told };
      this.ways.set(key, found);
    }
    return found;
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
    found = new Int32Array(needs.count).fill(-1);
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
  const left = new Set<number>(helping.length > 0 ? touched : []);
  for (const need of touched) for (const one of full.helped[need]!) left.add(one.target);
  const standIn = standInsOf(full);
  for (const need of left) {
    const world = standIn[need]!;
    if (world >= 0 && !shares.has(world)) shares.set(world, 0);
  }
  const held = Int32Array.from(new Set([0, ...touched, ...left])).sort();
  const worlds = inOrder(shares, full, likely, kept);
  const needs = reducedNeeds(full, held, helping, worlds);
  const start = Float64Array.from(worlds, (w) => shares.get(w)!);
  const looks = checks.map((id) => lookOf(kept, family.checks.get(id)!, worlds));
  return new Field(needs, start, reachedBy(needs, held, standIn, worlds), looks);
}

/** The repairs that take something from any of these needs, ascending. */
function helpingOf(needs: NeedTable, touched: ReadonlySet<number>): number[] {
  const found = new Set<number>();
  for (const need of touched) for (const left of needs.helped[need]!) found.add(left.repair);
  return [...found].sort((a, b) => a - b);
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

function lookOf(kept: Kept, check: Check, worlds: Int32Array): Look {
  const { columns, rows, row } = kept.told(check);
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
  const own = Int32Array.from(worlds, (_, i) => (needs.ofWorld[i] === 0 ? -1 : i));
  const found = needs.repairs.map(() => Int32Array.from(own));
  for (let i = 0; i < worlds.length; i++) {
    for (const { repair, target } of needs.helped[needs.ofWorld[i]!]!) {
      if (target === 0) found[repair]![i] = -1;
      else if (byNeed[target]! >= 0) found[repair]![i] = byNeed[target]!;
    }
  }
  return found;
}
