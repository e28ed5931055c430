/** The belief after every act of random calls, against what Python makes of the same ones. */

import { afterAll, describe, expect, it } from "vitest";
import { afterPuttingBack, afterRepair } from "../src/engine/aftermath.ts";
import { Belief } from "../src/engine/belief.ts";
import { findConflict } from "../src/engine/conflict.ts";
import { questions } from "../src/engine/questioned.ts";
import { toldBits } from "../src/engine/telling.ts";
import type { Act, ExpectedConflict } from "./vectors.ts";
import { closeTo, compiled, numbersAt, there, trails } from "./vectors.ts";

let furthest = 0;

function acted(belief: Belief, act: Act): Belief {
  if (act.repair !== undefined) return afterRepair(belief, act.repair, act.worked ?? null);
  let found = belief;
  if (act.read !== undefined) {
    const { check_id, outcome_id, value_si, sd_si, reporter } = act.read;
    found = belief.observe({
      checkId: check_id,
      outcomeId: outcome_id,
      valueSi: value_si,
      sdSi: sd_si,
      reporter,
    });
    if (act.puts_back !== undefined) found = afterPuttingBack(found, act.puts_back, outcome_id);
  }
  return act.tried === undefined ? found : found.systemTried(act.tried);
}

function compareShares(belief: Belief, at: number): void {
  const wanted = numbersAt(at, belief.family.size);
  let off = 0;
  let where = 0;
  belief.probabilities().forEach((share, w) => {
    const apart = Math.abs(share - wanted[w]!);
    if (apart > off || Number.isNaN(apart)) [off, where] = [apart, w];
  });
  furthest = Math.max(furthest, off);
  closeTo(belief.probabilities()[where]!, wanted[where]!, `world ${where}`);
}

function compareConflict(belief: Belief, wanted: ExpectedConflict | null): void {
  const found = findConflict(belief);
  if (wanted === null || found === null) {
    expect(found).toBe(wanted);
    return;
  }
  closeTo(found.misfit, wanted.misfit, "misfit");
  closeTo(found.expected, wanted.expected, "expected misfit");
  expect(found.suspects.length).toBe(wanted.suspects.length);
  const relief = new Map(found.suspects.map((one) => [one.reading.checkId, one]));
  for (const [check, eased, surprise] of wanted.suspects) {
    const same = found.suspects.filter((one) => one.reading.checkId === check);
    expect(same.length, `${check} is suspect`).toBeGreaterThan(0);
    if (same.length > 1) continue;
    closeTo(relief.get(check)!.relief, eased, `relief of ${check}`);
    closeTo(relief.get(check)!.surprise, surprise, `surprise of ${check}`);
  }
  expect(found.repeat?.reading.checkId ?? null).toBe(wanted.repeat);
}

describe.skipIf(!there)("beliefs of Python", () => {
  afterAll(() => console.log(`furthest apart: ${furthest.toExponential(1)}`));
  it.each(trails.map((trail, i) => [i, trail] as const))("belief of trail %i", (_, trail) => {
    let belief = Belief.prior(compiled(trail.compiled).family);
    for (const act of trail.acts) {
      belief = acted(belief, act);
      compareShares(belief, act.shares);
      expect(belief.verdict).toBe(act.verdict);
      closeTo(belief.unmapped, act.unmapped, "unmapped");
      compareConflict(belief, act.conflict);
      expect(questions(belief).map(({ text, checks }) => [text, checks])).toEqual(act.questions);
    }
    const told = toldBits(belief);
    const { checks, at } = trail.told;
    const wanted = numbersAt(at, checks.length);
    expect([...told.keys()].sort()).toEqual([...checks].sort());
    checks.forEach((check, k) => closeTo(told.get(check)!, wanted[k]!, `bits of ${check}`));
  });
});
