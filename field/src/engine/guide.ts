/** From the state of a call to everything its technician sees (see guide.py). */

import type { Setting } from "../trail/body.ts";
import type { CallState } from "../trail/state.ts";
import { archetypeOf, closedOf, deferredOf, openedOf, settingsOf } from "../trail/state.ts";
import type { Advice } from "./advice.ts";
import { advice, dangerAdvice } from "./advice.ts";
import type { Belief, Reading } from "./belief.ts";
import type { Catalog, ProofEntry } from "./catalog.ts";
import type { Causes, Share } from "./causes.ts";
import { rankCauses, settingWeights } from "./causes.ts";
import type { CompiledCall } from "./compiled_call.ts";
import type { Conflict } from "./conflict.ts";
import { findConflict } from "./conflict.ts";
import { healthyReading, todaysProof } from "./expected.ts";
import type { Explanation } from "./explanation.ts";
import { explain } from "./explanation.ts";
import type { Family } from "./family.ts";
import { sharesOfParts } from "./grouped.ts";
import type { Job } from "./job.ts";
import type { Latent } from "./latent.ts";
import { latentDefects, optionShares } from "./latent.ts";
import type { CostRange, Item } from "./loading.ts";
import { costRange, loadList } from "./loading.ts";
import type { Plan } from "./planner.ts";
import type { Mended } from "./progress.ts";
import { progressThrough } from "./progress.ts";
import type { Question } from "./questioned.ts";
import { questions } from "./questioned.ts";
import { standingDangers } from "./safety_order.ts";
import type { Situation } from "./situation.ts";
import type { Todays } from "./targets.ts";
import { todaysTargets } from "./targets.ts";

export const CLEARED = "cleared:";

export type Phase = "phone" | "visit" | "closed";

/** Everything that follows from a call's trail; what is dear is worked out when asked for. */
export class Guide {
  /** Belief and situation after all readings and repairs, in the order they came. */
  readonly job: Job;
  /** The same before what is put off and what danger is dealt with. */
  readonly told: Job;
  readonly mended: readonly Mended[];
  readonly unused: readonly string[];
  readonly archetype: string;
  readonly options: Readonly<Record<string, string>>;
  readonly season: string | null;

  constructor(
    readonly state: CallState,
    readonly call: CompiledCall,
    readonly data: Catalog,
  ) {
    this.season = seasonOf(openedOf(state).site["season"]);
    const progress = progressThrough(state.timeline, call, data, this.season);
    this.told = progress.job;
    this.job = this.standing(progress.job);
    this.mended = progress.mended;
    this.unused = progress.unused;
    this.archetype = archetypeOf(state) ?? call.description.archetype;
    this.options = knownOptions(state, data, this.archetype);
  }

  /** A job of this call with what is put off and what danger is dealt with by now. */
  standing(job: Job): Job {
    const cleared = clearedDangers(openedOf(this.state).site);
    return job.putOff(deferredOf(this.state).keys()).clearedOf(cleared);
  }

  get family(): Family {
    return this.call.family;
  }

  get belief(): Belief {
    return this.job.belief;
  }

  get situation(): Situation {
    return this.once("situation", () => {
      const { situation, waiting } = this.job;
      return { ...situation, deferred: new Set([...situation.deferred, ...waiting]) };
    });
  }

  /** What the steps so far have cost, by the catalog's minutes. */
  get spent(): { readonly minutes: number; readonly partsDollars: number } {
    return this.job;
  }

  get phase(): Phase {
    if (closedOf(this.state) !== null) return "closed";
    return this.situation.onPhone ? "phone" : "visit";
  }

  get causes(): Causes {
    return this.once("causes", () => rankCauses(this.belief));
  }

  /** The parts that may be at fault, with the share of a root in each. */
  get parts(): readonly Share[] {
    return this.once("parts", () =>
      sharesOfParts([[1, this.belief]], (root) => this.data.faults.get(root)?.component ?? root),
    );
  }

  /** Readings of the circuit that cannot be as they stand, and the likely mistake. */
  get questions(): readonly Question[] {
    return this.once("questions", () => questions(this.belief));
  }

  get conflict(): Conflict | null {
    return this.once("conflict", () => findConflict(this.belief));
  }

  /** Next steps from the least expected cost up. */
  get plan(): Plan {
    return this.once("plan", () => this.job.plan(this.family.constants.STEPS, this.call.budget));
  }

  get explanation(): Explanation {
    return this.once("explanation", () =>
      explain(this.plan, this.family.constants, (id) => this.title(id)),
    );
  }

