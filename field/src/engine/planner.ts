/** What to do next: the step with the least expected cost to a proven fix (see planner.py). */

import type { Belief } from "./belief.ts";
import { byCode } from "./belief.ts";
import type { Standing } from "./ending.ts";
import { LEAVE_ID, endings, leaveNow, owedAfter, standingOf } from "./ending.ts";
import type { Masses } from "./expected_cost.ts";
import {
  entropyBits,
  leavingDollars,
  proofCost,
  revealedCost,
  tailCost,
} from "./expected_cost.ts";
import type { Check, Family, Repair } from "./family.ts";
import { PHONE, columnsNamed, likelihoodTable } from "./family.ts";
import type { Kept } from "./forecast.ts";
import { SYSTEM, keep, outlook, withForecasts } from "./forecast.ts";
import type { Preparation } from "./safety_order.ts";
import {
  checkAllowed,
  prepare,
  repairAllowed,
  screensDanger,
  standingDangers,
} from "./safety_order.ts";
import type { Forecast, Situation, Step, StepKind } from "./situation.ts";
import { totalCost } from "./situation.ts";

/** Steps from the least expected cost up, and the belief left out of the reckoning. */
export interface Plan {
  readonly steps: readonly Step[];
  readonly worlds: number;
  readonly cut: number;
  readonly repairNow: number;
  readonly now: Forecast;
}

/** A step before it is priced: a row of masses for each way it may come out unsolved. */
interface Draft {
  readonly kind: StepKind;
  readonly target: string;
  readonly title: string;
  readonly ownCost: number;
  readonly ready: Preparation;
  readonly mass: readonly Float64Array[];
}

/** Prices every step that is allowed now and returns the best ones. */
export function plan(family: Family, belief: Belief, given: Situation, limit: number): Plan {
  const kept = keep(family, belief);
  const now = outlook(kept);
  const reckoned = { worlds: kept.worlds.length, cut: kept.cut, now };
  const dangers = standingDangers(belief, given);
  if (dangers.length > 0) {
    const titles = new Set(dangers.map((reading) => family.checks.get(reading.checkId)!.title));
    const steps = leaveNow(family, [...titles].sort(byCode).join(", "));
    return { ...reckoned, steps, repairNow: 0 };
  }
  const redo = toRedo(kept, given);
  const done = new Set([...given.done].filter((id) => !redo.has(id)));
  const found = new Reckoning(kept, belief, { ...given, done }).steps();
  return {
    ...reckoned,
    steps: found.steps.slice(0, Math.max(limit, 1)).map((step) => withForecasts(kept, step)),
    repairNow: found.repairNow,
  };
}

