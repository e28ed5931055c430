/** How well readings of a circuit fit each world, and what the next would be (panel_likelihood.py). */

import { invert, square } from "./covariance.ts";
import { erfRounded } from "./erf.ts";
import type { Outcome } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";
import { likelihoodsOf } from "./likelihood.ts";
import type { Panel, PanelLook, Weather } from "./panel.ts";
import { isWeather, quantityOf, told } from "./panel.ts";
import { PanelLooks } from "./panel_looks.ts";
import type { Line, Sloped } from "./saturation_chart.ts";

/** One value read: the look, value and spread (SI), how many answers, its chance of a slip. */
export interface Taken {
  readonly look: PanelLook;
  readonly value: number;
  readonly sd: number;
  readonly answers: number;
  readonly slip: number;
}

/** Mean and spread of a reading in every state. */
interface Normal {
  readonly mean: Float64Array;
  readonly spread: Float64Array;
}

/** A reading farther off than so many spreads counts as if it were so far (see panel_likelihood.py). */
const FARTHEST = 50;

/** Readings against states: misses, precisions and log densities, state after state. */
interface Gauss {
  readonly miss: Float64Array;
  readonly precision: Float64Array;
  readonly logDensity: Float64Array;
}

/** A panel after some readings, for the weather that is then known. */
export class PanelView {
  private readonly known = new Map<string, unknown>();
  private readonly tables = new Map<Likelihoods, Likelihoods>();
  private readonly looks: PanelLooks;

  constructor(
    readonly panel: Panel,
    readonly taken: readonly Taken[],
    readonly weather: Weather,
    private readonly floor: number,
  ) {
    this.looks = new PanelLooks(panel, weather);
  }

  /** The panel after readings of weather and circuit, in any order. */
  static after(panel: Panel, taken: readonly Taken[], floor: number): PanelView {
    let weather = panel.usual;
    const rest: Taken[] = [];
    for (const one of independent(panel, taken)) {
      const kind = quantityOf(panel, one.look.of);
      if (isWeather(kind)) {
        const column = kind.air.findIndex((weight) => weight !== 0);
        weather = told(weather, column, one.value, one.sd);
      } else {
        rest.push(one);
      }
    }
    return new PanelView(panel, rest, weather, floor);
  }

  /** The panel in the weather as known, without the readings of the circuit. */
  get today(): PanelView {
    return new PanelView(this.panel, [], this.weather, this.floor);
  }

  /** Whether anything was read, of the circuit or of the weather. */
  get isRead(): boolean {
    return this.taken.length > 0 || this.weather !== this.panel.usual;
  }

  /** Log-likelihood of all readings by group, the world outside the library last. */
  get logLikelihood(): Float64Array {
    return this.once("log", () => {
      const outside = -this.taken.reduce((sum, one) => sum + Math.log(one.answers), 0);
      const { nodeWeight, nodeState, groupStart } = this.panel;
      const found = new Float64Array(groupStart.length + 1);
      if (this.taken.length === 0) return found;
      const fit = this.stateLikelihood;
      this.eachNode((node, group) => {
        found[group]! += nodeWeight[node]! * fit[nodeState[node]!]!;
      });
      for (let g = 0; g < groupStart.length; g++) {
        found[g] = Math.log(Math.max(found[g]!, 1e-300)) + outside;
      }
      found[groupStart.length] = outside;
      return found;
    });
  }

  /**
   * P(answer | world) of a look given the readings taken. Outside the library it is as `unread` says:
   * those worlds have their rows there.
   */
  table(look: PanelLook, outcomes: readonly Outcome[], unread: Likelihoods): Likelihoods {
    let found = this.tables.get(unread);
    if (found === undefined) {
      found = this.tableAnew(look, outcomes, unread);
      this.tables.set(unread, found);
    }
    return found;
  }

  private tableAnew(
    look: PanelLook,
    outcomes: readonly Outcome[],
    unread: Likelihoods,
  ): Likelihoods {
    const { panel } = this;
    const width = outcomes.length;
    const byState = this.answersByState(look, outcomes);
    const share = this.nodeShare;
    const groups = panel.groupStart.length;
    const { row, beyond } = rowsOf(panel);
    const rows = new Float64Array((groups + beyond.length) * width);
    beyond.forEach((world, k) => {
      const at = unread.row[world]! * width;
      rows.set(unread.rows.subarray(at, at + width), (groups + k) * width);
    });
    this.eachNode((node, group) => {
      const from = panel.nodeState[node]! * width;
      const weight = share[node]!;
      for (let c = 0; c < width; c++) rows[group * width + c]! += weight * byState[from + c]!;
    });
    for (let g = 0; g < groups; g++) this.mistaken(rows, g * width, width, look);
    return likelihoodsOf(width, rows, row, groups);
  }

