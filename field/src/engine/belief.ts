/** The probability of every world given the readings and repairs so far (see belief.py). */

import type { Check, Family } from "./family.ts";
import { logOfBoth, targets } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";
import { likelihoodTable } from "./likelihood.ts";
import { asBefore, excessForOutside } from "./outside.ts";
import { isOfPanel, panelViews } from "./panel_reading.ts";
import type { PanelView } from "./panel_view.ts";
import type { Reading, Reporter } from "./reading.ts";
import { UnknownReading, knownCheck, logLikelihood, outcomePosition } from "./reading.ts";

export { UnknownReading, answered, knownCheck, measured, outcomePosition } from "./reading.ts";
export type { Reading, Reporter } from "./reading.ts";

const TINY = 2.2250738585072014e-308;

/** What may differ from one belief to the next. */
interface Parts {
  readonly start: Float64Array;
  readonly readings: readonly Reading[];
  readonly earlier: readonly Reading[];
  readonly unmapped: number;
  readonly verdict: boolean | null;
}

/** The belief after some readings; observing returns a new one. */
export class Belief {
  private weights: Float64Array | null = null;
  private shares: Float64Array | null = null;
  private seen: ReadonlyMap<string, PanelView> | null = null;
  private readonly excess = new Map<Reporter, number>();

  constructor(
    readonly family: Family,
    /** Log weights when this stage began. */
    readonly start: Float64Array,
    readonly readings: readonly Reading[] = [],
    /** Readings of former stages, contained in `start`. */
    readonly earlier: readonly Reading[] = [],
    /** Share that a repair sent to a world the family does not hold. */
    readonly unmapped = 0,
    /** Whether the system worked when it was last run and judged; null if it was not. */
    readonly verdict: boolean | null = null,
  ) {}

  static prior(family: Family): Belief {
    const sum = logSum(family.logPrior);
    return new Belief(family, family.logPrior.map((value) => value - sum));
  }

  /** The belief with one more reading; throws UnknownReading for one that cannot be weighed. */
  observe(reading: Reading): Belief {
    return this.observeAll([reading]);
  }

  /** The belief with several more readings; their order does not matter. */
  observeAll(added: readonly Reading[]): Belief {
    for (const reading of added) logLikelihood(this.family, reading);
    return this.with({ readings: [...this.readings, ...added] });
  }

  /** The belief as if the reading at that position of this stage had not been made. */
  without(position: number): Belief {
    return this.with({ readings: this.readings.filter((_, i) => i !== position) });
  }

  /** Begins a new stage with these probabilities; the readings so far are contained in them. */
  startedWith(chance: Float64Array): Belief {
    const start = chance.map((share) => Math.log(Math.max(share, TINY)));
    return this.with({ start, readings: [], earlier: [...this.earlier, ...this.readings] });
  }

  /** The same belief with another verdict. */
  judged(verdict: boolean | null): Belief {
    return this.with({ verdict });
  }

  private with(parts: Partial<Parts>): Belief {
    const { family, start, readings, earlier, unmapped, verdict } = { ...this.parts, ...parts };
    return new Belief(family, start, readings, earlier, unmapped, verdict);
  }

  private get parts(): Parts & { readonly family: Family } {
    const { family, start, readings, earlier, unmapped, verdict } = this;
    return { family, start, readings, earlier, unmapped, verdict };
  }

  /** The last reading of a check in former stages. */
  readBefore(check: Check): Reading | undefined {
    return this.earlier.findLast(({ checkId }) => checkId === check.id);
  }

  /** How much more a moment says for what is outside the library than it may. */
  excessOf(reporter: Reporter): number {
    this.weights ??= this.weighed();
    return this.excess.get(reporter) ?? 0;
  }

  /** Log of the probability of every world. */
  get logWeights(): Float64Array {
    this.weights ??= this.weighed();
    return this.weights;
  }

  private weighed(): Float64Array {
    const { family } = this;
    const both = family.outsideWorlds.length > 0 && family.outsideWorlds.length < family.size;
    let total = drawnAnew(family, this.start);
    moments(this.readings).forEach((moment, k) => {
      if (k > 0) total = drawnAnew(family, total);
      const before = total.slice();
      this.addAnswers(moment, total);
      for (const view of this.viewsOf(moment)) {
        const { groupOf } = view.panel;
        const logs = view.logLikelihood;
        for (let w = 0; w < total.length; w++) total[w]! += logs[groupOf[w]!]!;
      }
      if (!both) return;
      const beyond = excessForOutside(family, before, total);
      if (beyond > 0) for (const w of family.outsideWorlds) total[w]! -= beyond;
      this.excess.set(moment[0]!.reporter, beyond);
    });
    const sum = logSum(total);
    return total.map((value) => value - sum);
  }

  /** Adds the answers of a moment: of repeats of one check their mean counts once. */
  private addAnswers(moment: readonly Reading[], total: Float64Array): void {
    const { family } = this;
    for (const repeats of byCheck(moment.filter((reading) => !isOfPanel(family, reading)))) {
      const check = knownCheck(family, repeats[0]!.checkId);
      const table = this.table(check);
      const before = this.readBefore(check);
      const { outsideWorlds } = family;
      const held = outsideWorlds.map((w) => total[w]!);
      for (const reading of repeats) {
        const { row, logs } = logLikelihood(family, reading, table);
        for (let w = 0; w < total.length; w++) total[w]! += logs[row[w]!]! / repeats.length;
      }
      if (before === undefined) continue;
      const shown = asBefore(family, check, outcomePosition(check, before)).map(Math.log);
      const again = repeats.reduce((sum, now) => sum + shown[outcomePosition(check, now)]!, 0);
      outsideWorlds.forEach((w, k) => (total[w] = held[k]! + again / repeats.length));
    }
  }

