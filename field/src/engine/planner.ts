/** What to do next: the step with the least expected cost to a proven fix (see planner.py). */

import type { Belief } from "./belief.ts";
import { byCode } from "./belief.ts";
import { triesAfterAnswers } from "./callers_try.ts";
import type { Draft } from "./draft.ts";
import { checkDrafts, repairDrafts, toRedo } from "./draft.ts";
import type { Standing } from "./ending.ts";
import { LEAVE_ID, endings, leaveNow, owedAfter, standingOf } from "./ending.ts";
import type { Masses, Opening } from "./expected_cost.ts";
import { compared, openingOf, revealedCost } from "./expected_cost.ts";
import type { Check, Family } from "./family.ts";
import { fieldOf } from "./field.ts";
import { outlook, withForecasts } from "./forecast.ts";
import type { Kept } from "./kept.ts";
import { entropyBits, keep, massByRow } from "./kept.ts";
import type { Budget } from "./lookahead.ts";
import { savings } from "./lookahead.ts";
import { screensDanger, standingDangers } from "./safety_order.ts";
import type { Forecast, Situation, Step } from "./situation.ts";
import { totalCost } from "./situation.ts";
import { tailCost } from "./tail.ts";
import { informationOf } from "./telling.ts";

/** Steps from the least expected cost up, and the belief left out of the reckoning. */
export interface Plan {
  readonly steps: readonly Step[];
  readonly worlds: number;
  readonly cut: number;
  readonly repairNow: number;
  readonly now: Forecast;
}

/** How far two sums of the same bits may be apart. */
const SLACK_BITS = 1e-6;

const NOTHING_SAVED: ReadonlyMap<string, number> = new Map();

/** Prices every step that is allowed now and returns the best ones; null looks one step ahead. */
export function plan(
  family: Family,
  belief: Belief,
  given: Situation,
  limit: number,
  budget: Budget | null,
): Plan {
  const kept = keep(family, belief, given.onPhone ? "caller" : "technician");
  const reckoned = { worlds: kept.worlds.length, cut: kept.cut, now: outlook(kept) };
  const dangers = standingDangers(belief, given);
  if (dangers.length > 0) {
    const titles = new Set(dangers.map((reading) => family.checks.get(reading.checkId)!.title));
    const steps = leaveNow(family, [...titles].sort(byCode).join(", "));
    return { ...reckoned, steps, repairNow: 0 };
  }
  const redo = toRedo(kept, given);
  const done = new Set([...given.done].filter((id) => !redo.has(id)));
  const { steps, repairNow } = new Reckoning(kept, belief, { ...given, done }).ranked(budget);
  const best = steps.slice(0, Math.max(limit, 1));
  return { ...reckoned, steps: best.map((step) => withForecasts(kept, step, given.doubt)), repairNow };
}

/** The pricing of one moment: the drafts, and a row for the present and for each of their ways. */
class Reckoning {
  private readonly family: Family;
  private readonly standing: Standing;
  private readonly drafts: readonly Draft[];
  private readonly masses: Masses;
  private readonly openings: readonly Opening[];

  constructor(
    private readonly kept: Kept,
    private readonly belief: Belief,
    private readonly situation: Situation,
  ) {
    this.family = kept.family;
    this.standing = standingOf(kept, belief, situation);
    const drafts = [...checkDrafts(kept, situation), ...repairDrafts(kept, this.standing)];
    const solved = this.standing.lasts >= this.family.constants.SOLVED;
    this.drafts = solved ? drafts.filter((draft) => draft.kind === "prove") : drafts;
    this.masses = massesOf(kept, this.drafts);
    this.openings = this.openingsOf();
  }

