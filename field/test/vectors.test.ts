/** The guide of random calls, against what Python makes of the same ones. */

import { afterAll, describe, expect, it } from "vitest";
import { answered } from "../src/engine/belief.ts";
import type { CatalogFile } from "../src/engine/catalog.ts";
import { readCatalog } from "../src/engine/catalog.ts";
import { Guide } from "../src/engine/guide.ts";
import { readingOf } from "../src/engine/progress.ts";
import { ahead, rehearsal, tablesOf, typed } from "../src/engine/readiness.ts";
import type { Situation } from "../src/engine/situation.ts";
import type { Event } from "../src/trail/event.ts";
import { Trail, fold, makeEvent } from "../src/trail/trail.ts";
import type { ExpectedConflict, ExpectedGuide } from "./vectors.ts";
import { closeTo, compiled, load, there, trails } from "./vectors.ts";

/**
 * Faults of one rate that no reading has told apart are equal to the last bit or two; which of them
 * leads then hangs on the order of a sum. Their shares are compared below, their number here.
 */
const MOST_TIED = 0.03;
/** In one trail of so many, the step is worked out ahead, as while a page is read. */
const GONE_AHEAD = 4;
let compared = 0;
let tied = 0;

function compareShares(
  found: readonly { id: string; probability: number }[],
  wanted: Record<string, number>,
  what: string,
): void {
  const shares = new Map(found.map(({ id, probability }) => [id, probability]));
  expect([...shares.keys()].sort(), what).toEqual(Object.keys(wanted).sort());
  for (const [id, share] of Object.entries(wanted)) closeTo(shares.get(id)!, share, `${what} ${id}`);
}

function plainSituation(situation: Situation): Record<string, unknown> {
  const list = (names: ReadonlySet<string>): string[] => [...names].sort();
  return {
    place: situation.place,
    opened: list(situation.opened),
    power_off: situation.powerOff,
    done: list(situation.done),
    deferred: list(situation.deferred),
    on_phone: situation.onPhone,
    demand: situation.demand,
    set_up: list(situation.setUp),
    unproven: list(situation.unproven),
    cleared: list(situation.cleared),
    doubt: expect.closeTo(situation.doubt, 9) as number,
  };
}

function compareBelief(guide: Guide, wanted: ExpectedGuide): void {
  const { causes } = guide;
  compareShares(causes.roots, wanted.roots, "root");
  compareShares(causes.consequences, wanted.consequences, "consequence");
  compareShares(guide.parts, wanted.parts, "part");
  closeTo(causes.noFault, wanted.no_fault, "no fault");
  closeTo(causes.other, wanted.other, "other");
  closeTo(causes.several, wanted.several, "several");
  closeTo(guide.belief.unmapped, wanted.unmapped, "unmapped");
  compared += 1;
  if (causes.leading.id !== wanted.leading) tied += 1;
  expect(guide.belief.verdict).toBe(wanted.verdict);
  const latents = guide.latents.map(({ id, share }) => ({ id, probability: share }));
  compareShares(latents, wanted.latents, "latent");
}

function comparePlan(guide: Guide, wanted: ExpectedGuide): void {
  const named = guide.plan.steps.map(({ kind, target }) => `${kind} ${target}`);
  expect(named).toEqual(wanted.steps.map(({ kind, target }) => `${kind} ${target}`));
  wanted.steps.forEach((step, i) => {
    const found = guide.plan.steps[i]!;
    closeTo(found.ownCost, step.own_cost, `own cost of ${step.target}`);
    closeTo(found.costAfter, step.cost_after, `cost after ${step.target}`);
    expect(found.first).toEqual(step.first);
    expect(found.forecasts.map((one) => one.outcomeId)).toEqual(step.forecasts.map(([id]) => id));
    step.forecasts.forEach(([id, probability, leading, share], k) => {
      const one = found.forecasts[k]!;
      closeTo(one.probability, probability, `chance of ${id}`);
      closeTo(one.share, share, `share after ${id}`);
      compared += 1;
      if (one.leading !== leading) tied += 1;
    });
  });
  closeTo(guide.plan.repairNow, wanted.repair_now, "repairing now");
}

function compareAhead({ ahead, load }: Guide, wanted: ExpectedGuide): void {
  const found: Record<string, number> = {
    minutes: ahead.minutes,
    minutes_low: ahead.minutesLow,
    minutes_high: ahead.minutesHigh,
    dollars: ahead.dollars,
    dollars_low: ahead.dollarsLow,
    dollars_high: ahead.dollarsHigh,
    handed_over: ahead.handedOver,
  };
  for (const [name, value] of Object.entries(wanted.ahead)) closeTo(found[name]!, value, name);
  const named = load.map(({ kind, name }) => `${kind} ${name}`);
  expect(named).toEqual(wanted.load.map(([kind, name]) => `${kind} ${name}`));
  wanted.load.forEach(([, name, chance], k) => closeTo(load[k]!.chance, chance, name));
}

