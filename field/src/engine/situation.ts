/** Where the technician stands, and what a proposed step looks like (see situation.py). */

export type StepKind =
  | "ask"
  | "look"
  | "measure"
  | "go"
  | "repair"
  | "prove"
  | "refer"
  | "stop";

export interface Situation {
  readonly place: string;
  readonly opened: ReadonlySet<string>;
  readonly powerOff: boolean;
  readonly done: ReadonlySet<string>;
  readonly deferred: ReadonlySet<string>;
  readonly onPhone: boolean;
  readonly demand: string;
  readonly setUp: ReadonlySet<string>;
  readonly unproven: ReadonlySet<string>;
  readonly cleared: ReadonlySet<string>;
  /** Chance that this home is like none of the worlds. */
  readonly doubt: number;
}

export const ON_THE_PHONE: Situation = {
  place: "phone",
  opened: new Set(),
  powerOff: false,
  done: new Set(),
  deferred: new Set(),
  onPhone: true,
  demand: "",
  setUp: new Set(),
  unproven: new Set(),
  cleared: new Set(),
  doubt: 0,
};

/** One possible answer to a step: how likely it is and what would lead after it. */
export interface Forecast {
  readonly outcomeId: string;
  readonly label: string;
  readonly probability: number;
  readonly leading: string;
  readonly share: number;
  readonly danger: boolean;
}

export interface Step {
  readonly kind: StepKind;
  readonly target: string;
  readonly title: string;
  readonly ownCost: number;
  readonly costAfter: number;
  readonly first: readonly string[];
  readonly forecasts: readonly Forecast[];
}

export function totalCost(step: Step): number {
  return step.ownCost + step.costAfter;
}

/** What tells two situations of one search apart: all but what no step in it changes. */
export function placeKey(situation: Situation): string {
  const { place, opened, powerOff, done, demand, setUp } = situation;
  const parts = [opened, done, setUp].map((names) => [...names].sort().join());
  return [place, powerOff ? "off" : "on", demand, ...parts].join("|");
}
