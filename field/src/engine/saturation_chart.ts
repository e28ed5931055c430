/** A pressure-temperature chart as the gauges have it (see panel_quantity.py). */

export type Line = "dew" | "bubble";

/** A number at some place, and how fast it changes there. */
export interface Sloped {
  readonly at: number;
  readonly slope: number;
}

export class SaturationChart {
  private readonly logs: Float64Array;

  constructor(
    readonly refrigerant: string,
    /** Rising absolute pressures, and the temperatures there. */
    private readonly pressurePa: Float64Array,
    private readonly dewK: Float64Array,
    private readonly bubbleK: Float64Array,
    private readonly atmospherePa: number,
  ) {
    this.logs = pressurePa.map(Math.log);
  }

  /** The saturation temperature (K) at a gauge pressure, and its slope (K/Pa). */
  temperature(gaugePa: number, line: Line): Sloped {
    const known = this.along(line);
    const last = this.pressurePa[this.pressurePa.length - 1]!;
    const pressure = Math.min(Math.max(gaugePa + this.atmospherePa, this.pressurePa[0]!), last);
    const log = Math.log(pressure);
    const low = interpolated(log - 0.01, this.logs, known);
    const high = interpolated(log + 0.01, this.logs, known);
    const at = interpolated(log, this.logs, known);
    return { at, slope: Math.max(high - low, 1e-6) / (0.02 * pressure) };
  }

  /** The gauge pressure (Pa) at a saturation temperature, and its slope (Pa/K). */
  gaugePa(temperatureK: number, line: Line): Sloped {
    const known = this.along(line);
    const pressure = Math.exp(interpolated(temperatureK, known, this.logs));
    const high = interpolated(temperatureK + 0.3, known, this.logs);
    const low = interpolated(temperatureK - 0.3, known, this.logs);
    const slope = (Math.max(high - low, 1e-9) / 0.6) * pressure;
    return { at: pressure - this.atmospherePa, slope };
  }

  private along(line: Line): Float64Array {
    return line === "dew" ? this.dewK : this.bubbleK;
  }
}

/** The value at a place between rising nodes; beyond the ends it stays as it is there. */
export function interpolated(at: number, nodes: Float64Array, values: ArrayLike<number>): number {
  const last = nodes.length - 1;
  if (at <= nodes[0]!) return values[0]!;
  if (at >= nodes[last]!) return values[last]!;
  let low = 0;
  let high = last;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (nodes[middle]! <= at) low = middle;
    else high = middle;
  }
  const slope = (values[high]! - values[low]!) / (nodes[high]! - nodes[low]!);
  return slope * (at - nodes[low]!) + values[low]!;
}
