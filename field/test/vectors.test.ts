/**
 * The engine against what Python makes of the same trails. The folder named by CATCHPAN_VECTORS
 * is written by `python -m benchmarks.vectors FOLDER`; tests/field runs this with one.
 */

import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import type { CatalogFile } from "../src/engine/catalog.ts";
import { readCatalog } from "../src/engine/catalog.ts";
import type { CompiledCall } from "../src/engine/compiled_call.ts";
import { readCompiledCall } from "../src/engine/compiled_call.ts";
import { Guide } from "../src/engine/guide.ts";
import type { Situation } from "../src/engine/situation.ts";
import type { Event } from "../src/trail/event.ts";
import { Trail, fold } from "../src/trail/trail.ts";

interface Expected {
  readonly phase: string;
  readonly conditions: Record<string, number>;
  readonly roots: Record<string, number>;
  readonly consequences: Record<string, number>;
  readonly no_fault: number;
  readonly other: number;
  readonly several: number;
  readonly leading: string;
  readonly verdict: boolean | null;
  readonly unmapped: number;
  readonly latents: Record<string, number>;
  readonly steps: readonly {
    readonly kind: string;
    readonly target: string;
    readonly own_cost: number;
    readonly cost_after: number;
    readonly first: readonly string[];
    readonly forecasts: readonly (readonly [string, number, string, number])[];
  }[];
  readonly repair_now: number;
  readonly conflict: {
    readonly misfit: number;
    readonly expected: number;
    readonly suspects: readonly string[];
    readonly repeat: string | null;
  } | null;
  readonly dangers: readonly string[];
  readonly situation: Record<string, unknown>;
  readonly minutes: number;
  readonly parts_dollars: number;
  readonly mended: readonly (readonly [string, string])[];
  readonly unused: readonly string[];
}

interface Vectors {
  readonly trails: readonly {
    readonly compiled: string;
    readonly events: readonly Event[];
    readonly expect: Expected;
  }[];
}

const folder = process.env["CATCHPAN_VECTORS"] ?? "";
const there = folder !== "" && existsSync(join(folder, "vectors.json"));
if (!there) console.warn("vectors not compared: CATCHPAN_VECTORS names no folder with vectors");

function load<T>(name: string): T {
  return JSON.parse(readFileSync(join(folder, name), "utf-8")) as T;
}

function bytesOf(name: string): ArrayBuffer {
  const buffer = readFileSync(join(folder, name));
  return Uint8Array.from(buffer).buffer;
}

const CLOSE = 1e-6;

function closeTo(found: number, wanted: number, what: string): void {
  expect(Math.abs(found - wanted), `${what}: ${found}, wanted ${wanted}`).toBeLessThan(
    CLOSE * Math.max(1, Math.abs(wanted)),
  );
}

/**
 * Faults of one rate that no reading has told apart are equal to the last bit or two; which of them
 * leads then hangs on the order of a sum. Their shares are compared above, their number here.
 */
let compared = 0;
let tied = 0;
const MOST_TIED = 0.03;

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
  };
}

function compareBelief(guide: Guide, wanted: Expected): void {
  const { causes } = guide;
  compareShares(causes.roots, wanted.roots, "root");
  compareShares(causes.consequences, wanted.consequences, "consequence");
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

function comparePlan(guide: Guide, wanted: Expected): void {
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

function compareConflict(guide: Guide, wanted: Expected["conflict"]): void {
  if (wanted === null || guide.conflict === null) {
    expect(guide.conflict).toBe(wanted);
    return;
  }
  closeTo(guide.conflict.misfit, wanted.misfit, "misfit");
  closeTo(guide.conflict.expected, wanted.expected, "expected misfit");
  const { suspects, repeat } = guide.conflict;
  const named = suspects.map((one) => one.reading.checkId);
  expect([...named].sort()).toEqual([...wanted.suspects].sort());
  compared += 1;
  if (named.join() !== wanted.suspects.join()) tied += 1;
  expect(repeat?.reading.checkId ?? null).toBe(wanted.repeat);
}

describe.skipIf(!there)("vectors from Python", () => {
  const { trails } = there ? load<Vectors>("vectors.json") : { trails: [] };
  const data = there ? readCatalog(load<CatalogFile>("catalog.json")) : null;
  const calls = new Map<string, CompiledCall>();
  const compiled = (name: string): CompiledCall => {
    const known = calls.get(name) ?? readCompiledCall(bytesOf(name));
    calls.set(name, known);
    return known;
  };
  afterAll(() => {
    expect(tied / compared, "led by an equal").toBeLessThan(MOST_TIED);
  });
  it.each(trails.map((trail, i) => [i, trail] as const))("trail %i", (_, trail) => {
    const { events, expect: wanted } = trail;
    const state = fold(new Trail(events[0]!.call_id, events));
    const guide = new Guide(state, compiled(trail.compiled), data!);
    expect(guide.phase).toBe(wanted.phase);
    expect(plainSituation(guide.situation)).toEqual(wanted.situation);
    expect(guide.unused).toEqual(wanted.unused);
    closeTo(guide.spent.minutes, wanted.minutes, "minutes");
    closeTo(guide.spent.partsDollars, wanted.parts_dollars, "parts");
    expect(guide.mended.map((one) => [one.repairId, one.outcome])).toEqual(wanted.mended);
    expect(guide.dangers.map((one) => one.checkId)).toEqual(wanted.dangers);
    compareBelief(guide, wanted);
    comparePlan(guide, wanted);
    compareConflict(guide, wanted.conflict);
  });
});
