/** Today's targets of random calls: charts and verdicts as in Python, the unit's model off its grid. */

import { afterAll, describe, expect, it } from "vitest";
import type { CatalogFile } from "../src/engine/catalog.ts";
import { readCatalog } from "../src/engine/catalog.ts";
import { Guide } from "../src/engine/guide.ts";
import type { Air } from "../src/engine/target_data.ts";
import type { Judged } from "../src/engine/targets.ts";
import { Trail, fold } from "../src/trail/trail.ts";
import type { ExpectedJudged } from "./vectors.ts";
import { compiled, load, there, trails } from "./vectors.ts";

const DEGF_PER_K = 1.8;
const WATT_PER_BTU_H = 0.29307107;
const PA_PER_PSI = 6894.757;
/** What Python counts each quantity in, and how far its rounding goes. */
const COUNTED = {
  K: { scale: DEGF_PER_K, rounded: 0.0501 },
  W: { scale: 1 / WATT_PER_BTU_H, rounded: 50.1 },
  Pa: { scale: 1 / PA_PER_PSI, rounded: 0.0501 },
};

/** How far the unit's model is off, by quantity: degF, psi, or a share of a capacity. */
const off = new Map<string, number[]>();
let called = 0;
let calledOtherwise = 0;

/** Whether a weather lies inside the grid: outside it the phone holds the border's value. */
function isOnGrid(axes: readonly (readonly number[])[], [outdoor, indoor, wet]: Air): boolean {
  return [outdoor, wet, indoor - wet].every((at, k) => at >= axes[k]![0]! && at <= axes[k]!.at(-1)!);
}

function compareQuantity(found: Judged, wanted: ExpectedJudged, onGrid: boolean): void {
  expect(found.quantity).toBe(wanted.quantity);
  expect(found.title).toBe(wanted.title);
  expect(found.targets.map((one) => one.source)).toEqual(wanted.targets.map((one) => one.source));
  expect(found.reading === null).toBe(wanted.reading === null);
  const { scale, rounded } = COUNTED[found.counted];
  if (wanted.reading !== null) {
    near(found.reading! * scale, wanted.reading, rounded);
    near(found.deviation * scale, wanted.deviation!, rounded);
  }
  wanted.targets.forEach((one, i) => {
    const target = found.targets[i]!;
    expect(target.value === null, target.source).toBe(one.value === null);
    if (target.value === null || one.value === null) return;
    if (i > 0) near(target.value * scale, one.value, rounded);
    if (!onGrid) return;
    if (one.verdict !== "") called += 1;
    if (target.verdict !== one.verdict) calledOtherwise += 1;
    if (found.counted === "K" && i > 0) return;
    const error = target.value * scale - one.value;
    note(found.quantity, found.counted === "W" ? error / one.value : error);
  });
}

function near(found: number, wanted: number, by: number): void {
  expect(Math.abs(found - wanted), `${found}, wanted ${wanted}`).toBeLessThanOrEqual(by);
}

function note(quantity: string, error: number): void {
  off.set(quantity, [...(off.get(quantity) ?? []), Math.abs(error)]);
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

describe.skipIf(!there)("targets of Python", () => {
  const data = there ? readCatalog(load<CatalogFile>("catalog.json")) : null;
  const moments = trails.flatMap((trail, i) =>
    trail.guides.map((one) => [i, one.events, trail, one.expect.targets] as const),
  );
  afterAll(() => {
    expect(called, "nothing was read that has a target").toBeGreaterThan(0);
    expect(calledOtherwise / called, "verdicts that differ").toBeLessThan(0.05);
    for (const [quantity, errors] of off) {
      console.log(`${quantity}: mean ${meanOf(errors).toFixed(4)}, most ${Math.max(...errors).toFixed(3)}`);
      const most = quantity.endsWith("capacity") ? 0.005 : quantity.endsWith("pressure") ? 0.6 : 0.25;
      expect(meanOf(errors), quantity).toBeLessThan(most);
    }
    console.log(`${called} verdicts, ${calledOtherwise} differ`);
  });
  it.each(moments)("targets of trail %i after %i events", (_, count, trail, wanted) => {
    const events = trail.events.slice(0, count);
    const state = fold(new Trail(events[0]!.call_id, events));
    const guide = new Guide(state, compiled(trail.compiled), data!);
    for (const [demand, quantities] of Object.entries(wanted)) {
      if (quantities === null) continue;
      const found = guide.targets(demand);
      // A refrigerant read off the plate without signal: there are targets once it is compiled anew.
      if (found === null) {
        expect(guide.options["refrigerant"]).not.toBe(guide.call.targets!.units[0]!.refrigerant);
        expect(guide.options["refrigerant"]).toBeDefined();
        continue;
      }
      const onGrid = isOnGrid(guide.call.targets!.axes[demand]!, found.today.air);
      expect(found.judged.length).toBe(quantities.length);
      quantities.forEach((one, i) => compareQuantity(found.judged[i]!, one, onGrid));
    }
  });
});
