/**
 * What every step of a call looks up and is made once, and the next steps gone through beforehand: a
 * browser runs code slowly until it has run it a few times. In pieces, for while nobody waits; nothing
 * that is seen changes by it.
 */

import type { Bodies, ProofResult } from "../trail/body.ts";
import { UnknownReading, answered, measured } from "./belief.ts";
import { rankCauses } from "./causes.ts";
import type { CompiledCall } from "./compiled_call.ts";
import { LEAVE_ID } from "./ending.ts";
import { exceptionsByWorld } from "./exceptions.ts";
import type { Check, Family, Repair } from "./family.ts";
import { helpingRepairs, soundWorld, targets } from "./family.ts";
import { SYSTEM, WORKED } from "./forecast.ts";
import type { Guide } from "./guide.ts";
import type { Job } from "./job.ts";
import { SITE } from "./job.ts";
import { needTable } from "./need.ts";
import type { Plan } from "./planner.ts";
import { readingOf } from "./progress.ts";
import type { Reporter } from "./reading.ts";
import type { Step } from "./situation.ts";

const ASKED = 3;
const DONE = 6;
const READ = 2;
const MENDED = 3;
/** An answer less likely than this is not worked out ahead. */
const LEAST_LIKELY = 0.02;
const RESULTS: Readonly<Record<string, ProofResult>> = { pass: "pass", fail: "fail" };

/** Makes the tables that every step looks up. */
export function* tablesOf({ family }: CompiledCall): Generator<void> {
  exceptionsByWorld(family);
  yield;
  needTable(family);
  yield;
  helpingRepairs(family);
  yield;
  soundWorld(family, 0);
}

/**
 * Works out what follows on each way the present step may come out, the likeliest first, and on the
 * arrival; the jobs remember it, so that the answer finds it done. What the gauges will read nobody
 * knows: there one reading is gone through, so that the browser has its code at hand.
 */
export function* ahead(guide: Guide): Generator<void> {
  const step = nextOf(guide.plan);
  const likely = (step?.forecasts ?? []).filter(({ probability }) => probability > LEAST_LIKELY);
  for (const { outcomeId } of likely.sort((a, b) => b.probability - a.probability)) {
    planned(after(guide.told, step!, outcomeId), guide);
    yield;
  }
  if (guide.situation.onPhone) {
    planned(guide.told.went(SITE), guide);
    yield;
  }
  const read = withReadings(guide).at(0);
  if (read !== undefined) planned(read, guide);
}

/** Works out what follows on a reading that is typed but not entered yet, if it can be weighed. */
export function* typed(guide: Guide, body: Bodies["reading_taken"]): Generator<void> {
  try {
    planned(guide.told.read(readingOf(body, guide.data.checks.get(body.check_id))), guide);
  } catch (error) {
    if (!(error instanceof UnknownReading)) throw error;
  }
  yield;
}

function planned(job: Job, guide: Guide): void {
  guide.standing(job).plan(guide.family.constants.STEPS, guide.call.budget);
}

/** Goes on from where a call stands as it most likely will go on, one step a piece. */
export function* rehearsal(guide: Guide): Generator<void> {
  let job: Job | null = guide.job;
  for (let k = 0; k < ASKED && job?.situation.onPhone === true; k++) {
    job = gone(job, guide);
    yield;
  }
  job = onSite(guide.job);
  for (let k = 0; k < DONE && job !== null; k++) {
    job = gone(job, guide);
    yield;
  }
  for (const read of withReadings(guide)) {
    gone(read, guide);
    yield;
  }
  for (const repair of guide.family.repairs.values()) {
    targets(guide.family, repair.fixes);
    yield;
  }
  yield* repairing(guide);
}

/** Goes through repairs, as they work and as they do not: first those of the likeliest causes. */
function* repairing({ job, family, call, causes }: Guide): Generator<void> {
  const place = new Map(causes.roots.map(({ id }, k) => [id, k]));
  const rank = ({ fixes }: Repair): number =>
    Math.min(...fixes.map((id) => place.get(id) ?? causes.roots.length));
  const likeliest = [...family.repairs.values()].sort((a, b) => rank(a) - rank(b));
  const there = onSite(job);
  for (const repair of likeliest.slice(0, MENDED)) {
    for (const worked of [false, true]) {
      const mended = there.repaired(repair, worked);
      rankCauses(mended.belief);
      mended.plan(family.constants.STEPS, call.budget);
      yield;
    }
  }
}

function onSite(job: Job): Job {
  return job.situation.onPhone ? job.went(SITE) : job;
}

/** The job after its next step and the likeliest answer; null where nothing is left to be done. */
function gone(job: Job, guide: Guide): Job | null {
  const step = nextOf(job.plan(job.family.constants.STEPS, guide.call.budget));
  const answers = step?.forecasts ?? [];
  if (step === undefined || answers.length === 0) return null;
  const likeliest = answers.reduce((best, one) => (one.probability > best.probability ? one : best));
  return after(job, step, likeliest.outcomeId);
}

function nextOf({ steps }: Plan): Step | undefined {
  return steps.find(({ kind, target }) => kind !== "go" && target !== LEAVE_ID);
}

function after(job: Job, step: Step, outcomeId: string): Job {
  const repair = job.family.repairs.get(step.target);
  if (repair !== undefined) return job.repaired(repair, outcomeId === WORKED);
  if (step.target === SYSTEM) return job.proved(SYSTEM, outcomeId === WORKED ? "pass" : "fail");
  if (step.kind === "prove") return job.proved(step.target, RESULTS[outcomeId] ?? "too_close");
  const reporter: Reporter = job.situation.onPhone ? "caller" : "technician";
  return job.read(answered(step.target, outcomeId, reporter));
}

/** The job with gauges on: a few readings of each running circuit as it would be in order. */
function withReadings({ job, belief, family }: Guide): Job[] {
  const found: Job[] = [];
  const world = soundWorld(family, 0);
  for (const [demand, checks] of looksByDemand(family)) {
    const today = belief.views.get(demand)?.today;
    let now = onSite(job);
    for (const check of checks.slice(0, READ)) {
      const shown = world < 0 ? null : (today?.expected(check.look!, world) ?? null);
      if (shown === null) continue;
      now = now.read(measured(check.id, shown.mean));
      found.push(now);
    }
  }
  return found;
}

function looksByDemand(family: Family): Map<string, Check[]> {
  const found = new Map<string, Check[]>();
  for (const check of family.checks.values()) {
    if (check.look === null) continue;
    const list = found.get(check.look.demand);
    if (list === undefined) found.set(check.look.demand, [check]);
    else list.push(check);
  }
  return found;
}
