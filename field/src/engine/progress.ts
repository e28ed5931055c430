/** Going through a call's timeline: belief, situation and cost after every event (progress.py). */

import type { Bodies, RepairOutcome } from "../trail/body.ts";
import type { Entry } from "../trail/state.ts";
import { afterRepair } from "./aftermath.ts";
import type { Reading } from "./belief.ts";
import { Belief, UnknownReading } from "./belief.ts";
import type { Catalog, CheckEntry } from "./catalog.ts";
import { answerOfValue } from "./catalog.ts";
import type { Share } from "./causes.ts";
import { rankCauses } from "./causes.ts";
import type { Family } from "./family.ts";
import { CONSEQUENCE, PHONE } from "./family.ts";
import { SYSTEM } from "./forecast.ts";
import { prepare } from "./safety_order.ts";
import type { Situation } from "./situation.ts";
import { ON_THE_PHONE } from "./situation.ts";

/** The place of a technician who has arrived and not yet gone to any part of the house. */
export const SITE = "site";

/** A repair that was made, and what it put right as far as can be told. */
export interface Mended {
  readonly repairId: string;
  readonly outcome: RepairOutcome;
  readonly roots: readonly Share[];
  readonly leftBehind: readonly Share[];
}

const WORKED: Readonly<Record<RepairOutcome, boolean | null>> = {
  worked: true,
  did_not: false,
  not_yet_known: null,
};

/** Goes through a timeline and keeps belief, situation and cost up to date. */
export class Progress {
  belief: Belief;
  situation: Situation = ON_THE_PHONE;
  minutes = 0;
  dollars = 0;
  owed: string[] = [];
  readonly unused: string[] = [];
  readonly mended: Mended[] = [];
  private readonly lasting = new Set<string>();
  waiting = new Set<string>();

  constructor(
    private readonly family: Family,
    private readonly data: Catalog,
  ) {
    this.belief = Belief.prior(family);
  }

  take(entry: Entry): void {
    switch (entry.kind) {
      case "went_to":
        this.go(entry.body.place);
        break;
      case "power_set":
        this.situation = { ...this.situation, powerOff: !entry.body.on };
        break;
      case "reading_taken":
        this.read(entry.body);
        break;
      case "repair_done":
        this.repair(entry.body);
        break;
      case "proof_done":
        this.prove(entry.body);
        break;
      default:
    }
  }

  private go(place: string): void {
    if (place === PHONE) return;
    if (this.situation.onPhone) this.minutes += this.family.dispatchMinutes;
    const where = place === SITE ? "" : place;
    const site = this.family.places.get(where);
    if (site !== undefined && where !== this.situation.place) this.minutes += site.travel_minutes;
    this.situation = { ...this.situation, place: where, onPhone: false };
  }

  private read(body: Bodies["reading_taken"]): void {
    const check = this.family.checks.get(body.check_id);
    const entry = this.data.checks.get(body.check_id);
    if (check === undefined) {
      this.done(body.check_id);
      if (entry?.quantity !== "option") this.unused.push(body.check_id);
      return;
    }
    try {
      this.belief = this.belief.observe(readingOf(body, entry));
    } catch (error) {
      if (!(error instanceof UnknownReading)) throw error;
      this.unused.push(body.check_id);
      return;
    }
    this.minutes += check.minutes;
    if ((body.reported_by ?? "technician") === "technician" && !this.situation.onPhone) {
      this.prepare(check.place, check.requires, check.group);
    }
    if (entry?.lasting === true) this.lasting.add(body.check_id);
    this.done(body.check_id);
  }

  private done(...ids: readonly string[]): void {
    this.situation = { ...this.situation, done: new Set([...this.situation.done, ...ids]) };
  }

  private prepare(place: string, requires: ReadonlySet<string>, group = ""): void {
    const ready = prepare(this.family, this.situation, place, requires, group);
    this.minutes += ready.minutes;
    this.situation = ready.after;
  }

  private repair(body: Bodies["repair_done"]): void {
    const repair = this.family.repairs.get(body.repair_id);
    if (repair === undefined) {
      this.unused.push(body.repair_id);
      return;
    }
    const before = rankCauses(this.belief);
    const fixes = new Set(repair.fixes);
    this.mended.push({
      repairId: repair.id,
      outcome: body.outcome,
      roots: before.roots.filter((share) => fixes.has(share.id)),
      leftBehind: before.consequences.filter((share) => fixes.has(share.id)),
    });
    const worked = WORKED[body.outcome];
    this.belief = afterRepair(this.belief, repair.id, worked);
    if (!this.situation.onPhone) {
      this.prepare(repair.place, new Set(repair.requires));
      this.minutes += repair.minutes;
      this.dollars += repair.dollars;
    }
    const again = this.mended.filter((one) => one.repairId === repair.id).length > 1;
    if (!again && repair.fixes.some((c) => this.family.kinds.get(c) === CONSEQUENCE)) {
      this.waiting = new Set([repair.id]);
    } else {
      this.waiting = new Set();
      this.lasting.add(repair.id);
    }
    if (!this.situation.onPhone) this.situation = { ...this.situation, done: new Set() };
    this.done(...this.lasting);
    if (worked !== false) {
      const known = repair.proofs.filter((id) => this.family.checks.has(id));
      this.owed = [...this.owed.filter((id) => !known.includes(id)), ...known];
    }
  }

  private prove(body: Bodies["proof_done"]): void {
    const passed = body.result === "pass";
    if (body.proof_id === SYSTEM) {
      this.minutes += this.family.proofMinutes;
      if (body.result !== "too_close") this.belief = this.belief.systemTried(passed);
      return;
    }
    this.owed = this.owed.filter((id) => id !== body.proof_id);
    const check = this.family.checks.get(body.proof_id);
    if (check === undefined) {
      this.unused.push(body.proof_id);
      return;
    }
    this.prepare(check.place, check.requires);
    this.minutes += check.minutes;
    this.belief = this.belief.observe({
      checkId: check.id,
      outcomeId: body.result.replace("_", "-"),
      reporter: "technician",
    });
    if (passed) this.done(check.id);
    else if (body.result === "fail") this.belief = this.belief.systemTried(false);
  }
}

/** The reading an event stands for; a number is weighed by the answer it falls in. */
export function readingOf(
  body: Bodies["reading_taken"],
  entry: CheckEntry | undefined,
): Reading {
  const reporter = body.reported_by ?? "technician";
  if (body.answer !== undefined) {
    return { checkId: body.check_id, outcomeId: body.answer, reporter };
  }
  const si = body.over_limit === true ? Infinity : (body.si_value ?? NaN);
  const form = entry?.number ?? null;
  const found =
    entry === undefined || form === null
      ? null
      : answerOfValue(entry, si * form.factor + form.offset);
  if (found === null) throw new UnknownReading(`${body.check_id} takes no such number`);
  return { checkId: body.check_id, outcomeId: found, reporter };
}