  /** Mean and spread of a look in a world (SI), the instrument's included; null outside. */
  expected(look: PanelLook, world: number): { mean: number; spread: number } | null {
    const { panel } = this;
    const group = panel.groupOf[world]!;
    if (group >= panel.groupStart.length) return null;
    const { mean, spread } = this.asShown(look);
    let centre = 0;
    const share = this.nodeShare;
    this.eachNode((node, g) => {
      if (g === group) centre += share[node]! * mean[panel.nodeState[node]!]!;
    });
    let square = 0;
    this.eachNode((node, g) => {
      const s = panel.nodeState[node]!;
      if (g === group) square += share[node]! * (spread[s]! ** 2 + (mean[s]! - centre) ** 2);
    });
    return { mean: centre, spread: Math.sqrt(square + look.instrument_sd ** 2) };
  }

  private once<T>(name: string, make: () => T): T {
    if (!this.known.has(name)) this.known.set(name, make());
    return this.known.get(name) as T;
  }

  private eachNode(visit: (node: number, group: number) => void): void {
    const { groupStart, nodeState } = this.panel;
    for (let g = 0; g < groupStart.length; g++) {
      const end = groupStart[g + 1] ?? nodeState.length;
      for (let node = groupStart[g]!; node < end; node++) visit(node, g);
    }
  }

  /** Weight of each node within its group, given the readings taken. */
  private get nodeShare(): Float64Array {
    return this.once("share", () => {
      const { nodeWeight, nodeState, groupStart } = this.panel;
      const fit = this.taken.length > 0 ? this.stateLikelihood : null;
      const weight = nodeWeight.map((own, i) => (fit === null ? own : own * fit[nodeState[i]!]!));
      const total = new Float64Array(groupStart.length);
      this.eachNode((node, group) => (total[group]! += weight[node]!));
      this.eachNode((node, group) => (weight[node]! /= Math.max(total[group]!, 1e-300)));
      return weight;
    });
  }

  /** Density of the readings in each state over that of values anywhere in their spans. */
  private get stateLikelihood(): Float64Array {
    return this.once("fit", () => {
      const { panel, taken } = this;
      const m = taken.length;
      const spans = taken.map((one) => Math.log(quantityOf(panel, one.look.of).span));
      const odds = taken.map(({ slip }) => slip / (1 - slip));
      const sound = taken.reduce((product, { slip }) => product * (1 - slip), 1);
      const all = spans.reduce((sum, span) => sum + span, 0);
      const sum = taken.reduce((total, { slip }) => total + slip, 0);
      const squares = taken.reduce((total, { slip }) => total + slip ** 2, 0);
      const two = Math.max((sum ** 2 - squares) / 2, this.floor);
      const { miss, precision, logDensity } = this.gauss;
      return logDensity.map((log, s) => {
        let slipped = 0;
        for (let i = 0; i < m; i++) {
          let own = 0;
          for (let j = 0; j < m; j++) own += precision[(s * m + i) * m + j]! * miss[s * m + j]!;
          const narrow = precision[(s * m + i) * m + i]!;
          const ownLog = 0.5 * Math.log(narrow / (2 * Math.PI)) - (0.5 * own ** 2) / narrow;
          slipped += Math.exp(log - ownLog + all - spans[i]!) * odds[i]!;
        }
        return sound * (Math.exp(log + all) + slipped) + two;
      });
    });
  }

  private get gauss(): Gauss {
    return this.once("gauss", () => {
      const { panel, taken } = this;
      const m = taken.length;
      const cover = this.looks.covariance(taken.map(({ look }) => look));
      const miss = new Float64Array(panel.states * m);
      const logDensity = new Float64Array(panel.states);
      taken.forEach((one, i) => {
        const shown = this.looks.mean(one.look);
        const line = quantityOf(panel, one.look.of).chart;
        const charts = this.onCharts(line, one.value);
        const usual = charts[0]!.slope;
        for (let s = 0; s < panel.states; s++) {
          const { at, slope } = charts[panel.chart[s]!]!;
          miss[s * m + i] = at - shown[s]!;
          cover[(s * m + i) * m + i]! += (one.sd * slope) ** 2;
          const farthest = FARTHEST * Math.sqrt(cover[(s * m + i) * m + i]!);
          miss[s * m + i] = Math.min(Math.max(miss[s * m + i]!, -farthest), farthest);
          logDensity[s]! += Math.log(slope / usual);
        }
      });
      const size = m * Math.log(2 * Math.PI);
      for (let s = 0; s < panel.states; s++) {
        const own = cover.subarray(s * m * m, (s + 1) * m * m);
        const logs = invert(own, m);
        const apart = square(own, miss.subarray(s * m, (s + 1) * m));
        logDensity[s]! -= 0.5 * (apart + logs + size);
      }
      return { miss, precision: cover, logDensity };
    });
  }

