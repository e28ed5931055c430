/** Readings that do not fit together: which, and the cheapest one to repeat (see conflict.py). */

import type { Belief, Reading } from "./belief.ts";
import { byCode, knownCheck, outcomePosition } from "./belief.ts";
import { logLikelihood } from "./reading.ts";

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
  const misfits = new Misfits(belief);
  const everything = readings.map((_, i) => i);
  const { at: best, least: total } = leastOf(misfits.summed(everything));
  const { mean, variance } = misfits.expected(best);
  const most = Math.max(THRESHOLD_NATS, THRESHOLD_SPREADS * Math.sqrt(variance));
  if (total - mean <= most) return null;
  const suspects = everything
    .map((i) => ({ i, rest: misfits.summed(everything.filter((j) => j !== i)) }))
    .map(({ i, rest }) => ({ i, relief: total - leastOf(rest).least }))
    .filter(({ relief }) => relief > SUSPECT_NATS)
    .map(({ i, relief }) => suspect(belief, misfits, i, relief))
    .sort(
      (a, b) =>
        b.relief - a.relief ||
        byCode(a.reading.checkId, b.reading.checkId) ||
        a.position - b.position,
    );
  return { misfit: total, expected: mean, suspects, repeat: cheapest(suspects) };
}

interface Spread {
  readonly mean: number;
  readonly variance: number;
}

/** How much less likely each reading is in each world than in the best; infinite outside. */
class Misfits {
  private readonly rows: readonly Float64Array[];

  constructor(private readonly belief: Belief) {
    this.rows = belief.readings.map((reading) => misfitOf(belief, reading));
  }

  /** The misfit of some readings together, at every moment in the better state. */
  summed(positions: readonly number[]): Float64Array {
    const { twin, size } = this.belief.family;
    const total = new Float64Array(size);
    for (const part of this.byMoment(positions)) {
      const here = new Float64Array(size);
      for (const i of part) for (let w = 0; w < size; w++) here[w]! += this.rows[i]![w]!;
      for (let w = 0; w < size; w++) total[w]! += Math.min(here[w]!, here[twin[w]!]!);
    }
    return total;
  }

  /** Mean and variance of the misfit of all readings if that world were true. */
  expected(best: number): Spread {
    const { twin } = this.belief.family;
    let mean = 0;
    let variance = 0;
    for (const part of this.byMoment(this.rows.map((_, i) => i))) {
      const here = (w: number): number => part.reduce((sum, i) => sum + this.rows[i]![w]!, 0);
      const other = twin[best]!;
      const world = here(other) < here(best) ? other : best;
      for (const i of part) {
        const one = spreadOf(this.belief, this.belief.readings[i]!, this.rows[i]![world]!, world);
        mean += one.mean;
        variance += one.variance;
      }
    }
    return { mean, variance };
  }

  private byMoment(positions: readonly number[]): readonly (readonly number[])[] {
    const { readings } = this.belief;
    const told = positions.filter((i) => readings[i]!.reporter === "caller");
    const read = positions.filter((i) => readings[i]!.reporter !== "caller");
    return [told, read].filter((part) => part.length > 0);
  }
}

function misfitOf(belief: Belief, reading: Reading): Float64Array {
  const { family } = belief;
  const { row, logs } = logLikelihood(family, reading);
  const each = Float64Array.from(row, (r) => logs[r]!);
  const top = each.reduce((most, log) => Math.max(most, log), -Infinity);
  return each.map((log, w) => (family.other[w] ? Infinity : top - log));
}

function leastOf(values: Float64Array): { at: number; least: number } {
  let at = 0;
  for (let w = 1; w < values.length; w++) if (values[w]! < values[at]!) at = w;
  return { at, least: values[at]! };
}

/** Mean and variance of the misfit of a reading if that world were true. */
function spreadOf(belief: Belief, reading: Reading, found: number, world: number): Spread {
  const check = knownCheck(belief.family, reading.checkId);
  if (reading.valueSi !== null && check.numeric !== null) {
    const dead = check.numeric.dead[check.numeric.row[world]!];
    // half a chi-square of one degree of freedom
    return dead ? { mean: found, variance: 0 } : { mean: 0.5, variance: 0.5 };
  }
  const { columns, rows, row } = belief.table(check);
  const top = new Float64Array(columns);
  for (const r of new Set(row)) {
    for (let c = 0; c < columns; c++) top[c] = Math.max(top[c]!, rows[r * columns + c]!);
  }
  const chance = rows.subarray(row[world]! * columns, (row[world]! + 1) * columns);
  const each = top.map((most, c) => Math.log(most / chance[c]!));
  const mean = chance.reduce((sum, p, c) => sum + p * each[c]!, 0);
  const variance = chance.reduce((sum, p, c) => sum + p * (each[c]! - mean) ** 2, 0);
  return { mean, variance };
}

function suspect(belief: Belief, misfits: Misfits, position: number, relief: number): Suspect {
  const { family, readings } = belief;
  const reading = readings[position]!;
  const check = knownCheck(family, reading.checkId);
  const { SUSPECT_NATS } = family.constants;
  const against = readings
    .map((_, j) => j)
    .filter((j) => j !== position)
    .filter((j) => leastOf(misfits.summed([position, j])).least > SUSPECT_NATS);
  const repeatCost = check.minutes * family.dollarsPerMinute + check.hazardCost;
  return { position, reading, relief, surprise: surprise(belief, position), against, repeatCost };
}

/** How much less likely a reading is, given the others, than the likeliest answer (nats). */
export function surprise(belief: Belief, position: number): number {
  const reading = belief.readings[position]!;
  const check = knownCheck(belief.family, reading.checkId);
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
