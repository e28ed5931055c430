/**
 * Looking further ahead than one step (see lookahead.py): what the best candidates come to when they
 * are followed by good steps, within a counted budget.
 */

import { compared } from "./expected_cost.ts";
import type { Family } from "./family.ts";
import type { Act, Field, Spot } from "./field.ts";
import type { Situation } from "./situation.ts";
import { placeKey } from "./situation.ts";

/** How far to look ahead; counted, not timed, and the same wherever the call is reckoned. */
export interface Budget {
  readonly worlds: number;
  readonly checks: number;
  readonly candidates: number;
  readonly widths: readonly number[];
  readonly beliefs: number;
  readonly cells: number;
}

/** A belief that is reached, with bounds on what it still costs. */
interface Node {
  /** Weights of the worlds; worked out where the belief is followed. */
  readonly weights: () => Float64Array;
  readonly situation: Situation;
  readonly high: number;
  readonly low: number;
  /** Which candidate it follows; -1 for none yet. */
  readonly branch: number;
  ways: readonly Way[];
}

/** Something to do from a belief, and the beliefs it may lead to. */
interface Way {
  readonly act: Act;
  readonly spent: number;
  readonly oneStep: number;
  readonly nodes: readonly Node[];
}

const valueOf = (node: Node): number => Math.min(node.high, ...node.ways.map(costOf));
const costOf = (way: Way): number => way.nodes.reduce((sum, node) => sum + valueOf(node), way.spent);

/** By how much each candidate is cheaper than its one-step price, in dollars. */
export function savings(
  field: Field,
  situation: Situation,
  candidates: readonly string[],
  budget: Budget,
): Map<string, number> {
  const root = nodeOf(() => field.start, situation, Infinity, 0, -1);
  const search = new Search(field, budget);
  search.run(root, field.spot(situation, new Set(candidates)));
  return new Map(root.ways.map((way) => [way.act.target, Math.max(way.oneStep - costOf(way), 0)]));
}

function nodeOf(
  weights: () => Float64Array,
  situation: Situation,
  high: number,
  low: number,
  branch: number,
): Node {
  return { weights, situation, high, low, branch, ways: [] };
}

/** The widest gaps first, every candidate in its turn: none is favoured by its depth. */
function inTurns(level: readonly Node[], family: Family): readonly Node[] {
  const gaps = level.map(({ high, low }) => compared(high - low, family));
  const order = gaps.map((_, i) => i).sort((a, b) => gaps[b]! - gaps[a]! || a - b);
  const places = new Map<number, number>();
  const turns = order.map((i) => {
    const node = level[i]!;
    const place = (places.get(node.branch) ?? -1) + 1;
    places.set(node.branch, place);
    return { place, node };
  });
  turns.sort((a, b) => a.place - b.place || a.node.branch - b.node.branch);
  return turns.map(({ node }) => node);
}

/** A search under way: the situations prepared so far and what is left of the budget. */
class Search {
  private readonly spots = new Map<string, Spot>();
  /** The same by the very situation: all outcomes of an act share theirs. */
  private readonly spotOf = new WeakMap<Situation, Spot>();
  private readonly family: Family;
  private beliefs: number;
  private cells: number;
  private high = new Float64Array(256);
  private low = new Float64Array(256);
  private readonly row: Float64Array;

  constructor(
    private readonly field: Field,
    private readonly budget: Budget,
  ) {
    this.family = field.needs.family;
    this.beliefs = budget.beliefs;
    this.cells = budget.cells;
    this.row = new Float64Array(field.needs.classes.owed.length);
  }

  run(root: Node, first: Spot): void {
    const { widths, candidates } = this.budget;
    this.spots.set(placeKey(root.situation), first);
    let level: readonly Node[] = [root];
    let width = candidates;
    let least = 0;
    for (let depth = 0; level.length > 0; depth++) {
      const chosen = this.affordable(level);
      for (const node of chosen) node.ways = this.bestWays(node, width);
      if (depth === 0 && root.ways.length > 0) {
        least = this.family.constants.LEAST_GAP * Math.min(...root.ways.map((way) => way.oneStep));
      }
      const after = chosen.flatMap((node) => node.ways.flatMap((way) => way.nodes));
      level = after.filter((node) => node.high - node.low > least);
      width = widths[Math.min(depth, widths.length - 1)]!;
    }
  }

  /** Those with the widest gaps that the budget allows; they are paid for. */
  private affordable(level: readonly Node[]): readonly Node[] {
    const chosen: Node[] = [];
    for (const node of inTurns(level, this.family)) {
      const cells = this.spot(node.situation).rows * this.field.needs.count;
      if (this.beliefs < 1 || (chosen.length > 0 && cells > this.cells)) break;
      this.beliefs -= 1;
      this.cells -= cells;
      chosen.push(node);
    }
    return this.cells > 0 || level[0]!.high === Infinity ? chosen : [];
  }

  private spot(situation: Situation): Spot {
    let found = this.spotOf.get(situation);
    if (found !== undefined) return found;
    const key = placeKey(situation);
    found = this.spots.get(key);
    if (found === undefined) this.spots.set(key, (found = this.field.spot(situation)));
    this.spotOf.set(situation, found);
    return found;
  }

  /** Prices every act from a belief and keeps the best. */
  private bestWays(node: Node, width: number): Way[] {
    const { acts, rows } = this.spot(node.situation);
    if (acts.length === 0) return [];
    const weights = node.weights();
    const total = weights.reduce((sum, weight) => sum + weight, 0);
    this.bound(weights, acts, rows);
    const own = acts.map((act) => act.dollars * total);
    const price = acts.map((act, k) => own[k]! + sumOf(this.high, act));
    const rounded = price.map((dollars) => compared(dollars, this.family));
    const order = acts.map((_, k) => k).sort((a, b) => rounded[a]! - rounded[b]! || a - b);
    const most = Math.min(node.high, price[order[0]!]!) + 10 ** -this.family.constants.DECIMALS;
    const ways: Way[] = [];
    for (const k of order.slice(0, width)) {
      const act = acts[k]!;
      if (own[k]! + sumOf(this.low, act) > most) continue;
      const branch = node.branch >= 0 ? node.branch : ways.length;
      const situation = act.after();
      const nodes = Array.from({ length: act.outcomes }, (_, o) =>
        nodeOf(
          () => this.field.outcome(weights, act, o),
          situation,
          this.high[act.start + o]!,
          this.low[act.start + o]!,
          branch,
        ),
      );
      ways.push({ act, spent: own[k]!, oneStep: price[k]!, nodes });
    }
    return ways;
  }

  /** Bounds the cost after every outcome: repairing on, and the truth told. */
  private bound(weights: Float64Array, acts: readonly Act[], rows: number): void {
    if (this.high.length < rows) {
      this.high = new Float64Array(2 * rows);
      this.low = new Float64Array(2 * rows);
    }
    const { field, row, high, low } = this;
    const { tail, told } = field;
    field.standAt(weights);
    for (const act of acts) {
      for (let o = 0; o < act.outcomes; o++) {
        field.mass(weights, act, o, row);
        const dollars = tail.cost(row, act.opening, act.position);
        high[act.start + o] = dollars;
        low[act.start + o] = Math.min(told.cost(row, act.told), dollars);
      }
    }
  }
}

function sumOf(values: Float64Array, act: Act): number {
  let sum = 0;
  for (let o = 0; o < act.outcomes; o++) sum += values[act.start + o]!;
  return sum;
}