  ranked(budget: Budget | null): { steps: readonly Step[]; repairNow: number } {
    const { kept, situation } = this;
    const repairing = tailCost(kept.needs, this.masses, this.openings);
    let steps = this.priced(repairing);
    if (steps[0]!.target === LEAVE_ID || situation.onPhone) {
      const looking = this.looking();
      const after = repairing.map((cost, i) => Math.min(cost, looking[i]!));
      let hopeful = this.priced(after);
      if (situation.onPhone) {
        hopeful = this.priced(after, triesAfterAnswers(kept, this.drafts, hopeful));
      }
      if (hopeful[0]!.target !== LEAVE_ID) steps = hopeful;
    } else if (budget !== null) {
      steps = this.priced(repairing, this.saved(steps, budget));
    }
    return { steps: this.inOrder(steps), repairNow: repairing[0]! };
  }

  /** What has to come first whatever it costs, and what must save more than it asks. */
  private inOrder(steps: readonly Step[]): readonly Step[] {
    const { family, situation, belief } = this;
    const acting = steps.find((step) => step.kind === "go" || step.kind === "repair");
    const least = family.constants.ASK_FOR;
    const idle = (step: Step): boolean =>
      step.kind === "ask" &&
      (acting === undefined ? Infinity : totalCost(acting)) - totalCost(step) < least * step.ownCost;
    let found = last(steps, idle);
    found = last(found, (step) => !screensDanger(family, step.target, situation));
    if (situation.unproven.size > 0 && belief.verdict === true && !situation.onPhone) {
      found = last(found, (step) => step.kind !== "prove");
    }
    return found;
  }

  /** What is still to be paid in each row, as seen on site; the same object where it is the same. */
  private openingsOf(): readonly Opening[] {
    const { needs } = this.kept;
    const known = new Map<string, Opening>();
    const { done } = this.situation;
    const opening = (after: Situation): Opening => {
      const key = `${after.place}|${[...after.opened].sort().join()}`;
      let found = known.get(key);
      if (found === undefined) {
        found = openingOf(needs, onSite({ ...after, done }));
        known.set(key, found);
      }
      return found;
    };
    const after = this.drafts.flatMap(({ ways, ready }) => repeated(opening(ready.after), ways));
    return [opening(this.situation), ...after];
  }

  /** The drafts as steps and the endings, the least expected cost first. */
  private priced(
    after: Float64Array,
    saved: ReadonlyMap<string, number> = NOTHING_SAVED,
  ): readonly Step[] {
    const { family, standing } = this;
    const fromHere = this.fromPhone(after);
    let row = 0;
    const steps: Step[] = this.drafts.map(({ kind, target, title, ownCost, ready, ways }) => {
      let rest = 0;
      for (let i = 0; i < ways; i++) rest += fromHere[row++]!;
      const owed = owedAfter(family, kind, target, standing);
      const costAfter = rest - (saved.get(target) ?? 0) + owed;
      return { kind, target, title, ownCost, costAfter, first: ready.acts, forecasts: [] };
    });
    return [...steps, ...endings(this.kept, after[0]!, standing)]
      .map((step) => ({ step, cost: compared(totalCost(step), family) }))
      .sort(
        (a, b) =>
          a.cost - b.cost ||
          byCode(a.step.kind, b.step.kind) ||
          byCode(a.step.target, b.step.target),
      )
      .map(({ step }) => step);
  }

  /** Cost of the rows of the drafts; on the phone leave it there, or drive and go on. */
  private fromPhone(after: Float64Array): Float64Array {
    const rest = after.subarray(1);
    if (!this.situation.onPhone) return rest;
    const { ids, needs } = this.kept;
    const { owed } = needs.classes;
    const drive = this.family.dispatchMinutes * this.family.dollarsPerMinute;
    const into = new Float64Array(ids.length);
    return rest.map((dollars, i) => {
      const mass = this.masses.row(i + 1, into);
      let total = 0;
      let leaving = 0;
      for (let u = 0; u < mass.length; u++) {
        total += mass[u]!;
        leaving += mass[u]! * owed[ids[u]!]!;
      }
      return Math.min(leaving, drive * total + dollars);
    });
  }

