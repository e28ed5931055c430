/** What was observed, and how likely it is in every world (see log_likelihood in belief.py). */

import type { Check, Family, Outcome } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";
import { likelihoodTable, rowsWithOutside } from "./likelihood.ts";
import { isOfPanel, panelViews } from "./panel_reading.ts";

export type Reporter = "caller" | "technician";

/** What was observed: an answer by id, or a value (SI) with the instrument's own spread. */
export interface Reading {
  readonly checkId: string;
  readonly outcomeId: string | null;
  readonly valueSi: number | null;
  readonly sdSi: number | null;
  readonly reporter: Reporter;
}

/** A reading that no check of the family can take. */
export class UnknownReading extends Error {}

export function answered(
  checkId: string,
  outcomeId: string,
  reporter: Reporter = "technician",
): Reading {
  return { checkId, outcomeId, valueSi: null, sdSi: null, reporter };
}

export function measured(
  checkId: string,
  valueSi: number,
  sdSi: number | null = null,
  reporter: Reporter = "technician",
): Reading {
  return { checkId, outcomeId: null, valueSi, sdSi, reporter };
}

/** Log-likelihoods of a reading: the distinct ones, and which of them each world has. */
export interface Weighed {
  readonly row: Uint16Array;
  readonly logs: Float64Array;
}

/**
 * Log-likelihood of one reading by itself. An answer is looked up in `table`, by default that
 * before anything was read.
 */
export function logLikelihood(family: Family, reading: Reading, table?: Likelihoods): Weighed {
  const check = knownCheck(family, reading.checkId);
  const { FLOOR, CALLER_SLIP } = family.constants;
  if (check.look !== null && isOfPanel(family, reading)) {
    const view = panelViews(family, [reading]).get(check.look.demand);
    if (view === undefined) throw new UnknownReading(`${check.id} has no panel`);
    const logs = view.logLikelihood.map((log) => Math.max(log, Math.log(FLOOR)));
    return { row: view.panel.groupOf, logs };
  }
  const { row, shares } = likelihoods(family, check, reading, table);
  const slips = reading.reporter === "caller" && !check.phone;
  const logs = shares.map((share) => {
    const told = slips ? (1 - CALLER_SLIP) * share + CALLER_SLIP / check.outcomes.length : share;
    return Math.log(Math.max(told, FLOOR));
  });
  return { row, logs };
}

interface Shares {
  readonly row: Uint16Array;
  readonly shares: Float64Array;
}

function likelihoods(
  family: Family,
  check: Check,
  reading: Reading,
  table: Likelihoods | undefined,
): Shares {
  if (reading.valueSi !== null && check.numeric !== null) {
    return beyondLimit(family, check, reading.valueSi);
  }
  const column = outcomePosition(check, reading);
  const { rows, columns, count, row } = table ?? likelihoodTable(family, check);
  return { row, shares: Float64Array.from({ length: count }, (_, r) => rows[r * columns + column]!) };
}

/** What a display beyond its limit says; any other number counts by its answer or its panel. */
function beyondLimit(family: Family, check: Check, value: number): Shares {
  const { means, dead, row, slip } = check.numeric!;
  if (value !== Infinity && value !== -Infinity) {
    throw new UnknownReading(`${check.id} is weighed by its answers`);
  }
  const even = 1 / check.outcomes.length;
  const shares = new Float64Array(means.length + 1).fill(even);
  means.forEach((mean, r) => {
    if (!dead[r]) shares[r] = Number.isFinite(mean) ? slip : 1 - slip;
  });
  return { row: rowsWithOutside(family, row, means.length), shares };
}

export function knownCheck(family: Family, checkId: string): Check {
  const check = family.checks.get(checkId);
  if (check === undefined) throw new UnknownReading(`unknown check ${checkId}`);
  return check;
}

/** Position of the outcome a reading stands for: its answer, or the bin its value falls in. */
export function outcomePosition(check: Check, reading: Reading): number {
  const { outcomeId, valueSi } = reading;
  if (outcomeId !== null && valueSi === null) {
    const found = check.outcomes.findIndex((outcome) => outcome.id === outcomeId);
    if (found < 0) throw new UnknownReading(`${check.id} has no answer ${outcomeId}`);
    return found;
  }
  if (valueSi === null || Number.isNaN(valueSi)) {
    throw new UnknownReading(`${check.id} has neither an answer nor a number`);
  }
  const gaps = check.outcomes.map((outcome) => gap(outcome, valueSi));
  const least = Math.min(...gaps);
  if (least === Infinity) throw new UnknownReading(`the answers of ${check.id} are words`);
  return gaps.indexOf(least);
}

const MOST = 1e300;

/** How far a value lies outside a bin: 0 inside, a hair above 0 on the open upper end. */
function gap({ low, high }: Outcome, value: number): number {
  if (low === null && high === null) return Infinity;
  const at = Math.min(Math.max(value, -MOST), MOST);
  const below = low === null ? 0 : low - at;
  const above = high === null ? -Infinity : at - Math.min(high, 2 * MOST);
  return Math.max(below, above, above === 0 ? 1 / MOST : 0);
}