  /** A value as the panel keeps it, by each of its charts. */
  private onCharts(line: "" | Line, value: number): readonly Sloped[] {
    return this.panel.charts.map((chart) =>
      line === "" ? { at: value, slope: 1 } : chart.temperature(value, line),
    );
  }

  /** Mean and spread of a further reading in each state, given those taken. */
  private next(look: PanelLook): Normal {
    const mean = this.looks.mean(look);
    const known = this.looks.between(look, look);
    const m = this.taken.length;
    if (m === 0) return { mean, spread: known.map(Math.sqrt) };
    const along = this.taken.map((one) => this.looks.between(one.look, look));
    const { miss, precision } = this.gauss;
    for (let s = 0; s < mean.length; s++) {
      for (let i = 0; i < m; i++) {
        let gain = 0;
        for (let j = 0; j < m; j++) gain += precision[(s * m + i) * m + j]! * along[j]![s]!;
        known[s]! -= gain * along[i]![s]!;
        mean[s]! += gain * miss[s * m + i]!;
      }
    }
    return { mean, spread: known.map((value) => Math.sqrt(Math.max(value, 1e-12))) };
  }

  /** The same as the instrument shows it: a pressure is no temperature. */
  private asShown(look: PanelLook): Normal {
    const { mean, spread } = this.next(look);
    const line = quantityOf(this.panel, look.of).chart;
    if (line === "") return { mean, spread };
    const { charts, chart } = this.panel;
    for (let s = 0; s < mean.length; s++) {
      const { at, slope } = charts[chart[s]!]!.gaugePa(mean[s]!, line);
      mean[s] = at;
      spread[s]! *= slope;
    }
    return { mean, spread };
  }

  /** How likely each answer of a look is in each state. */
  private answersByState(look: PanelLook, outcomes: readonly Outcome[]): Float64Array {
    const normal = this.next(look);
    const width = outcomes.length;
    const states = normal.mean.length;
    const found = new Float64Array(states * width);
    const known = new Map<number, Float64Array>();
    const below = (limit: number): Float64Array => {
      let share = known.get(limit);
      if (share === undefined) known.set(limit, (share = this.below(look, limit, normal)));
      return share;
    };
    outcomes.forEach(({ low, high }, c) => {
      const under = high === null ? null : below(high);
      const least = low === null ? null : below(low);
      for (let s = 0; s < states; s++) {
        const share = (under === null ? 1 : under[s]!) - (least === null ? 0 : least[s]!);
        found[s * width + c] = Math.max(share, 0);
      }
    });
    return found;
  }

  /** Chance that a reading falls below a limit, in each state. */
  private below(look: PanelLook, limit: number, { mean, spread }: Normal): Float64Array {
    const charts = this.onCharts(quantityOf(this.panel, look.of).chart, limit);
    const { chart } = this.panel;
    const found = new Float64Array(mean.length);
    for (let s = 0; s < found.length; s++) {
      const { at, slope } = charts[chart[s]!]!;
      const total = Math.sqrt(spread[s]! ** 2 + (look.instrument_sd * slope) ** 2);
      found[s] = 0.5 * (1 + erfRounded((at - mean[s]!) / (total * Math.SQRT2)));
    }
    return found;
  }

  /** Mixes in wrong answers, floors every entry of a row and makes it sum to 1. */
  private mistaken(
    rows: Float64Array,
    start: number,
    width: number,
    { reliability }: PanelLook,
  ): void {
    const end = start + width;
    let sum = 0;
    for (let i = start; i < end; i++) {
      const mixed = reliability * rows[i]! + (1 - reliability) / width;
      rows[i] = Math.max(mixed, this.floor);
      sum += rows[i]!;
    }
    for (let i = start; i < end; i++) rows[i]! /= sum;
  }
}

/** The row of every world in the tables of a panel, and the worlds it does not reach. */
interface PanelRows {
  readonly row: Uint16Array;
  readonly beyond: readonly number[];
}

const rowsKnown = new WeakMap<Panel, PanelRows>();

/** The rows of the worlds: that of their group, or one of their own; the same for every look. */
function rowsOf(panel: Panel): PanelRows {
  let found = rowsKnown.get(panel);
  if (found === undefined) {
    const groups = panel.groupStart.length;
    const row = Uint16Array.from(panel.groupOf);
    const beyond: number[] = [];
    panel.groupOf.forEach((group, world) => {
      if (group >= groups) row[world] = groups + beyond.push(world) - 1;
    });
    rowsKnown.set(panel, (found = { row, beyond }));
  }
  return found;
}

/** Leaves out what was worked out from two other readings that are there themselves. */
function independent(panel: Panel, taken: readonly Taken[]): Taken[] {
  const read = new Set(taken.map(({ look }) => look.of));
  return taken.filter(({ look }) => {
    const { parts } = quantityOf(panel, look.of);
    return parts.length === 0 || parts.some((part) => !read.has(part));
  });
}
