/** Readings of the circuit that cannot be as they stand, and the likely mistake (questioned.py). */

import type { Belief } from "./belief.ts";
import { isOfPanel } from "./panel_reading.ts";
import type { SaturationChart } from "./saturation_chart.ts";

/** One reading cannot lie above another, or lies within a span (SI). */
export type Rule =
  | { readonly upper: string; readonly lower: string; readonly doubt: number; readonly text: string }
  | { readonly of: string; readonly low: number; readonly high: number; readonly text: string };

/** All that may be asked back, as the compiled call says it. */
export interface AskedBack {
  readonly rules: readonly Rule[];
  /** Asked where only the chart of another refrigerant makes sense. */
  readonly other_chart: string;
  readonly condensing_over_air_k: readonly [number, number];
}

/** What is odd, the likely mistake, and the checks to look at again. */
export interface Question {
  readonly text: string;
  readonly checks: readonly string[];
}

interface Told {
  readonly check: string;
  readonly value: number;
}

type Readings = Map<string, Told>;

/** What must be asked back about the readings of the circuit taken so far; of repeats the last. */
export function questions(belief: Belief): Question[] {
  const told = toldBy(belief);
  const found = belief.family.askedBack.rules.map((rule) => asked(rule, told));
  found.push(otherChart(belief, told));
  return found.filter((question) => question !== null);
}

/** The readings, with superheat and subcooling worked out where their parts are there. */
function toldBy(belief: Belief): Readings {
  const found: Readings = new Map();
  for (const reading of belief.readings) {
    const look = belief.family.checks.get(reading.checkId)?.look ?? null;
    if (look === null || !isOfPanel(belief.family, reading)) continue;
    found.set(look.of, { check: reading.checkId, value: reading.valueSi! });
  }
  const chart = belief.views.get("cool")?.panel.charts[0];
  if (chart !== undefined) addDifferences(found, chart);
  return found;
}

function addDifferences(told: Readings, chart: SaturationChart): void {
  const [suction, suctionLine] = [told.get("suction_pressure"), told.get("suction_line")];
  if (suction !== undefined && suctionLine !== undefined && !told.has("superheat")) {
    const boiling = chart.temperature(suction.value, "dew").at;
    told.set("superheat", { check: suction.check, value: suctionLine.value - boiling });
  }
  const [liquid, liquidLine] = [told.get("liquid_pressure"), told.get("liquid_line")];
  if (liquid !== undefined && liquidLine !== undefined && !told.has("subcooling")) {
    const condensing = chart.temperature(liquid.value, "bubble").at;
    told.set("subcooling", { check: liquid.check, value: condensing - liquidLine.value });
  }
}

function asked(rule: Rule, told: Readings): Question | null {
  if ("of" in rule) {
    const one = told.get(rule.of);
    if (one === undefined || (rule.low <= one.value && one.value <= rule.high)) return null;
    return { text: rule.text, checks: [one.check] };
  }
  const [upper, lower] = [told.get(rule.upper), told.get(rule.lower)];
  if (upper === undefined || lower === undefined) return null;
  if (upper.value <= lower.value + rule.doubt) return null;
  return { text: rule.text, checks: [upper.check, lower.check] };
}

/** Asks whether another refrigerant is in the system when only its chart makes sense. */
function otherChart(belief: Belief, told: Readings): Question | null {
  const view = belief.views.get("cool");
  const [suction, liquid] = [told.get("suction_pressure"), told.get("liquid_pressure")];
  if (view === undefined || suction === undefined || liquid === undefined) return null;
  const { weather, charts } = { weather: view.weather.mean, charts: view.panel.charts };
  const { askedBack, constants } = belief.family;
  const [least, most] = askedBack.condensing_over_air_k;
  const makesSense = (chart: SaturationChart): boolean => {
    const boiling = chart.temperature(suction.value, "dew").at;
    const over = chart.temperature(liquid.value, "bubble").at - weather[0]!;
    return boiling < weather[1]! - constants.DOUBT_K && least <= over && over <= most;
  };
  const plate = charts[0]!;
  const other = charts.slice(1).find(makesSense);
  if (makesSense(plate) || other === undefined) return null;
  const text = askedBack.other_chart
    .replace("{plate}", plate.refrigerant)
    .replace("{other}", other.refrigerant);
  return { text, checks: [suction.check, liquid.check] };
}
