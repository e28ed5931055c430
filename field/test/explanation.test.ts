import { describe, expect, it } from "vitest";
import type { Constants } from "../src/engine/constants.ts";
import { explain, small } from "../src/engine/explanation.ts";
import type { Forecast, Step } from "../src/engine/situation.ts";

const TOLD: Readonly<Record<string, string>> = {
  valve_stuck: "Reversing valve stuck",
  short: "Y shorted to C",
};
const LIMITS = { NEAR_TIE: 0.02, LIKELY: 0.01 } as Constants;
const NOW: Forecast = {
  outcomeId: "now",
  label: "now",
  probability: 1,
  leading: "charge_low",
  share: 0.8,
  danger: false,
};
const FAILS: Forecast = {
  ...NOW,
  outcomeId: "did-not",
  label: "it still fails",
  probability: 0.17,
  leading: "valve_stuck",
  share: 0.4,
};

function works(leading: string, share: number): Forecast {
  return { ...NOW, outcomeId: "worked", label: "it works now", probability: 0.83, leading, share };
}

function answers(kind: Step["kind"], target: string, forecasts: readonly Forecast[]) {
  const step = { kind, target, title: "Weigh in", ownCost: 3, costAfter: 9, first: [], forecasts };
  const plan = { steps: [step], worlds: 10, cut: 0, repairNow: 20, now: NOW };
  return explain(plan, LIMITS, (id) => TOLD[id] ?? id).answers;
}

describe("why a step comes next", () => {
  const look = { title: "Look", ownCost: 3, first: ["go to outdoor unit"], forecasts: [] };
  const steps = [
    { ...look, kind: "prove" as const, target: "pan", costAfter: 900 },
    { ...look, kind: "look" as const, target: "lamp", costAfter: 900.3 },
  ];
  const plan = { steps, worlds: 10, cut: 0, repairNow: 20, now: NOW };

  it("says what costs as much, and where to go", () => {
    const { why } = explain(plan, LIMITS, (id) => id);
    expect(why).toContain("Next best: Look, expected to cost about as much.");
    expect(why).toContain("First: go to the outdoor unit.");
  });

  it("says where the answer settles little", () => {
    const text = explain({ ...plan, steps: [steps[1]!] }, LIMITS, (id) => id).why.join(" ");
    expect(text).toContain("The likeliest cause holds 80%, and is expected to hold as much after");
  });
});

describe("what each answer would mean", () => {
  it.each([
    [0.97, "with 3% something else is wrong that does not show now."],
    [0.999, "hardly anything else is wrong."],
  ])("after a repair that works: with %d nothing is wrong", (share, words) => {
    expect(answers("repair", "charge", [works("no-fault", share), FAILS])).toEqual([
      `it works now (83%): then it has still to be proven; ${words}`,
      "it still fails (17%): then reversing valve stuck leads with 40%.",
    ]);
    expect(answers("prove", "system", [works("no-fault", share)])).toEqual([
      `it works now (83%): then ${words}`,
    ]);
  });

  it("names a fault that stays and does not show", () => {
    expect(answers("repair", "fuse", [works("short", 0.6)])).toEqual([
      "it works now (83%): then it has still to be proven; " +
        "Y shorted to C is still there with 60%, though it does not show now.",
    ]);
  });

  it("says where nothing is wrong", () => {
    const pass = { ...works("no-fault", 0.97), outcomeId: "pass", label: "pass" };
    expect(answers("prove", "split", [pass])).toEqual([
      "pass (83%): then nothing is wrong, with 97%.",
    ]);
  });

  it("writes titles as they stand in a sentence", () => {
    expect(["Fuse blown", "Y shorted", "TXV stuck", "A"].map(small)).toEqual([
      "fuse blown",
      "Y shorted",
      "TXV stuck",
      "A",
    ]);
  });
});
