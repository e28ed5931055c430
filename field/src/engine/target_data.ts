/** What today's targets come from: a sound unit by weather, published chart and table (targets_part.py). */

/** One way the unit may be built, and what it reads when sound, by quantity and node of the weather. */
export interface TargetUnit {
  readonly refrigerant: string;
  readonly metering: string;
  readonly demand: string;
  /** Name of the refrigerant. */
  readonly name: string;
  readonly tons: number;
  readonly valve: boolean;
}

/** The steps of a unit by quantity and node, and the limits it meets by node. */
export interface TargetGrid {
  readonly values: Uint16Array;
  readonly limits: Uint16Array;
}

export interface TargetData {
  readonly units: readonly TargetUnit[];
  readonly axes: Readonly<Record<string, readonly [readonly number[], readonly number[], readonly number[]]>>;
  /** Lowest value and step of each quantity, in the order they are kept. */
  readonly kept: Readonly<Record<string, readonly [number, number]>>;
  /** Tons by answer about the nameplate. */
  readonly tons: Readonly<Record<string, number>>;
  /** What each limit means under a demand, by its flag. */
  readonly limits: Readonly<Record<string, Readonly<Record<string, string>>>>;
  readonly titles: Readonly<Record<string, string>>;
  /** Quantities of the circuit beside which each target is of use. */
  readonly beside: Readonly<Record<string, readonly string[]>>;
  readonly chart: {
    readonly outdoor_k: readonly number[];
    readonly wet_bulb_k: readonly number[];
    readonly superheat_k: readonly (readonly (number | null)[])[];
    readonly deviation_k: number;
  };
  readonly split: {
    readonly polynomial: readonly [number, number, number, number, number, number];
    readonly dry_k: readonly [number, number];
    readonly wet_bulb_k: readonly [number, number];
    readonly deviation_k: number;
  };
  readonly valve_superheat_k: readonly [number, number];
  readonly bands_k: Readonly<Record<string, number>>;
  /** How far a unit may be from its model: K, or a share of a capacity. */
  readonly own: Readonly<Record<string, number>>;
  readonly coldest_k: number;
  /** How far a measured capacity may lie from the model's, as a share. */
  readonly capacity_band: number;
  readonly words: Readonly<Record<string, string>>;
}

/** The air as known (K): outdoors, return air, its wet bulb. */
export type Air = readonly [outdoor: number, indoor: number, wet: number];

interface Corner {
  readonly node: number;
  readonly weight: number;
}

/** The nodes round a weather with their weights; beyond the last node it stays there. */
export function cornersAt(axes: TargetData["axes"][string], [outdoor, indoor, wet]: Air): Corner[] {
  const place = [outdoor, wet, indoor - wet];
  let corners: Corner[] = [{ node: 0, weight: 1 }];
  axes.forEach((axis, k) => {
    const { low, share } = between(place[k]!, axis);
    corners = corners.flatMap(({ node, weight }) => [
      { node: node * axis.length + low, weight: weight * (1 - share) },
      { node: node * axis.length + low + 1, weight: weight * share },
    ]);
  });
  return corners;
}

/** The node below a place and the share of the way to the next, inside the ends. */
export function between(at: number, axis: readonly number[]): { low: number; share: number } {
  const held = Math.min(Math.max(at, axis[0]!), axis[axis.length - 1]!);
  let low = 0;
  while (low < axis.length - 2 && axis[low + 1]! <= held) low++;
  return { low, share: (held - axis[low]!) / (axis[low + 1]! - axis[low]!) };
}

/** A quantity of a sound unit in a weather, by name (K or W). */
export function valueAt(data: TargetData, grid: TargetGrid, corners: readonly Corner[], name: string): number {
  const row = Object.keys(data.kept).indexOf(name) * grid.limits.length;
  const [lowest, step] = data.kept[name]!;
  const steps = corners.reduce((sum, { node, weight }) => sum + weight * grid.values[row + node]!, 0);
  return lowest + step * steps;
}

/** What the nearest node of the weather says of limits under a demand, in words. */
export function limitWords(
  data: TargetData,
  demand: string,
  grid: TargetGrid,
  corners: readonly Corner[],
): string[] {
  const nearest = corners.reduce((best, one) => (one.weight > best.weight ? one : best));
  const met = grid.limits[nearest.node]!;
  const words = data.limits[demand]!;
  const flags = Object.keys(words).map(Number).sort((a, b) => a - b);
  return flags.filter((flag) => (met & flag) !== 0).map((flag) => words[flag]!);
}