/** Repairs that were made, but what they should have removed is likelier there than not. */
function toRedo(kept: Kept, situation: Situation): Set<string> {
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

class Reckoning {
  private readonly family: Family;
  private readonly ids: Int32Array;
  /** Place of the needs among those that occur. */
  private readonly local: Int32Array;
  /** Place of the needs of every world kept. */
  private readonly column: Int32Array;
  private readonly present: Float64Array;

  constructor(
    private readonly kept: Kept,
    private readonly belief: Belief,
    private readonly situation: Situation,
  ) {
    this.family = kept.family;
    const { needs } = kept;
    const held = new Set(Array.from(kept.worlds, (w) => needs.ofWorld[w]!));
    const used = new Set<number>([0, ...held]);
    for (const need of held) for (const left of needs.helped[need]!) used.add(left.target);
    this.ids = Int32Array.from(used).sort();
    this.local = new Int32Array(needs.sets.length).fill(-1);
    this.ids.forEach((id, u) => (this.local[id] = u));
    this.column = Int32Array.from(kept.worlds, (w) => this.local[needs.ofWorld[w]!]!);
    this.present = this.zeros();
    kept.chance.forEach((share, i) => (this.present[this.column[i]!]! += share));
  }

  steps(): { steps: Step[]; repairNow: number } {
    const { kept, situation } = this;
    const standing = standingOf(kept, this.belief, situation);
    let drafts = [...this.checkDrafts(situation), ...this.repairDrafts(standing)];
    if (standing.works >= this.family.constants.SOLVED) {
      drafts = drafts.filter((draft) => draft.kind === "prove");
    }
    const where = [situation, ...drafts.flatMap((d) => d.mass.map(() => d.ready.after))];
    const masses = this.masses([this.present, ...drafts.flatMap((d) => d.mass)]);
    const site = onSite(where);
    const repairing = tailCost(kept.needs, masses, site);
    let steps = this.ranked(drafts, repairing, standing);
    if (steps[0]!.target === LEAVE_ID || situation.onPhone) {
      const looking = this.looking(masses, site, drafts);
      const least = repairing.map((cost, i) => Math.min(cost, looking[i]!));
      const hopeful = this.ranked(drafts, least, standing);
      if (hopeful[0]!.target !== LEAVE_ID) steps = hopeful;
    }
    const first = steps.filter((step) => screensDanger(this.family, step.target, situation));
    const rest = steps.filter((step) => !screensDanger(this.family, step.target, situation));
    return { steps: [...first, ...rest], repairNow: repairing[0]! };
  }

  private zeros(): Float64Array {
    return new Float64Array(this.ids.length);
  }

  private masses(rows: readonly Float64Array[]): Masses {
    return { ids: this.ids, rows };
  }

  private checkDrafts(situation: Situation): Draft[] {
    return [...this.family.checks.values()]
      .filter((check) => may(check, situation))
      .sort((a, b) => byCode(a.id, b.id))
      .map((check) => this.checkDraft(check, situation));
  }

  private checkDraft(check: Check, situation: Situation): Draft {
    const { family } = this;
    const ready = prepare(family, situation, check.place, check.requires, check.group);
    const minutes = ready.minutes + check.minutes;
    return {
      kind: kindOf(check, situation),
      target: check.id,
      title: check.title,
      ownCost: minutes * family.dollarsPerMinute + check.hazardCost,
      ready,
      mass: this.massByAnswer(check),
    };
  }

  /** The mass of each of the needs together with each answer; likelihoods in single precision. */
  private massByAnswer(check: Check): Float64Array[] {
    const { column, kept } = this;
    const { worlds, chance } = kept;
    const { columns, single, row } = likelihoodTable(this.family, check);
    const width = this.ids.length;
    const all = new Float64Array(columns * width);
    for (let i = 0; i < worlds.length; i++) {
      const share = chance[i]!;
      let from = row[worlds[i]!]! * columns;
      for (let to = column[i]!; to < all.length; to += width) all[to]! += share * single[from++]!;
    }
    return Array.from({ length: columns }, (_, c) => all.subarray(c * width, (c + 1) * width));
  }

  private repairDrafts(standing: Standing): Draft[] {
    const { situation } = standing;
    const drafts = this.kept.needs.repairs.flatMap((repair, r) =>
      repairAllowed(repair, situation) ? [this.repairDraft(repair, r, situation)] : [],
    );
    if (standing.mayRun) drafts.push(this.systemDraft(situation));
    return drafts;
  }

  /** Running the system as it is: it may turn out that nothing is wrong. */
  private systemDraft(situation: Situation): Draft {
    const failing = Float64Array.from(this.present);
    failing[0] = 0;
    return {
      kind: "prove",
      target: SYSTEM,
      title: "Run the system and prove that it works",
      ownCost: this.family.proofMinutes * this.family.dollarsPerMinute,
      ready: { acts: [], minutes: 0, after: situation },
      mass: [failing],
    };
  }

  /** A repair: its one row is the mass in which the system still fails afterwards. */
  private repairDraft(repair: Repair, r: number, situation: Situation): Draft {
    const { family, ids, present } = this;
    const ready = prepare(family, situation, repair.place, new Set(repair.requires));
    const failing = present.map((mass) => (1 - repair.success) * mass);
    const { helped } = this.kept.needs;
    for (let u = 0; u < ids.length; u++) {
      const mass = present[u]!;
      if (mass === 0) continue;
      const left = helped[ids[u]!]!.find((one) => one.repair === r);
      const to = left === undefined ? u : this.local[left.target]!;
      failing[to]! += repair.success * mass;
    }
    failing[0] = 0;
    const spent = (ready.minutes + repair.minutes) * family.dollarsPerMinute;
    const done = new Set([...ready.after.done, repair.id]);
    return {
      kind: repair.refer ? "refer" : "repair",
      target: repair.id,
      title: repair.title,
      ownCost: spent + repair.dollars + repair.hazard_cost + proofCost(family, repair),
      ready: { ...ready, after: { ...ready.after, done } },
      mass: [failing],
    };
  }

  private ranked(drafts: readonly Draft[], after: Float64Array, standing: Standing): Step[] {
    const fromHere = this.fromPhone(drafts, after);
    const steps = [
      ...this.priced(drafts, fromHere, standing),
      ...endings(this.kept, after[0]!, standing),
    ];
    const keyed = steps.map((step) => ({ step, cost: Number(totalCost(step).toFixed(9)) }));
    keyed.sort(
      (a, b) =>
        a.cost - b.cost || byCode(a.step.kind, b.step.kind) || byCode(a.step.target, b.step.target),
    );
    return keyed.map(({ step }) => step);
  }

  private priced(drafts: readonly Draft[], after: Float64Array, standing: Standing): Step[] {
    let row = 0;
    return drafts.map(({ kind, target, title, ownCost, ready, mass }) => {
      let rest = 0;
      for (let i = 0; i < mass.length; i++) rest += after[row++]!;
      const costAfter = rest + owedAfter(this.family, kind, target, standing);
      return { kind, target, title, ownCost, costAfter, first: ready.acts, forecasts: [] };
    });
  }

  /** Cost of the rows of the drafts; on the phone leave it there, or drive and go on. */
  private fromPhone(drafts: readonly Draft[], after: Float64Array): Float64Array {
    const rest = after.subarray(1);
    if (!this.situation.onPhone) return rest;
    const owed = leavingDollars(this.kept.needs);
    const drive = this.family.dispatchMinutes * this.family.dollarsPerMinute;
    return Float64Array.from(
      drafts.flatMap((draft) => draft.mass),
      (mass, i) => {
        let total = 0;
        let leaving = 0;
        for (let u = 0; u < mass.length; u++) {
          total += mass[u]!;
          leaving += mass[u]! * owed[this.ids[u]!]!;
        }
        return Math.min(leaving, drive * total + rest[i]!);
      },
    );
  }

  /** Estimates the cost of looking further first, for every row, as seen on site. */
  private looking(
    masses: Masses,
    site: readonly Situation[],
    drafts: readonly Draft[],
  ): Float64Array {
    const bits = Float64Array.from(masses.rows, entropyBits);
    let price: number;
    if (this.situation.onPhone) {
      const there = this.checkDrafts(site[0]!);
      const each = there.flatMap((draft) => draft.mass.map(entropyBits));
      price = this.dollarsPerBit(there, [bits[0]!, ...each]);
    } else {
      price = this.dollarsPerBit(drafts, bits);
    }
    if (!Number.isFinite(price)) return bits.map(() => Infinity);
    const told = revealedCost(this.kept.needs, masses, site, this.situation.done);
    return told.map((cost, i) => cost + price * bits[i]!);
  }

  /** What the best checks ask for a bit; `bits`: open now, then after each row. */
  private dollarsPerBit(drafts: readonly Draft[], bits: ArrayLike<number>): number {
    const { LEAST_BITS, BEST_CHECKS } = this.family.constants;
    const prices: number[] = [];
    let row = 1;
    for (const draft of drafts) {
      let left = 0;
      for (let i = 0; i < draft.mass.length; i++) left += bits[row++]!;
      const gain = bits[0]! - left;
      if (this.family.checks.has(draft.target) && gain > LEAST_BITS) {
        prices.push(draft.ownCost / gain);
      }
    }
    const best = prices.sort((a, b) => a - b).slice(0, BEST_CHECKS);
    return best.length > 0 ? best.reduce((a, b) => a + b, 0) / best.length : Infinity;
  }
}

function may(check: Check, situation: Situation): boolean {
  if (situation.unproven.has(check.id) && !situation.onPhone) {
    return !situation.deferred.has(check.id);
  }
  return checkAllowed(check, situation);
}

function kindOf(check: Check, situation: Situation): StepKind {
  if (situation.unproven.has(check.id)) return "prove";
  if (situation.onPhone || check.place === PHONE) return "ask";
  return check.numeric === null ? "look" : "measure";
}

function onSite(where: readonly Situation[]): Situation[] {
  const seen = new Map<Situation, Situation>();
  return where.map((situation) => {
    if (!situation.onPhone) return situation;
    const known = seen.get(situation) ?? { ...situation, place: "", onPhone: false };
    seen.set(situation, known);
    return known;
  });
}
