/** What looks at a circuit show in every state, and how they vary together, before any was taken. */

import type { Panel, PanelLook, Weather } from "./panel.ts";
import { degreeSpread, quantityOf, readingsIn, slopesIn } from "./panel.ts";

/** The looks of a panel in some weather, state by state, without their instruments. */
export class PanelLooks {
  private readonly known = new Map<string, Float64Array>();

  constructor(
    private readonly panel: Panel,
    private readonly weather: Weather,
  ) {}

  /** Mean of a look in every state. */
  mean(look: PanelLook): Float64Array {
    const { on, air } = quantityOf(this.panel, look.of);
    const ground = air.reduce((sum, weight, c) => sum + weight * this.weather.mean[c]!, 0);
    const width = on.length;
    const { readings } = this;
    const found = new Float64Array(this.panel.states);
    for (let s = 0; s < found.length; s++) {
      let sum = 0;
      for (let v = 0; v < width; v++) sum += on[v]! * readings[s * width + v]!;
      found[s] = sum + ground;
    }
    return found;
  }

  /** How a look changes with the weather, by state and part of the weather. */
  private tilt(look: PanelLook): Float64Array {
    return this.once(`tilt ${look.of}`, () => {
      const { on, air } = quantityOf(this.panel, look.of);
      const { slopes } = this;
      const parts = air.length;
      const width = on.length;
      const found = new Float64Array(this.panel.states * parts);
      for (let i = 0; i < found.length; i++) {
        const s = Math.floor(i / parts);
        const c = i % parts;
        let sum = air[c]!;
        for (let v = 0; v < width; v++) {
          if (on[v] !== 0) sum += on[v]! * slopes[(s * width + v) * parts + c]!;
        }
        found[i] = sum;
      }
      return found;
    });
  }

  /** Covariance of what two looks show in every state, without their instruments. */
  between(one: PanelLook, two: PanelLook): Float64Array {
    const { kind, circuit, states } = this.panel;
    const units = circuit.unit_covariance.map((cover) =>
      product(this.panel, one, cover, two),
    );
    const [a, b] = [this.tilt(one), this.tilt(two)];
    const [c, d] = [this.withinDegree(one), this.withinDegree(two)];
    const { spread } = this.weather;
    const parts = spread.length;
    const found = new Float64Array(states);
    for (let s = 0; s < states; s++) {
      let sum = units[kind[s]!]! + c[s]! * d[s]!;
      for (let p = 0; p < parts; p++) {
        sum += a[s * parts + p]! * spread[p]! ** 2 * b[s * parts + p]!;
      }
      found[s] = sum;
    }
    return found;
  }

  /** The same of several looks, one square of numbers for each state. */
  covariance(looks: readonly PanelLook[]): Float64Array {
    const m = looks.length;
    const found = new Float64Array(this.panel.states * m * m);
    for (let i = 0; i < m; i++) {
      for (let j = 0; j <= i; j++) {
        this.between(looks[i]!, looks[j]!).forEach((value, s) => {
          found[(s * m + i) * m + j] = value;
          found[(s * m + j) * m + i] = value;
        });
      }
    }
    return found;
  }

  private get readings(): Float64Array {
    return this.once("readings", () => readingsIn(this.panel, this.weather.mean));
  }

  private get slopes(): Float64Array {
    return this.once("slopes", () => slopesIn(this.panel, this.weather));
  }

  /** How far a look moves within the degree that each state stands for. */
  private withinDegree(look: PanelLook): Float64Array {
    return this.once(`degree ${look.of}`, () => {
      const { on } = quantityOf(this.panel, look.of);
      const spread = this.once("degree", () => degreeSpread(this.panel, this.readings));
      return Float64Array.from({ length: this.panel.states }, (_, s) =>
        on.reduce((sum, weight, v) => sum + weight * spread[s * on.length + v]!, 0),
      );
    });
  }

  private once(name: string, make: () => Float64Array): Float64Array {
    let found = this.known.get(name);
    if (found === undefined) this.known.set(name, (found = make()));
    return found;
  }
}

function product(
  panel: Panel,
  one: PanelLook,
  cover: readonly (readonly number[])[],
  two: PanelLook,
): number {
  const left = quantityOf(panel, one.of).on;
  const right = quantityOf(panel, two.of).on;
  return cover.reduce(
    (sum, row, v) => sum + left[v]! * row.reduce((all, value, u) => all + value * right[u]!, 0),
    0,
  );
}