  /** The panels with what was read off them at one moment; the weather is the day's. */
  private viewsOf(moment: readonly Reading[]): readonly PanelView[] {
    const { family } = this;
    if (!moment.some((reading) => isOfPanel(family, reading))) return [];
    const rest = this.readings.filter((reading) => !moment.includes(reading));
    const views = panelViews(family, moment, [...this.earlier, ...rest]);
    return [...views.values()].filter((view) => view.taken.length > 0);
  }

  /** What the running circuit would read now, by demand, given what was read off it. */
  get views(): ReadonlyMap<string, PanelView> {
    this.seen ??= panelViews(this.family, this.readings, this.earlier);
    return this.seen;
  }

  /**
   * P(answer | world) as it stands. Readings off one circuit go together: once some are taken, the
   * next one is half known.
   */
  table(check: Check): Likelihoods {
    const view = check.look === null ? undefined : this.views.get(check.look.demand);
    if (check.look === null || view === undefined || !view.isRead) {
      return likelihoodTable(this.family, check);
    }
    return view.table(check.look, check.outcomes, likelihoodTable(this.family, check));
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
    const table = this.table(check);
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

  /**
   * The belief about the state after a repair; what came of it is not weighed yet. `success` is
   * the chance that it did what it should, by default that of the repair.
   */
  repairTried(repairId: string, success?: number): Belief {
    const { family } = this;
    const repair = family.repairs.get(repairId);
    if (repair === undefined) throw new UnknownReading(`unknown repair ${repairId}`);
    const share = success === undefined ? repair.success : Math.min(Math.max(success, 0), 1);
    const reached = targets(family, repair.fixes);
    const { moved, lost } = pushed(family, this.probabilities(), reached, share);
    const start = moved.map((value) => Math.log(Math.max(value, TINY)));
    const sum = logSum(start);
    return this.with({
      start: start.map((value) => value - sum),
      readings: [],
      earlier: [...this.earlier, ...this.readings],
      unmapped: this.unmapped + lost,
      verdict: null,
    });
  }

  /** The belief after the whole system was run and judged. */
  systemTried(worked: boolean): Belief {
    const logs = verdictLogs(this.family, worked);
    const start = this.start.map((value, w) => value + logs[w]!);
    return this.with({ start, verdict: worked });
  }
}

/** The chance that somebody who ran the system says so, in every world. */
export function verdictChance(family: Family, worked: boolean): Float64Array {
  const { PROOF_ERROR, TAKEN_FOR_WORKING } = family.constants;
  return Float64Array.from(family.works, (works, w) => {
    const well = works ? 1 - PROOF_ERROR : PROOF_ERROR;
    const said = family.struggling[w] ? TAKEN_FOR_WORKING : well;
    return worked ? said : 1 - said;
  });
}

const logsKnown = new WeakMap<Family, Map<boolean, Float64Array>>();

/** Logs of the same, made once. */
function verdictLogs(family: Family, worked: boolean): Float64Array {
  let known = logsKnown.get(family);
  if (known === undefined) logsKnown.set(family, (known = new Map()));
  let found = known.get(worked);
  if (found === undefined) known.set(worked, (found = verdictChance(family, worked).map(Math.log)));
  return found;
}

/** The readings of a stage by moment: what the caller reports, what is read on site. */
export function moments(readings: readonly Reading[]): Reading[][] {
  const parts = (["caller", "technician"] as const).map((who) =>
    readings.filter(({ reporter }) => reporter === who),
  );
  return parts.filter((part) => part.length > 0);
}

/** The log weights when it is open again whether what comes and goes shows. */
export function drawnAnew({ twin, logState }: Family, logs: Float64Array): Float64Array {
  return logs.map((own, w) =>
    twin[w] === w ? own : logOfBoth(own, logs[twin[w]!]!) + logState[w]!,
  );
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
function massByRow(
  row: Uint16Array,
  count: number,
  chance: ArrayLike<number>,
): Float64Array {
  const mass = new Float64Array(count);
  for (let w = 0; w < row.length; w++) mass[row[w]!]! += chance[w]!;
  return mass;
}

/** Readings by check, in a fixed order, so that a sum never depends on theirs. */
function byCheck(readings: readonly Reading[]): Reading[][] {
  const groups = new Map<string, Reading[]>();
  for (const reading of readings) {
    const group = groups.get(reading.checkId);
    if (group === undefined) groups.set(reading.checkId, [reading]);
    else group.push(reading);
  }
  return [...groups.keys()].sort(byCode).map((id) => groups.get(id)!);
}

/** Orders texts by their code points, as Python does for the ids used here. */
export function byCode(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Pushes the weights through a repair; a share without a target goes outside the library. */
function pushed(
  family: Family,
  weights: Float64Array,
  target: Int32Array,
  success: number,
): { moved: Float64Array; lost: number } {
  const moved = new Float64Array(weights.length);
  let lost = 0;
  for (let w = 0; w < weights.length; w++) {
    const share = weights[w]!;
    let to = target[w]!;
    if (to < 0) {
      lost += share;
      to = family.outside[w]! >= 0 ? family.outside[w]! : w;
    }
    moved[to]! += success * share;
    moved[w]! += (1 - success) * share;
  }
  return { moved, lost: lost * success };
}
