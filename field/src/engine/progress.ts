/** Going through a call's timeline: the job after every event (see progress.py). */

import type { Bodies, RepairOutcome } from "../trail/body.ts";
import type { Entry } from "../trail/state.ts";
import type { Reading } from "./belief.ts";
import { UnknownReading, answered, measured } from "./belief.ts";
import type { Catalog, CheckEntry } from "./catalog.ts";
import { answerOfValue, asModelled } from "./catalog.ts";
import type { Share } from "./causes.ts";
import { rankCauses } from "./causes.ts";
import type { CompiledCall } from "./compiled_call.ts";
import type { Family } from "./family.ts";
import { SYSTEM } from "./forecast.ts";
import { Job } from "./job.ts";
import { practiceOf } from "./practice.ts";

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

/** How far a timeline was gone through, with what, and what came of it. */
interface Gone {
  readonly data: Catalog;
  readonly season: string | null;
  readonly ids: readonly string[];
  readonly progress: Progress;
}

const latest = new WeakMap<CompiledCall, Gone>();

/** Goes through a timeline; where it only goes on from the last one, no further back than that. */
export function progressThrough(
  timeline: readonly Entry[],
  call: CompiledCall,
  data: Catalog,
  season: string | null,
): Progress {
  const ids = timeline.map((entry) => `${entry.eventId} ${entry.kind}`);
  const gone = latest.get(call);
  const goesOn =
    gone?.data === data && gone.season === season && gone.ids.every((id, i) => id === ids[i]);
  const progress = goesOn
    ? gone.progress.copy()
    : new Progress(Job.begin(call.family, practiceOf(data, season, call.returning)), data);
  for (const entry of timeline.slice(goesOn ? gone.ids.length : 0)) progress.take(entry);
  latest.set(call, { data, season, ids, progress });
  return progress;
}

/** Goes through a timeline and keeps the job up to date; remembers what the family lacks. */
class Progress {
  readonly unused: string[] = [];
  readonly mended: Mended[] = [];
  private readonly family: Family;

  constructor(
    public job: Job,
    private readonly data: Catalog,
  ) {
    this.family = job.family;
  }

  /** The same so far, to go on from. */
  copy(): Progress {
    const found = new Progress(this.job, this.data);
    found.unused.push(...this.unused);
    found.mended.push(...this.mended);
    return found;
  }

  take(entry: Entry): void {
    switch (entry.kind) {
      case "went_to":
        this.job = this.job.went(entry.body.place);
        break;
      case "power_set":
        this.job = this.job.switched(entry.body.on);
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

  private read(body: Bodies["reading_taken"]): void {
    const entry = this.data.checks.get(body.check_id);
    if (!this.family.checks.has(body.check_id)) {
      this.job = this.job.noted(body.check_id);
      if (entry?.quantity !== "option") this.unused.push(body.check_id);
      return;
    }
    try {
      this.job = this.job.read(readingOf(body, entry));
    } catch (error) {
      if (!(error instanceof UnknownReading)) throw error;
      this.unused.push(body.check_id);
    }
  }

  private repair(body: Bodies["repair_done"]): void {
    const repair = this.family.repairs.get(body.repair_id);
    if (repair === undefined) {
      this.unused.push(body.repair_id);
      return;
    }
    const before = rankCauses(this.job.belief);
    const fixes = new Set(repair.fixes);
    this.mended.push({
      repairId: repair.id,
      outcome: body.outcome,
      roots: before.roots.filter((share) => fixes.has(share.id)),
      leftBehind: before.consequences.filter((share) => fixes.has(share.id)),
    });
    this.job = this.job.repaired(repair, WORKED[body.outcome]);
  }

  private prove(body: Bodies["proof_done"]): void {
    if (body.proof_id !== SYSTEM && !this.family.checks.has(body.proof_id)) {
      this.unused.push(body.proof_id);
      return;
    }
    this.job = this.job.proved(body.proof_id, body.result);
  }
}

/**
 * The reading an event stands for; a number is weighed by the answer it falls in, one read off the
 * running circuit as it is.
 */
export function readingOf(
  body: Bodies["reading_taken"],
  entry: CheckEntry | undefined,
): Reading {
  const { check_id: id, reported_by: reporter = "technician", answer, si_sd: spread = null } = body;
  const kept = body.over_limit === true ? Infinity : (body.si_value ?? null);
  if (kept === null) {
    if (answer === undefined) throw new UnknownReading(`${id} has neither answer nor number`);
    return answered(id, answer, reporter);
  }
  const form = entry?.number ?? null;
  if (entry === undefined || form === null || entry.as_it_is) {
    return measured(id, kept, spread, reporter);
  }
  const modelled = asModelled(form, kept, body.value, body.printed);
  const found = answerOfValue(entry, modelled * form.factor + form.offset);
  if (found === null) throw new UnknownReading(`${id} takes no such number`);
  return answered(id, found, reporter);
}
