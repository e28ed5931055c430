/** A job from the first ring to the proof, without a screen (see job.py). */

import type { ProofResult } from "../trail/body.ts";
import { afterPuttingBack, afterRepair } from "./aftermath.ts";
import type { Reading } from "./belief.ts";
import { Belief, answered, knownCheck } from "./belief.ts";
import { afterTry } from "./doubt.ts";
import type { Family, Repair } from "./family.ts";
import { CONSEQUENCE, PHONE, columnsNamed, holdsAny, rootsAny, shareOf } from "./family.ts";
import { SYSTEM, chanceToWork } from "./forecast.ts";
import { keep } from "./kept.ts";
import type { Budget } from "./lookahead.ts";
import type { Plan } from "./planner.ts";
import { plan } from "./planner.ts";
import type { Practice } from "./practice.ts";
import { prepare } from "./safety_order.ts";
import type { Situation } from "./situation.ts";
import { ON_THE_PHONE } from "./situation.ts";
import { notWorthwhile, prematureRepairs } from "./worthwhile.ts";

/** The place of a technician who has arrived and not yet gone to any part of the house. */
export const SITE = "site";

const NOTHING: ReadonlySet<string> = new Set();

interface Kept {
  readonly belief: Belief;
  readonly situation: Situation;
  readonly practice: Practice;
  readonly minutes: number;
  readonly partsDollars: number;
  /** The repairs made, in order. */
  readonly repairs: readonly string[];
  /** Checks and repairs that a later repair does not call in question. */
  readonly lasting: ReadonlySet<string>;
  /** Repairs that wait until something else was repaired, unless they seem to have missed. */
  readonly waiting: ReadonlySet<string>;
}

/**
 * What is believed, where the technician stands, and what was done so far; acts give a new one. A job
 * remembers its plan and the jobs that acts led to, so that what was worked out ahead need not be
 * worked out again.
 */
export class Job {
  private readonly next = new Map<string, Job>();
  private planned: { readonly limit: number; readonly budget: Budget; readonly plan: Plan } | null = null;

  private constructor(private readonly kept: Kept) {}

  /** The job when the phone rings. */
  static begin(family: Family, practice: Practice): Job {
    return new Job({
      belief: Belief.prior(family),
      situation: { ...ON_THE_PHONE, doubt: family.constants.UNLIKE },
      practice,
      minutes: 0,
      partsDollars: 0,
      repairs: [],
      lasting: NOTHING,
      waiting: NOTHING,
    });
  }

  get belief(): Belief {
    return this.kept.belief;
  }

  get situation(): Situation {
    return this.kept.situation;
  }

  get waiting(): ReadonlySet<string> {
    return this.kept.waiting;
  }

  get minutes(): number {
    return this.kept.minutes;
  }

  get partsDollars(): number {
    return this.kept.partsDollars;
  }

  get family(): Family {
    return this.belief.family;
  }

  /**
   * The situation, with everything put off that is not worth doing or waits its turn. A proof that
   * cannot be made is not owed any more, unless it guards the people of the house.
   */
  get open(): Situation {
    const { belief, situation, practice, waiting } = this.kept;
    const idle = notWorthwhile(belief, situation, practice);
    const early = prematureRepairs(belief, this.toComeBack).filter((id) => waiting.has(id));
    const deferred = new Set([...situation.deferred, ...early, ...this.inVain, ...idle]);
    const owed = [...situation.unproven].filter(
      (id) => practice.guarding.has(id) || !situation.deferred.has(id),
    );
    return { ...situation, deferred, unproven: new Set(owed) };
  }

  /** What the waiting repairs remove, and a root would bring back. */
  private get toComeBack(): Set<string> {
    return new Set([...this.waiting].flatMap((id) => this.family.repairs.get(id)!.fixes));
  }

  /** The next steps, the least expected cost first. */
  plan(limit: number, budget: Budget): Plan {
    const known = this.planned;
    if (known?.limit === limit && known.budget === budget) return known.plan;
    const made = plan(this.family, this.belief, this.open, limit, budget);
    this.planned = { limit, budget, plan: made };
    return made;
  }

  went(place: string): Job {
    return place === PHONE ? this : this.once(`went ${place}`, () => this.atPlace(place));
  }

