/** Drafts: every step allowed now, with its cost and what each outcome leaves open (draft.py). */

import { byCode } from "./belief.ts";
import type { Standing } from "./ending.ts";
import { proofCost } from "./expected_cost.ts";
import type { Check, Family, Repair } from "./family.ts";
import { PHONE, columnsNamed } from "./family.ts";
import { SYSTEM } from "./forecast.ts";
import type { Grouped, Kept } from "./kept.ts";
import { bitsByAnswer, entropyBits, massWithAnswer } from "./kept.ts";
import type { Preparation } from "./safety_order.ts";
import { checkAllowed, prepare, proofAllowed, repairAllowed } from "./safety_order.ts";
import type { Situation, StepKind } from "./situation.ts";

/** A step before it is priced; it may come out unsolved in so many ways. */
export interface Draft {
  readonly kind: StepKind;
  readonly target: string;
  readonly title: string;
  readonly ownCost: number;
  readonly ready: Preparation;
  readonly ways: number;
  /** Writes the mass by class of needs of one way into a row. */
  readonly mass: (way: number, into: Float64Array) => Float64Array;
  /** Entropy of the needs in each way, times its chance, in bits. */
  readonly bits: () => readonly number[];
}

/** Repairs that were made, but what they should have removed is likelier there than not. */
export function toRedo(kept: Kept, situation: Situation): Set<string> {
  const { family } = kept;
  const found = new Set<string>();
  for (const id of situation.done) {
    const repair = family.repairs.get(id);
    if (repair === undefined) continue;
    const fixed = new Set(columnsNamed(family, repair.fixes));
    let there = 0;
    kept.worlds.forEach((w, i) => {
      if (family.holds[w]!.some((j) => fixed.has(j))) there += kept.chance[i]!;
    });
    if (there > family.constants.REDO) found.add(id);
  }
  return found;
}

/** The checks that are allowed, in order of their ids. */
export function checkDrafts(kept: Kept, situation: Situation): Draft[] {
  const { family } = kept;
  const allowed = [...family.checks.values()]
    .filter((check) => may(check, situation))
    .sort((a, b) => byCode(a.id, b.id));
  return inOrder(family, allowed, situation).map((check) => checkDraft(kept, check, situation));
}

/** Leaves out groups that wait for another one, as long as that one is to be had and is not. */
function inOrder(family: Family, allowed: Check[], situation: Situation): Check[] {
  const atHand = new Set(allowed.map((check) => check.group));
  for (const group of situation.setUp) atHand.delete(group);
  atHand.delete("");
  return allowed.filter((check) => !atHand.has(family.groupAfter.get(check.group) ?? ""));
}

function may(check: Check, situation: Situation): boolean {
  if (situation.unproven.has(check.id)) return proofAllowed(check, situation);
  return checkAllowed(check, situation);
}

function checkDraft(kept: Kept, check: Check, situation: Situation): Draft {
  const { family } = kept;
  const table = kept.told(check);
  const ready = prepare(family, situation, check.place, check.requires, check.group);
  const minutes = ready.minutes + check.minutes;
  return {
    kind: kindOf(check, situation),
    target: check.id,
    title: check.title,
    ownCost: minutes * family.dollarsPerMinute + check.hazardCost,
    ready,
    ways: table.columns,
    mass: (answer, into) => massWithAnswer(kept, kept.byClass, table, answer, into),
    bits: () => bitsByAnswer(kept, table),
  };
}

function kindOf(check: Check, situation: Situation): StepKind {
  if (situation.unproven.has(check.id)) return "prove";
  if (situation.onPhone || check.place === PHONE) return "ask";
  return check.numeric === null ? "look" : "measure";
}