  /** Estimates the cost of looking further first, for every row, as seen on site. */
  private looking(): Float64Array {
    const { kept, situation } = this;
    const open = entropyBits(kept.byNeed.mass);
    const bits = [open, ...this.drafts.flatMap((draft) => draft.bits())];
    const price = situation.onPhone
      ? this.dollarsPerBit(checkDrafts(kept, onSite(situation)), open)
      : this.dollarsPerBit(this.drafts, open);
    if (!Number.isFinite(price)) return new Float64Array(bits.length).fill(Infinity);
    const told = revealedCost(kept.needs, this.masses, this.openings, situation.done, true);
    return told.map((cost, i) => cost + price * bits[i]!);
  }

  /**
   * What the best checks ask for a bit of the needs, of which so many are open now. No answer tells more
   * about the needs than about the worlds: checks that would be dear even so are not gone into.
   */
  private dollarsPerBit(drafts: readonly Draft[], open: number): number {
    const { LEAST_BITS, BEST_CHECKS } = this.family.constants;
    const looks = drafts.flatMap((draft) => {
      const check = this.family.checks.get(draft.target);
      const most = check === undefined ? 0 : this.told(check) + SLACK_BITS;
      return most > LEAST_BITS ? [{ draft, least: draft.ownCost / most }] : [];
    });
    const prices: number[] = [];
    for (const { draft, least } of looks.sort((a, b) => a.least - b.least)) {
      if (prices.length >= BEST_CHECKS && least > prices[BEST_CHECKS - 1]!) break;
      const gain = open - draft.bits().reduce((left, one) => left + one, 0);
      if (gain > LEAST_BITS) prices.push(draft.ownCost / gain);
      prices.sort((a, b) => a - b);
    }
    const best = prices.slice(0, BEST_CHECKS);
    return best.length > 0 ? best.reduce((a, b) => a + b, 0) / best.length : Infinity;
  }

  /** How much an answer of the check tells about the worlds kept, in bits. */
  private told(check: Check): number {
    const table = this.kept.told(check);
    return informationOf(massByRow(this.kept, table), table);
  }

  /** What looking further ahead saves on the best candidates, in dollars. */
  private saved(steps: readonly Step[], budget: Budget): Map<string, number> {
    const named = steps.map((step) => step.target).filter((target) => target !== LEAVE_ID);
    const ids = named.slice(0, budget.candidates);
    const checks = [...new Set([...ids, ...this.byBitsForTheCost()])]
      .filter((id) => this.family.checks.has(id))
      .slice(0, budget.checks)
      .sort(byCode);
    const reduced = fieldOf(this.kept, checks, budget.worlds);
    return savings(reduced, this.situation, ids, budget);
  }

  private byBitsForTheCost(): string[] {
    const { family } = this;
    const looks = this.drafts.flatMap(({ target, ownCost }) => {
      const check = family.checks.get(target);
      if (check === undefined) return [];
      const worth = this.told(check) / Math.max(ownCost, 1e-9);
      return [{ id: target, worth: compared(worth, family) }];
    });
    return looks.sort((a, b) => b.worth - a.worth || byCode(a.id, b.id)).map(({ id }) => id);
  }
}

/** The masses now, and in each way of each draft. */
function massesOf(kept: Kept, drafts: readonly Draft[]): Masses {
  const number = new Map(kept.needs.repairs.map(({ id }, r) => [id, r]));
  const ways = drafts.flatMap((draft) => Array.from({ length: draft.ways }, (_, way) => ({ draft, way })));
  return {
    ids: kept.ids,
    count: ways.length + 1,
    row: (i, into) => {
      if (i === 0) return kept.byClass.mass;
      const { draft, way } = ways[i - 1]!;
      return draft.mass(way, into);
    },
    without: [-1, ...ways.map(({ draft }) => number.get(draft.target) ?? -1)],
  };
}

function repeated<T>(one: T, times: number): T[] {
  return Array.from({ length: times }, () => one);
}

/** Those for which it does not hold, then those for which it does; each in their order. */
function last(steps: readonly Step[], holds: (step: Step) => boolean): readonly Step[] {
  return [...steps.filter((step) => !holds(step)), ...steps.filter(holds)];
}

function onSite(situation: Situation): Situation {
  return situation.onPhone ? { ...situation, place: "", onPhone: false } : situation;
}
