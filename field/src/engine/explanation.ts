/** Why this step, in plain words and numbers (see explanation.py). Costs are dollars to the fix. */

import { NO_FAULT } from "./causes.ts";
import type { Constants } from "./constants.ts";
import { OTHER } from "./family.ts";
import { SYSTEM, WORKED } from "./forecast.ts";
import type { Plan } from "./planner.ts";
import { nearestEven, percent } from "./rounding.ts";
import type { Forecast, Step } from "./situation.ts";
import { totalCost } from "./situation.ts";

export interface Explanation {
  readonly step: Step;
  readonly why: readonly string[];
  readonly answers: readonly string[];
  readonly shareNow: number;
  readonly shareAfter: number;
  readonly answerBits: number;
  readonly runnerUp: string;
  readonly difference: number;
  readonly ties: readonly string[];
  readonly repairNow: boolean;
}

type Titles = (condition: string) => string;

/** Explains the first step of a plan. */
export function explain(plan: Plan, constants: Constants, titles: Titles): Explanation {
  const [step, ...rest] = plan.steps as readonly [Step, ...Step[]];
  const danger = asksDanger(step);
  const limit = totalCost(step) * (1 + constants.NEAR_TIE);
  const near = danger ? [] : rest.filter((one) => totalCost(one) <= limit);
  const next = rest[0];
  const difference = next === undefined ? 0 : totalCost(next) - totalCost(step);
  const expected = step.forecasts.reduce((sum, one) => sum + one.probability * one.share, 0);
  const after = expected || plan.now.share;
  return {
    step,
    why: [...reasons(plan, step, after), ...(danger ? [] : against(step, rest, difference, near))],
    answers: step.forecasts
      .filter((one) => one.probability >= constants.LIKELY)
      .map((one) => answerWords(step, one, titles, constants.LIKELY)),
    shareNow: plan.now.share,
    shareAfter: after,
    answerBits: answerBits(step.forecasts),
    runnerUp: next?.target ?? "",
    difference: Math.max(difference, 0),
    ties: near.map((one) => one.target),
    repairNow: ["repair", "refer", "stop"].includes(step.kind),
  };
}

/** Entropy of the answer in bits: 0 when it is known beforehand. */
export function answerBits(forecasts: readonly Forecast[]): number {
  let bits = 0;
  for (const { probability } of forecasts) {
    if (probability > 0) bits -= probability * Math.log2(probability);
  }
  return bits;
}

const dollars = (amount: number): string => `$${amount.toFixed(0)}`;

function reasons(plan: Plan, step: Step, after: number): string[] {
  const lines = [
    `It costs about ${dollars(step.ownCost)} now; from there to the proven fix at most about ` +
      `${dollars(step.costAfter)}.`,
  ];
  const looks = ["ask", "look", "measure"].includes(step.kind);
  const saved = plan.repairNow - totalCost(step);
  if (looks && saved > 0.5) {
    lines.push(`Going on without any further look would cost about ${dollars(saved)} more.`);
  }
  if (looks) {
    lines.push(gain(percent(plan.now.share), percent(after)));
  }
  if (step.kind === "repair") {
    const worked = step.forecasts.find((one) => one.outcomeId === WORKED)?.probability ?? 0;
    lines.push(
      `It is expected to put things right in ${percent(worked)} of such cases, and another look ` +
        "first would cost more than it saves.",
    );
  }
  if (step.kind === "prove") {
    lines.push("Good enough: stop looking here and prove it.");
    lines.push("A repair is finished when it is proven, not when the part is in.");
  }
  if (asksDanger(step)) {
    lines.push("Questions about danger come first, whatever else they tell.");
  }
  if (step.first.length > 0) lines.push(`First: ${step.first.map(actInWords).join("; ")}.`);
  return lines;
}

function gain(now: string, after: string): string {
  if (now === after) {
    return (
      `The likeliest cause holds ${now}, and is expected to hold as much after the answer: ` +
      "what pays is the answer that would change the course."
    );
  }
  return (
    `The likeliest cause now holds ${now}; after the answer the likeliest one is expected ` +
    `to hold ${after}.`
  );
}

function actInWords(act: string): string {
  return act.replace(/^go to (?!the )/, "go to the ");
}

function asksDanger(step: Step): boolean {
  return step.kind === "ask" && step.forecasts.some((one) => one.danger);
}

function against(
  step: Step,
  rest: readonly Step[],
  difference: number,
  near: readonly Step[],
): string[] {
  const next = rest[0];
  if (next === undefined) return [];
  if (step.kind !== "prove" && near.includes(next)) {
    const named = near.map((one) => one.title).join(", ");
    return [`As good as equal: ${named}. Take what is at hand.`];
  }
  if (difference <= 0) return [];
  if (nearestEven(difference) === 0) {
    return [`Next best: ${next.title}, expected to cost about as much.`];
  }
  const now = moreOrLess(next.ownCost - step.ownCost);
  const later = moreOrLess(next.costAfter - step.costAfter);
  const more = `expected to cost ${dollars(difference)} more: ${now} now, ${later} afterwards`;
  return [`Next best: ${next.title}, ${more}.`];
}

function moreOrLess(amount: number): string {
  return `${dollars(Math.abs(amount))} ${amount >= 0 ? "more" : "less"}`;
}

function answerWords(step: Step, forecast: Forecast, titles: Titles, likely: number): string {
  const chance = `${forecast.label} (${percent(forecast.probability)})`;
  if (forecast.danger) return `${chance}: stop and get out of the danger.`;
  if (afterTrying(step, forecast)) {
    const owed = step.target === SYSTEM ? "" : "it has still to be proven; ";
    return `${chance}: then ${owed}${leftBehind(forecast, titles, likely)}.`;
  }
  if (forecast.leading === NO_FAULT) {
    return `${chance}: then nothing is wrong, with ${percent(forecast.share)}.`;
  }
  const leading = statementWords(forecast.leading, titles);
  return `${chance}: then ${leading} leads with ${percent(forecast.share)}.`;
}

/** Whether the forecast is that of a system that was tried and works. */
function afterTrying({ target, kind }: Step, { outcomeId }: Forecast): boolean {
  return outcomeId === WORKED && (target === SYSTEM || kind === "repair" || kind === "refer");
}

/** What may still be wrong with a system that works. */
function leftBehind({ leading, share }: Forecast, titles: Titles, likely: number): string {
  if (leading !== NO_FAULT) {
    const words = statementWords(leading, titles);
    return `${words} is still there with ${percent(share)}, though it does not show now`;
  }
  const other = 1 - share;
  if (other < likely) return "hardly anything else is wrong";
  return `with ${percent(other)} something else is wrong that does not show now`;
}

/** The words for a cause, or for something outside the library. */
function statementWords(statement: string, titles: Titles): string {
  if (statement === OTHER) return "something not in the list";
  return small(titles(statement));
}

/** A title as it stands within a sentence; what begins with a sign stays ("Y shorted"). */
export function small(title: string): string {
  return /^.\p{Ll}/u.test(title) ? title.slice(0, 1).toLowerCase() + title.slice(1) : title;
}