/** The repairs that are allowed, and running the system as it is where that may be. */
export function repairDrafts(kept: Kept, standing: Standing): Draft[] {
  const { situation } = standing;
  const drafts = kept.needs.repairs.flatMap((repair, r) =>
    repairAllowed(repair, situation) ? [repairDraft(kept, repair, r, situation)] : [],
  );
  if (standing.mayRun) drafts.push(systemDraft(kept, situation));
  return drafts;
}

/**
 * Running the system as it is: it may turn out that nothing is wrong. It fails, or it works and what
 * will stop it again is still there; then the run did not tell.
 */
function systemDraft(kept: Kept, situation: Situation): Draft {
  return {
    kind: "prove",
    target: SYSTEM,
    title: "Run the system and prove that it works",
    ownCost: kept.family.proofMinutes * kept.family.dollarsPerMinute,
    ready: { acts: [], minutes: 0, after: situation },
    ways: 2,
    mass: (way, into) => {
      unsolvedAfterRun(kept, kept.byClass, way === 1, into);
      into[0] = 0;
      return into;
    },
    bits: () =>
      [false, true].map((works) => {
        const row = unsolvedAfterRun(kept, kept.byNeed, works, new Float64Array(kept.held.length));
        if (kept.held[0] === 0) row[0] = 0;
        return entropyBits(row);
      }),
  };
}

/** Writes the mass of each group in the worlds that work just now, or in those that do not. */
function unsolvedAfterRun(
  kept: Kept,
  by: Grouped,
  works: boolean,
  into: Float64Array,
): Float64Array {
  into.fill(0);
  kept.worlds.forEach((w, i) => {
    if ((kept.family.works[w] === 1) === works) into[by.group[w]!]! += kept.chance[i]!;
  });
  return into;
}

/** A repair: its one row is the mass in which the system still fails afterwards. */
function repairDraft(kept: Kept, repair: Repair, r: number, situation: Situation): Draft {
  const { family } = kept;
  const ready = prepare(family, situation, repair.place, new Set(repair.requires));
  const spent = (ready.minutes + repair.minutes) * family.dollarsPerMinute;
  const done = new Set([...ready.after.done, repair.id]);
  return {
    kind: repair.refer ? "refer" : "repair",
    target: repair.id,
    title: repair.title,
    ownCost: spent + repair.dollars + repair.hazard_cost + proofCost(family, repair),
    ready: { ...ready, after: { ...ready.after, done } },
    ways: 1,
    mass: (_, into) => failingAfter(kept, r, into),
    bits: () => [bitsAfter(kept, r)],
  };
}

/** Writes the mass by class of needs in which the system still fails after a repair into a row. */
function failingAfter(kept: Kept, r: number, failing: Float64Array): Float64Array {
  const { held, local, needs } = kept;
  const heldMass = kept.byNeed.mass;
  const share = needs.repairs[r]!.success;
  const moves = kept.moves[r]!;
  failing.set(kept.byClass.mass);
  for (let k = 0; k < moves.length; k += 2) {
    const moved = share * heldMass[moves[k]!]!;
    const from = local[needs.classes.of[held[moves[k]!]!]!]!;
    failing[from] = Math.max(failing[from]! - moved, 0);
    failing[moves[k + 1]!]! += moved;
  }
  failing[0] = 0;
  return failing;
}

/** Entropy of the needs in which the system still fails after a repair, times their mass. */
function bitsAfter(kept: Kept, r: number): number {
  const { held, needs } = kept;
  const heldMass = kept.byNeed.mass;
  const share = needs.repairs[r]!.success;
  const mass = new Map(Array.from(held, (id, h) => [id, heldMass[h]!]));
  held.forEach((id, h) => {
    const target = needs.helped[id]!.find((left) => left.repair === r)?.target;
    if (target === undefined) return;
    mass.set(id, mass.get(id)! - share * heldMass[h]!);
    mass.set(target, (mass.get(target) ?? 0) + share * heldMass[h]!);
  });
  mass.set(0, 0);
  return entropyBits(Float64Array.from(mass.values()));
}