function compareConflict(guide: Guide, wanted: ExpectedConflict | null): void {
  if (wanted === null || guide.conflict === null) {
    expect(guide.conflict).toBe(wanted);
    return;
  }
  closeTo(guide.conflict.misfit, wanted.misfit, "misfit");
  closeTo(guide.conflict.expected, wanted.expected, "expected misfit");
  const { suspects, repeat } = guide.conflict;
  const named = suspects.map((one) => one.reading.checkId);
  const suspected = wanted.suspects.map(([check]) => check);
  expect([...named].sort()).toEqual([...suspected].sort());
  compared += 1;
  if (named.join() !== suspected.join()) tied += 1;
  expect(repeat?.reading.checkId ?? null).toBe(wanted.repeat);
}

function compareWords(guide: Guide, wanted: ExpectedGuide): void {
  const healthy = Object.keys(wanted.healthy).map((id) => [id, guide.healthyReading(id)]);
  expect(Object.fromEntries(healthy)).toEqual(wanted.healthy);
  const limits = Object.keys(wanted.limits).map((id) => [id, guide.proof(id)?.limits]);
  expect(Object.fromEntries(limits)).toEqual(wanted.limits);
}

describe.skipIf(!there)("guides of Python", () => {
  const data = there ? readCatalog(load<CatalogFile>("catalog.json")) : null;
  const moments = trails.flatMap((trail, i) =>
    trail.guides.map((one) => [i, one.events, trail, one.expect] as const),
  );
  afterAll(() => {
    expect(tied / Math.max(compared, 1), "led by an equal").toBeLessThan(MOST_TIED);
  });
  const guideOf = (events: readonly Event[], name: string): Guide =>
    new Guide(fold(new Trail(events[0]!.call_id, events)), compiled(name), data!);
  it.each(moments)("trail %i after %i events", (i, count, trail, wanted) => {
    const events = trail.events.slice(0, count);
    if (i % GONE_AHEAD === 0 && count > 1) {
      expect([...ahead(guideOf(events.slice(0, -1), trail.compiled))].length).toBeLessThan(30);
    }
    const guide = guideOf(events, trail.compiled);
    expect(guide.phase).toBe(wanted.phase);
    expect(wanted.situation).toEqual(plainSituation(guide.situation));
    expect(guide.unused).toEqual(wanted.unused);
    closeTo(guide.spent.minutes, wanted.minutes, "minutes");
    closeTo(guide.spent.partsDollars, wanted.parts_dollars, "parts");
    expect(guide.mended.map((one) => [one.repairId, one.outcome])).toEqual(wanted.mended);
    expect(guide.dangers.map((one) => one.checkId)).toEqual(wanted.dangers);
    compareBelief(guide, wanted);
    compareWords(guide, wanted);
    compareConflict(guide, wanted.conflict);
    comparePlan(guide, wanted);
    compareAhead(guide, wanted);
  });
  it("find the likeliest answer's step worked out", () => {
    const { compiled: name, events } = trails[0]!;
    const opened = events.slice(0, 1);
    const before = guideOf(opened, name);
    const step = before.plan.steps.find(({ forecasts }) => forecasts.length > 0)!;
    const [best] = [...step.forecasts].sort((a, b) => b.probability - a.probability);
    const body = { check_id: step.target, answer: best!.outcomeId, reported_by: "caller" } as const;
    const trail = new Trail(opened[0]!.call_id, opened);
    const told = makeEvent(trail, "one", "told", new Date(0), "reading_taken", body);
    expect([...ahead(before)].length).toBeGreaterThan(1);
    const known = before.told.read(answered(step.target, best!.outcomeId, "caller"));
    const after = guideOf([...opened, told], name);
    expect(after.told).toBe(known);
  });
  it("find the step after a number worked out while it was typed", () => {
    const { compiled: name, events } = trails[0]!;
    const opened = events.slice(0, 1);
    const before = guideOf(opened, name);
    const look = [...before.family.checks.values()].find((check) => check.look !== null)!;
    const value = look.outcomes.find(({ high }) => high !== null)!.high!;
    const body = { check_id: look.id, unit: "K", value, si_value: value } as const;
    const trail = new Trail(opened[0]!.call_id, opened);
    const told = makeEvent(trail, "one", "told", new Date(0), "reading_taken", body);
    expect([...typed(before, body)].length).toBe(1);
    const known = before.told.read(readingOf(body, data!.checks.get(look.id)));
    const worked = before.standing(known).plan(before.family.constants.STEPS, before.call.budget);
    const after = guideOf([...opened, told], name);
    expect(after.told).toBe(known);
    expect(after.plan).toBe(worked);
    expect([...typed(before, { ...body, check_id: "no/such" })].length).toBe(1);
  });
  it("are the same after the next steps were gone through beforehand", () => {
    const { compiled: name, events } = trails[0]!;
    const state = fold(new Trail(events[0]!.call_id, events.slice(0, 4)));
    const call = compiled(name);
    const before = new Guide(state, call, data!);
    const told = JSON.stringify([before.plan, before.causes]);
    expect([...tablesOf(call), ...rehearsal(before)].length).toBeGreaterThan(10);
    const after = new Guide(state, call, data!);
    expect(JSON.stringify([after.plan, after.causes])).toBe(told);
    expect(JSON.stringify([before.plan, before.causes])).toBe(told);
  });
});
