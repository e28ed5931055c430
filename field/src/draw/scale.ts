/** Scales of charts: from a value to a place in the drawing, and where the ticks go. */

export interface Span {
  readonly low: number;
  readonly high: number;
}

/** Place of a value on a straight scale. */
export function placed(value: number, span: Span, from: number, to: number): number {
  return from + ((value - span.low) / (span.high - span.low)) * (to - from);
}

/** Multiples of a step within a span. */
export function ticks({ low, high }: Span, step: number): number[] {
  const found: number[] = [];
  for (let at = Math.ceil(low / step) * step; at <= high + 1e-9; at += step) found.push(at);
  return found;
}

/** The least span that holds all values, a margin and a span to be shown at least. */
export function spanOf(values: readonly number[], least: Span, margin: number): Span {
  const finite = values.filter(Number.isFinite);
  return {
    low: Math.min(least.low, ...finite.map((value) => value - margin)),
    high: Math.max(least.high, ...finite.map((value) => value + margin)),
  };
}

/** A path through points; numbers short, because drawings are made often. */
export function path(points: readonly (readonly [number, number])[], closed = false): string {
  const steps = points.map(([x, y], i) => `${i === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`);
  return steps.join("") + (closed ? "Z" : "");
}
