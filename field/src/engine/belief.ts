/** The probability of every world given the readings and repairs so far (see belief.py). */

import type { Check, Family } from "./family.ts";
import { likelihoodTable, targets } from "./family.ts";

const TINY = 2.2250738585072014e-308;

export type Reporter = "caller" | "technician";

/** What was observed: an answer of a check, by whom. */
export interface Reading {
  readonly checkId: string;
  readonly outcomeId: string;
  readonly reporter: Reporter;
}

/** A reading that no check of the family can take. */
export class UnknownReading extends Error {}

/** The belief after some readings; observing returns a new one. */
export class Belief {
  private weights: Float64Array | null = null;
  private shares: Float64Array | null = null;

  constructor(
    readonly family: Family,
    /** Log weights when this stage began. */
    readonly start: Float64Array,
    readonly readings: readonly Reading[] = [],
    readonly earlier: readonly Reading[] = [],
    readonly unmapped = 0,
    readonly verdict: boolean | null = null,
  ) {}

  static prior(family: Family): Belief {
    const sum = logSum(family.logPrior);
    return new Belief(family, family.logPrior.map((value) => value - sum));
  }

  observe(reading: Reading): Belief {
    logLikelihood(this.family, reading);
    return new Belief(
      this.family,
      this.start,
      [...this.readings, reading],
      this.earlier,
      this.unmapped,
      this.verdict,
    );
  }

  without(position: number): Belief {
    const rest = this.readings.filter((_, i) => i !== position);
    return new Belief(this.family, this.start, rest, this.earlier, this.unmapped, this.verdict);
  }

  /** Begins a new stage with these probabilities; the readings so far are contained in them. */
  startedWith(chance: Float64Array): Belief {
    const start = chance.map((share) => Math.log(Math.max(share, TINY)));
    const past = [...this.earlier, ...this.readings];
    return new Belief(this.family, start, [], past, this.unmapped, this.verdict);
  }

  get logWeights(): Float64Array {
    if (this.weights === null) {
      const sum = Float64Array.from(this.start);
      for (const repeats of byCheck(this.readings)) addJoint(this.family, repeats, sum);
      const total = logSum(sum);
      this.weights = sum.map((value) => value - total);
    }
    return this.weights;
  }

  /** The probability of every world; sums to 1. Not to be changed. */
  probabilities(): Float64Array {
    if (this.shares === null) {
      const shares = this.logWeights.map(Math.exp);
      const sum = shares.reduce((total, share) => total + share, 0);
      this.shares = shares.map((share) => share / sum);
    }
    return this.shares;
  }

  /** How likely each answer of the check is now. */
  predict(check: Check): Float64Array {
    const table = likelihoodTable(this.family, check);
    const mass = massByRow(table.row, table.count, this.probabilities());
    const found = new Float64Array(table.columns);
    for (let r = 0; r < table.count; r++) {
      for (let c = 0; c < table.columns; c++) {
        found[c]! += mass[r]! * table.rows[r * table.columns + c]!;
      }
    }
    const sum = found.reduce((total, share) => total + share, 0);
    return found.map((share) => share / sum);
  }

  /** The belief about the state after a repair; what came of it is not weighed yet. */
  repairTried(repairId: string): Belief {
    const family = this.family;
    const repair = family.repairs.get(repairId);
    if (repair === undefined) throw new UnknownReading(`unknown repair ${repairId}`);
    const { moved, lost } = pushed(
      family,
      this.probabilities(),
      targets(family, repair.fixes),
      repair.success,
    );
    const start = moved.map((share) => Math.log(Math.max(share, TINY)));
    const sum = logSum(start);
    const past = [...this.earlier, ...this.readings];
    return new Belief(
      family,
      start.map((value) => value - sum),
      [],
      past,
      this.unmapped + lost,
    );
  }

