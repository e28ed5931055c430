/** Readings that do not fit together: which, and the cheapest one to repeat (see conflict.py). */

import type { Belief, Reading } from "./belief.ts";
import { byCode, logLikelihood, outcomePosition } from "./belief.ts";
import { likelihoodTable } from "./family.ts";

export interface Suspect {
  readonly position: number;
  readonly reading: Reading;
  readonly relief: number;
  readonly surprise: number;
  readonly against: readonly number[];
  readonly repeatCost: number;
}

export interface Conflict {
  readonly misfit: number;
  readonly expected: number;
  readonly suspects: readonly Suspect[];
  readonly repeat: Suspect | null;
}

/** The conflict among the readings of the present stage, or null if they fit together. */
export function findConflict(belief: Belief): Conflict | null {
  const { readings, family } = belief;
  if (readings.length < 2 || family.other.every((outside) => outside === 1)) return null;
  const { THRESHOLD_NATS, THRESHOLD_SPREADS, SUSPECT_NATS } = family.constants;
  const misfit = readings.map((reading) => misfitOf(belief, reading));
  const sum = new Float64Array(family.size);
  for (const row of misfit) for (let w = 0; w < sum.length; w++) sum[w]! += row[w]!;
  const best = leastAt(sum);
  const total = sum[best]!;
  const moments = readings.map((reading) => momentsOf(belief, reading, best));
  const mean = moments.reduce((all, moment) => all + moment.mean, 0);
  const spread = Math.sqrt(moments.reduce((all, moment) => all + moment.variance, 0));
  if (total - mean <= Math.max(THRESHOLD_NATS, THRESHOLD_SPREADS * spread)) return null;
  const suspects = misfit
    .map((row, i) => ({ i, relief: total - leastWithout(sum, row) }))
    .filter(({ relief }) => relief > SUSPECT_NATS)
    .map(({ i, relief }) => suspect(belief, misfit, i, relief))
    .sort(
      (a, b) =>
        b.relief - a.relief ||
        byCode(a.reading.checkId, b.reading.checkId) ||
        a.position - b.position,
    );
  return { misfit: total, expected: mean, suspects, repeat: cheapest(suspects) };
}

/** How much less likely the reading is in each world than in the best; infinite outside. */
function misfitOf(belief: Belief, reading: Reading): Float64Array {
  const { family } = belief;
  const { row, logs } = logLikelihood(family, reading);
  const seen = new Uint8Array(logs.length);
  for (const r of row) seen[r] = 1;
  let top = -Infinity;
  logs.forEach((value, r) => {
    if (seen[r] && value > top) top = value;
  });
  return Float64Array.from(row, (r, w) => (family.other[w] ? Infinity : top - logs[r]!));
}

function leastAt(values: Float64Array): number {
  let best = 0;
  for (let w = 1; w < values.length; w++) if (values[w]! < values[best]!) best = w;
  return best;
}

function leastWithout(sum: Float64Array, row: Float64Array): number {
  let least = Infinity;
  for (let w = 0; w < sum.length; w++) {
    const rest = sum[w]! - row[w]!;
    if (rest < least) least = rest;
  }
  return least;
}

/** Mean and variance of the misfit of a reading if that world were true. */
function momentsOf(
  belief: Belief,
  reading: Reading,
  world: number,
): { mean: number; variance: number } {
  const { family } = belief;
  const { columns, rows, row } = likelihoodTable(family, family.checks.get(reading.checkId)!);
  const top = new Float64Array(columns);
  const seen = new Set(row);
  for (const r of seen) {
    for (let c = 0; c < columns; c++) top[c] = Math.max(top[c]!, rows[r * columns + c]!);
  }
  let mean = 0;
  const at = row[world]! * columns;
  const each = top.map((most, c) => Math.log(most / rows[at + c]!));
  for (let c = 0; c < columns; c++) mean += rows[at + c]! * each[c]!;
  let variance = 0;
  for (let c = 0; c < columns; c++) variance += rows[at + c]! * (each[c]! - mean) ** 2;
  return { mean, variance };
}

function suspect(
  belief: Belief,
  misfit: readonly Float64Array[],
  position: number,
  relief: number,
): Suspect {
  const { family } = belief;
  const reading = belief.readings[position]!;
  const check = family.checks.get(reading.checkId)!;
  const mine = misfit[position]!;
  const against: number[] = [];
  misfit.forEach((row, j) => {
    if (j !== position && leastTogether(mine, row) > family.constants.SUSPECT_NATS) against.push(j);
  });
  return {
    position,
    reading,
    relief,
    surprise: surprise(belief, position),
    against,
    repeatCost: check.minutes * family.dollarsPerMinute + check.hazardCost,
  };
}

function leastTogether(one: Float64Array, two: Float64Array): number {
  let least = Infinity;
  for (let w = 0; w < one.length; w++) {
    const both = one[w]! + two[w]!;
    if (both < least) least = both;
  }
  return least;
}

/** How much less likely a reading is, given the others, than the likeliest answer (nats). */
export function surprise(belief: Belief, position: number): number {
  const reading = belief.readings[position]!;
  const check = belief.family.checks.get(reading.checkId)!;
  const expected = belief.without(position).predict(check);
  return Math.log(Math.max(...expected) / expected[outcomePosition(check, reading)]!);
}

function cheapest(suspects: readonly Suspect[]): Suspect | null {
  const most = suspects[0]?.relief ?? 0;
  const close = suspects.filter((one) => one.relief >= 0.5 * most);
  close.sort(
    (a, b) => a.repeatCost - b.repeatCost || byCode(a.reading.checkId, b.reading.checkId),
  );
  return close[0] ?? null;
}