  get latents(): readonly Latent[] {
    return this.once("latents", () =>
      latentDefects(
        this.call.latents,
        [...this.belief.earlier, ...this.belief.readings],
        optionShares(this.belief, this.call.options),
        this.family.constants.NAMED_LATENT,
      ),
    );
  }

  get dangers(): readonly Reading[] {
    return standingDangers(this.belief, this.situation);
  }

  get dangerAdvice(): readonly string[] {
    return dangerAdvice(this.data, this.dangers);
  }

  get advice(): readonly Advice[] {
    return this.once("advice", () => advice(this));
  }

  get load(): readonly Item[] {
    return this.once("load", () => loadList(this.belief, this.data));
  }

  get ahead(): CostRange {
    return this.once("ahead", () => costRange(this.belief, this.plan, this.situation));
  }

  /** Position of the likeliest setting. */
  get likeliestPosition(): number {
    return this.once("setting", () => {
      const weights = settingWeights(this.belief);
      return weights.indexOf(Math.max(...weights));
    });
  }

  /** How the system is built, as far as known and for the rest as is likeliest. */
  get likeliestSetting(): Readonly<Record<string, string>> {
    return { ...this.family.settings[this.likeliestPosition], ...this.options };
  }

  /** Conditions of the likeliest world that has the leading cause; empty if nothing leads. */
  get likeliestConditions(): readonly string[] {
    return this.once("conditions", () => {
      const column = this.family.column.get(this.causes.leading.id);
      const chance = this.belief.probabilities();
      let best = -1;
      this.family.rootsOf.forEach((roots, w) => {
        const holds = column !== undefined && roots.includes(column);
        if (holds && (best < 0 || chance[w]! > chance[best]!)) best = w;
      });
      return best < 0 ? [] : Array.from(this.family.holds[best]!, (j) => this.family.conditions[j]!);
    });
  }

  /** What a check shows with everything in order; empty where that cannot be said. */
  healthyReading(checkId: string): string {
    const check = this.family.checks.get(checkId);
    if (check === undefined) return "";
    const entry = this.data.checks.get(checkId);
    return healthyReading(this.belief, check, entry, this.likeliestPosition);
  }

  /** A proof with its limits as they are today; null where the catalog has none. */
  proof(proofId: string): ProofEntry | null {
    const entry = this.data.proofs.get(proofId);
    return entry === undefined ? null : todaysProof(this.belief, entry, this.likeliestPosition);
  }

  /** What superheat, subcooling, split and capacity should be today, and were read. */
  targets(demand: string): Todays | null {
    return this.once(`targets ${demand}`, () =>
      todaysTargets(this.belief, this.call, this.likeliestSetting, demand),
    );
  }

  title(condition: string): string {
    return this.data.faults.get(condition)?.title ?? condition.replaceAll(/[/_-]/g, " ");
  }

  private readonly kept = new Map<string, unknown>();

  private once<T>(name: string, make: () => T): T {
    if (!this.kept.has(name)) this.kept.set(name, make());
    return this.kept.get(name) as T;
  }
}

function clearedDangers(site: Readonly<Record<string, Setting>>): Set<string> {
  const found = new Set<string>();
  for (const [key, value] of Object.entries(site)) {
    if (key.startsWith(CLEARED) && value === true) found.add(key.slice(CLEARED.length));
  }
  return found;
}

function seasonOf(said: Setting | undefined): string | null {
  return said === "cooling" || said === "heating" ? said : null;
}

/** The options that are settled, each at its latest value (see described.py). */
function knownOptions(
  state: CallState,
  data: Catalog,
  archetype: string,
): Readonly<Record<string, string>> {
  const options = new Map(data.archetypes.get(archetype)?.options.map((one) => [one.id, one]));
  const isValue = (option: string, value: string): boolean =>
    options.get(option)?.values.some((one) => one.id === value) ?? false;
  const found: Record<string, string> = {};
  for (const entry of state.timeline) {
    if (entry.kind !== "reading_taken") continue;
    const check = data.checks.get(entry.body.check_id);
    const byTechnician = (entry.body.reported_by ?? "technician") === "technician";
    const said = entry.body.answer ?? "";
    if (check?.quantity === "option") {
      const settles = byTechnician || options.get(check.of)?.structural === false;
      if (settles && isValue(check.of, said)) found[check.of] = said;
    } else if (check !== undefined && byTechnician && said !== "absent") {
      Object.assign(found, check.settles);
    }
  }
  for (const [option, value] of Object.entries(settingsOf(state))) {
    if (isValue(option, String(value))) found[option] = String(value);
  }
  return found;
}