  private atPlace(place: string): Job {
    const { family, situation } = this;
    const where = place === SITE ? "" : place;
    const site = where === situation.place ? undefined : family.places.get(where);
    const drive = situation.onPhone ? family.dispatchMinutes : 0;
    return this.with({
      minutes: this.minutes + drive + (site?.travel_minutes ?? 0),
      situation: { ...situation, place: where, onPhone: false },
    });
  }

  switched(powerOn: boolean): Job {
    return this.once(`power ${powerOn}`, () =>
      this.with({ situation: { ...this.situation, powerOff: !powerOn } }),
    );
  }

  /** Counts steps as done that tell nothing about these worlds. */
  noted(...ids: readonly string[]): Job {
    const done = new Set([...this.situation.done, ...ids]);
    return this.with({ situation: { ...this.situation, done } });
  }

  /** Has exactly these steps put off by whoever does the work. */
  putOff(steps: Iterable<string>): Job {
    const deferred = new Set(steps);
    if (isSame(deferred, this.situation.deferred)) return this;
    return this.once(`put off ${[...deferred]}`, () =>
      this.with({ situation: { ...this.situation, deferred } }),
    );
  }

  /** Has the dangers of these checks dealt with. */
  clearedOf(checks: ReadonlySet<string>): Job {
    if (isSame(checks, this.situation.cleared)) return this;
    return this.once(`cleared ${[...checks]}`, () =>
      this.with({ situation: { ...this.situation, cleared: checks } }),
    );
  }

  /** The job after a reading; throws UnknownReading as `Belief.observe` does. */
  read(reading: Reading): Job {
    const { checkId, outcomeId, valueSi, sdSi, reporter } = reading;
    const act = `read ${checkId} ${outcomeId} ${valueSi} ${sdSi} ${reporter}`;
    return this.once(act, () => this.afterReading(reading));
  }

  private afterReading(reading: Reading): Job {
    const belief = this.belief.observe(reading);
    const check = knownCheck(this.family, reading.checkId);
    const { practice } = this.kept;
    let job = this.with({ belief, minutes: this.minutes + check.minutes });
    if (reading.reporter === "technician" && !this.situation.onPhone) {
      job = job.prepared(check.place, check.requires, check.group);
    }
    if (practice.lasting.has(check.id)) {
      job = job.with({ lasting: new Set([...job.kept.lasting, check.id]) });
    }
    const gone = practice.putsBack.get(check.id);
    if (gone !== undefined) job = job.afterPuttingBack(gone, reading);
    return job.noted(check.id);
  }

  /** The job after a repair and what came of it; null: not known yet. */
  repaired(repair: Repair, worked: boolean | null): Job {
    return this.once(`repaired ${repair.id} ${worked}`, () => this.afterRepair(repair, worked));
  }

  private afterRepair(repair: Repair, worked: boolean | null): Job {
    const again = this.kept.repairs.includes(repair.id);
    const waits = this.leftBehind(repair) && !again;
    const lasting = waits ? this.kept.lasting : new Set([...this.kept.lasting, repair.id]);
    const made = this.situation.onPhone ? this : this.worked(repair);
    const job = worked === null ? made : made.running();
    const owed = new Set(job.situation.unproven);
    if (worked !== false) {
      for (const id of repair.proofs) if (this.family.checks.has(id)) owed.add(id);
    }
    const done = new Set([...job.situation.done, ...lasting]);
    return job.with({
      belief: afterRepair(this.belief, repair.id, worked),
      situation: { ...job.situation, done, unproven: owed, doubt: this.doubtAfter(repair, worked) },
      repairs: [...this.kept.repairs, repair.id],
      lasting,
      waiting: waits ? new Set([repair.id]) : NOTHING,
    });
  }

  /** The doubt whether this home is like any world, after a repair. */
  private doubtAfter(repair: Repair, worked: boolean | null): number {
    const { doubt } = this.situation;
    if (worked === null) return doubt;
    const chance = chanceToWork(keep(this.family, this.belief, "technician"), repair);
    return afterTry(doubt, chance, worked, this.family.constants);
  }

  /** The job after a proof, or after the system as a whole was run. */
  proved(proofId: string, result: ProofResult): Job {
    return this.once(`proved ${proofId} ${result}`, () => this.afterProof(proofId, result));
  }

