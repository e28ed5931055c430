/** The panel: what instruments read on a running circuit, in every world and weather (panel.py). */

import type { SaturationChart } from "./saturation_chart.ts";

/** What a check reads off the panel of a demand, and the spread of its instrument (SI). */
export interface PanelLook {
  readonly demand: string;
  readonly of: string;
  readonly instrument_sd: number;
  readonly reliability: number;
}

/** Straight-line function of the panel's variables and of the weather (see panel_quantity.py). */
export interface Quantity {
  readonly on: readonly number[];
  readonly air: readonly number[];
  readonly span: number;
  readonly chart: "" | "dew" | "bubble";
  /** The readings it is worked out from, if it is. */
  readonly parts: readonly string[];
}

/** What all panels of a call share. */
export interface Circuit {
  readonly variables: readonly string[];
  readonly weather: readonly string[];
  readonly quantities: Readonly<Record<string, Quantity>>;
  /** How a unit may differ from its kind: of one that runs, of one at rest. */
  readonly unit_covariance: readonly (readonly (readonly number[])[])[];
}

/** What is known of the weather of the visit: means and spreads in kelvin, each by itself. */
export interface Weather {
  readonly mean: Float64Array;
  readonly spread: Float64Array;
}

/** The panel of one demand. */
export interface Panel {
  readonly demand: string;
  readonly circuit: Circuit;
  readonly axes: readonly Float64Array[];
  /** By state, node of the weather and variable. */
  readonly means: Float32Array;
  readonly states: number;
  readonly kind: Uint8Array;
  readonly chart: Uint8Array;
  /** By state: where the same faults have gone one degree less far, and one farther; or itself. */
  readonly beside: Uint16Array;
  readonly charts: readonly SaturationChart[];
  readonly nodeState: Uint16Array;
  readonly nodeWeight: Float64Array;
  readonly groupStart: Uint16Array;
  /** Group of every world; that of the world outside the library is one past the last. */
  readonly groupOf: Uint16Array;
  readonly usual: Weather;
  readonly leastDepression: number;
}

/** What the panel says of one quantity; throws TypeError for one that nobody defined. */
export function quantityOf(panel: Panel, name: string): Quantity {
  const found = panel.circuit.quantities[name];
  if (found === undefined) throw new TypeError(`unknown quantity ${name}`);
  return found;
}

/** Whether it reads the weather alone. */
export function isWeather({ on }: Quantity): boolean {
  return on.every((weight) => weight === 0);
}

/** The weather after a reading of one of its three. */
export function told(weather: Weather, column: number, value: number, sd: number): Weather {
  const mean = weather.mean.slice();
  const spread = weather.spread.slice();
  const own = spread[column]! ** 2;
  const trust = own / (own + sd ** 2);
  mean[column]! += trust * (value - mean[column]!);
  spread[column]! *= Math.sqrt(1 - trust);
  return { mean, spread };
}

/** What every state reads in a weather, by state and variable. */
export function readingsIn(panel: Panel, weather: Float64Array): Float64Array {
  const width = panel.circuit.variables.length;
  const corners = cornerWeights(panel, weather);
  const found = new Float64Array(panel.states * width);
  for (const { node, weight } of corners) {
    for (let s = 0; s < panel.states; s++) {
      const from = (s * nodesOf(panel) + node) * width;
      for (let v = 0; v < width; v++) found[s * width + v]! += weight * panel.means[from + v]!;
    }
  }
  return found;
}

/** How readings change with the weather, by state, variable and part of the weather. */
export function slopesIn(panel: Panel, { mean, spread }: Weather): Float64Array {
  const parts = mean.length;
  const found = new Float64Array(panel.states * panel.circuit.variables.length * parts);
  for (let column = 0; column < parts; column++) {
    const step = Math.max(spread[column]!, LEAST_STEP_K);
    const up = readingsIn(panel, shifted(mean, column, step));
    const down = readingsIn(panel, shifted(mean, column, -step));
    for (let i = 0; i < up.length; i++) {
      found[i * parts + column] = (up[i]! - down[i]!) / (2 * step);
    }
  }
  return found;
}

/** How far readings move within the degree that each state stands for, by state and variable. */
export function degreeSpread({ beside, circuit }: Panel, readings: Float64Array): Float64Array {
  const width = circuit.variables.length;
  return readings.map((_, i) => {
    const s = Math.floor(i / width);
    const v = i % width;
    const [lighter, farther] = [beside[2 * s]!, beside[2 * s + 1]!];
    const steps = Number(lighter !== s) + Number(farther !== s);
    const stretch = readings[farther * width + v]! - readings[lighter * width + v]!;
    return stretch / Math.max(steps, 1) / Math.sqrt(12);
  });
}

const LEAST_STEP_K = 0.3;

function shifted(mean: Float64Array, column: number, step: number): Float64Array {
  const found = mean.slice();
  found[column]! += step;
  return found;
}

function nodesOf({ axes }: Panel): number {
  return axes.reduce((product, axis) => product * axis.length, 1);
}

/** The nodes round a weather and their weights; beyond the last node it stays there. */
function cornerWeights(panel: Panel, weather: Float64Array): { node: number; weight: number }[] {
  const [outdoor, indoor, wet] = weather as unknown as [number, number, number];
  const place = [outdoor, wet, Math.max(indoor - wet, panel.leastDepression)];
  let corners = [{ node: 0, weight: 1 }];
  panel.axes.forEach((axis, k) => {
    const at = Math.min(Math.max(place[k]!, axis[0]!), axis[axis.length - 1]!);
    let low = 0;
    while (low < axis.length - 2 && axis[low + 1]! <= at) low++;
    const share = (at - axis[low]!) / (axis[low + 1]! - axis[low]!);
    corners = corners.flatMap(({ node, weight }) => [
      { node: node * axis.length + low, weight: weight * (1 - share) },
      { node: node * axis.length + low + 1, weight: weight * share },
    ]);
  });
  return corners.filter(({ weight }) => weight !== 0);
}