  /** The belief after the whole system was run and judged. */
  systemTried(worked: boolean): Belief {
    const { PROOF_ERROR } = this.family.constants;
    const right = Math.log(1 - PROOF_ERROR);
    const wrong = Math.log(PROOF_ERROR);
    const { works } = this.family;
    const start = this.start.map((value, w) => value + ((works[w] === 1) === worked ? right : wrong));
    return new Belief(
      this.family,
      start,
      this.readings,
      this.earlier,
      this.unmapped,
      worked,
    );
  }
}

/** Log of the sum of the exponentials, without overflow. */
export function logSum(values: Float64Array): number {
  let top = -Infinity;
  for (const value of values) if (value > top) top = value;
  let sum = 0;
  for (const value of values) sum += Math.exp(value - top);
  return top + Math.log(sum);
}

/** Sum of the chances of the worlds that share a row. */
export function massByRow(
  row: Uint16Array,
  count: number,
  chance: ArrayLike<number>,
): Float64Array {
  const mass = new Float64Array(count);
  for (let w = 0; w < row.length; w++) mass[row[w]!]! += chance[w]!;
  return mass;
}

/** Log-likelihood of a reading for every distinct row of its check. */
export function logLikelihood(
  family: Family,
  reading: Reading,
): { row: Uint16Array; logs: Float64Array } {
  const check = knownCheck(family, reading.checkId);
  const column = outcomePosition(check, reading);
  const table = likelihoodTable(family, check);
  const { CALLER_SLIP, FLOOR } = family.constants;
  const slips = reading.reporter === "caller" && !check.phone;
  const logs = new Float64Array(table.count);
  for (let r = 0; r < table.count; r++) {
    let likelihood = table.rows[r * table.columns + column]!;
    if (slips) likelihood = (1 - CALLER_SLIP) * likelihood + CALLER_SLIP / table.columns;
    logs[r] = Math.log(Math.max(likelihood, FLOOR));
  }
  return { row: table.row, logs };
}

export function knownCheck(family: Family, checkId: string): Check {
  const check = family.checks.get(checkId);
  if (check === undefined) throw new UnknownReading(`unknown check ${checkId}`);
  return check;
}

/** Position of the answer a reading stands for. */
export function outcomePosition(check: Check, reading: Reading): number {
  const found = check.outcomes.findIndex((outcome) => outcome.id === reading.outcomeId);
  if (found < 0) throw new UnknownReading(`${check.id} has no answer ${reading.outcomeId}`);
  return found;
}

function byCheck(readings: readonly Reading[]): Reading[][] {
  const groups = new Map<string, Reading[]>();
  for (const reading of readings) {
    const group = groups.get(reading.checkId);
    if (group === undefined) groups.set(reading.checkId, [reading]);
    else group.push(reading);
  }
  return [...groups.keys()].sort(byCode).map((id) => groups.get(id) ?? []);
}

/** Orders texts by their code points, as Python does for the ids used here. */
export function byCode(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Adds the mean log-likelihood of repeats of one check: they are no independent witnesses. */
function addJoint(family: Family, repeats: readonly Reading[], sum: Float64Array): void {
  const each = repeats.map((reading) => logLikelihood(family, reading));
  const first = each[0];
  if (first === undefined) return;
  const mean = first.logs.map(
    (_, r) => each.reduce((total, one) => total + one.logs[r]!, 0) / each.length,
  );
  for (let w = 0; w < sum.length; w++) sum[w]! += mean[first.row[w]!]!;
}

/** Pushes the weights through a repair; the share without a target goes to OTHER. */
function pushed(
  family: Family,
  weights: Float64Array,
  target: Int32Array,
  success: number,
): { moved: Float64Array; lost: number } {
  const outside = family.other.indexOf(1);
  const moved = new Float64Array(weights.length);
  let lost = 0;
  for (let w = 0; w < weights.length; w++) {
    const share = weights[w]!;
    let to = target[w]!;
    if (to < 0) {
      lost += share;
      to = outside >= 0 ? outside : w;
    }
    moved[to]! += success * share;
    moved[w]! += (1 - success) * share;
  }
  return { moved, lost: lost * success };
}
