/** When a call may be closed, what is still to be proven, how it ends (see ending.py). */

import type { Belief } from "./belief.ts";
import type { Family } from "./family.ts";
import { SYSTEM } from "./forecast.ts";
import type { Kept } from "./kept.ts";
import { LEAVE } from "./safety_order.ts";
import type { Situation, Step, StepKind } from "./situation.ts";

export const GO = "site";
export const LEAVE_ID = "leave";
export const DANGER = "danger";

/** What a call still owes before it may be closed. */
export interface Standing {
  readonly situation: Situation;
  /** Chance that the system works and that nothing is left which will stop it again. */
  readonly lasts: number;
  readonly proven: boolean;
  /** It was not run yet as it is now, or it failed and all seen since says that it should work. */
  readonly mayRun: boolean;
  readonly owed: number;
  readonly toRun: number;
}

export function standingOf(kept: Kept, belief: Belief, situation: Situation): Standing {
  const { family } = kept;
  const { SOLVED, RUN_ON_PHONE } = family.constants;
  const works = shareKept(kept, family.works);
  const proven = wasProven(belief, situation);
  const untried = belief.verdict === null && !proven;
  const least = situation.onPhone ? RUN_ON_PHONE : 1 - SOLVED;
  const lasts = shareKept(kept, family.lasts);
  const open = (untried && works >= least) || (!proven && lasts >= SOLVED);
  const putOff = situation.deferred.has(SYSTEM) || situation.done.has(SYSTEM);
  let minutes = 0;
  for (const id of situation.unproven) minutes += family.checks.get(id)?.minutes ?? 0;
  return {
    situation,
    lasts,
    proven,
    mayRun: open && !putOff,
    owed: minutes * family.dollarsPerMinute,
    toRun: untried ? works * family.proofMinutes * family.dollarsPerMinute : 0,
  };
}

function shareKept(kept: Kept, marked: Uint8Array): number {
  let sum = 0;
  kept.worlds.forEach((w, i) => {
    if (marked[w]) sum += kept.chance[i]!;
  });
  return sum;
}

const LOOKING: ReadonlySet<StepKind> = new Set(["ask", "look", "measure", "go"]);

/** Dollars of proof still owed after a step. */
export function owedAfter(
  family: Family,
  kind: StepKind,
  target: string,
  standing: Standing,
): number {
  if (standing.situation.unproven.has(target)) {
    return standing.owed - (family.checks.get(target)?.minutes ?? 0) * family.dollarsPerMinute;
  }
  return standing.owed + (LOOKING.has(kind) ? standing.toRun : 0);
}

/** What ends the call or leaves the phone: go, refer or stop. */
export function endings(kept: Kept, onSite: number, standing: Standing): Step[] {
  const { family, needs } = kept;
  const { situation } = standing;
  const rate = family.dollarsPerMinute;
  let leaving = 0;
  kept.byClass.mass.forEach((mass, u) => (leaving += mass * needs.classes.owed[kept.ids[u]!]!));
  const steps: Step[] = [];
  if (situation.onPhone && !situation.deferred.has(GO)) {
    const rest = onSite + owedAfter(family, "go", GO, standing);
    steps.push(bare("go", GO, "Send the technician", family.dispatchMinutes * rate, rest));
  }
  const solved = standing.lasts >= family.constants.SOLVED;
  if (solved && standing.proven && situation.unproven.size === 0) {
    return [...steps, bare("stop", LEAVE_ID, "Done: close the call", 0, leaving)];
  }
  const cost = family.referMinutes * rate;
  const rest = Math.max(leaving - cost, 0) + standing.lasts * anotherVisit(family, standing);
  return [...steps, bare("refer", LEAVE_ID, "Hand the job over", cost, rest)];
}

/** The only two steps that are left after an answer that means danger. */
export function leaveNow(family: Family, titles: string): Step[] {
  const cost = family.callBackDollars;
  return [
    { ...bare("stop", DANGER, `Stop and leave: ${titles}`, 0, cost), first: LEAVE },
    bare("refer", DANGER, "Hand over to the emergency service", 0, cost),
  ];
}

function bare(
  kind: StepKind,
  target: string,
  title: string,
  ownCost: number,
  costAfter: number,
): Step {
  return { kind, target, title, ownCost, costAfter, first: [], forecasts: [] };
}

function anotherVisit(family: Family, standing: Standing): number {
  const rate = family.dollarsPerMinute;
  return Math.max(family.proofMinutes * rate, standing.owed) + family.dispatchMinutes * rate;
}

/** Whether the system was last seen working: a call is not closed without. */
function wasProven(belief: Belief, situation: Situation): boolean {
  if (belief.verdict !== null) return belief.verdict;
  for (const repair of belief.family.repairs.values()) {
    if (repair.proofs.some((id) => situation.done.has(id))) return true;
  }
  return false;
}