  private afterProof(proofId: string, result: ProofResult): Job {
    if (proofId === SYSTEM) {
      const on = this.running();
      const job = on.with({ minutes: on.minutes + this.family.proofMinutes });
      if (result === "too_close") return job;
      return result === "pass" ? job.noted(SYSTEM).judged(true) : job.judged(false);
    }
    const check = knownCheck(this.family, proofId);
    const unproven = new Set(this.situation.unproven);
    unproven.delete(proofId);
    let job = this.with({ situation: { ...this.situation, unproven } });
    if (!this.situation.onPhone) job = job.prepared(check.place, check.requires, "");
    const belief = job.belief.observe(answered(proofId, result.replace("_", "-")));
    job = job.with({ belief, minutes: job.minutes + check.minutes });
    if (result === "fail") return job.openAgain();
    return result === "pass" ? job.noted(proofId) : job;
  }

  /** A proof failed: the system has to be run and judged anew. */
  private openAgain(): Job {
    const { checks } = this.family;
    const passed = (id: string): boolean => id === SYSTEM || checks.get(id)?.proof === true;
    const done = new Set([...this.situation.done].filter((id) => !passed(id)));
    const belief = this.belief.judged(null);
    return this.with({ belief, situation: { ...this.situation, done } });
  }

  private once(act: string, make: () => Job): Job {
    let found = this.next.get(act);
    if (found === undefined) this.next.set(act, (found = make()));
    return found;
  }

  private with(changed: Partial<Kept>): Job {
    return new Job({ ...this.kept, ...changed });
  }

  private worked(repair: Repair): Job {
    const job = this.prepared(repair.place, new Set(repair.requires), "");
    return job.with({
      minutes: job.minutes + repair.minutes,
      partsDollars: job.partsDollars + repair.dollars,
      situation: { ...job.situation, done: NOTHING },
    });
  }

  /** Something was put back; looks made before are worth making again. */
  private afterPuttingBack(gone: readonly string[], reading: Reading): Job {
    const { situation, lasting } = this.kept;
    const done = situation.onPhone ? situation.done : lasting;
    const belief = afterPuttingBack(this.belief, gone, reading.outcomeId);
    return this.with({ belief, situation: { ...situation, done } });
  }

  /** With the power on again: whoever says how the system runs has run it. */
  private running(): Job {
    if (!this.situation.powerOff) return this;
    const minutes = this.minutes + this.family.powerMinutes;
    return this.with({ minutes, situation: { ...this.situation, powerOff: false } });
  }

  private judged(worked: boolean): Job {
    return this.with({ belief: this.belief.systemTried(worked) });
  }

  private prepared(place: string, requires: ReadonlySet<string>, group: string): Job {
    const ready = prepare(this.family, this.situation, place, requires, group);
    return this.with({ situation: ready.after, minutes: this.minutes + ready.minutes });
  }

  /** Repairs that were made twice for a root, or twice with no root's repair after the first. */
  private get inVain(): string[] {
    const { repairs } = this.kept;
    const { MOST_TRIES } = this.family.constants;
    const root = repairs.findLastIndex((id) => !this.leftBehind(this.family.repairs.get(id)!));
    const since = repairs.slice(root + 1);
    const often = (made: readonly string[], id: string): boolean =>
      made.filter((one) => one === id).length >= MOST_TRIES;
    return [...new Set(repairs)].filter(
      (id) => often(repairs, id) && (often(since, id) || this.isForARoot(id)),
    );
  }

  /** Whether what a repair would remove now is a root rather than left behind. */
  private isForARoot(repairId: string): boolean {
    const { family, belief } = this;
    const fixed = columnsNamed(family, family.repairs.get(repairId)!.fixes);
    const chance = belief.probabilities();
    const root = shareOf(rootsAny(family, fixed), chance);
    return root > 0.5 * shareOf(holdsAny(family, fixed), chance);
  }

  /** Whether a repair puts right what a root left behind. */
  private leftBehind(repair: Repair): boolean {
    return repair.fixes.some((condition) => this.family.kinds.get(condition) === CONSEQUENCE);
  }
}

function isSame(one: ReadonlySet<string>, other: ReadonlySet<string>): boolean {
  return one.size === other.size && [...one].every((item) => other.has(item));
}
