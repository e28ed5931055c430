/** The error function at multiples of 1/10000, as far as 6 on either side. */

import { nearestEven } from "./rounding.ts";

const STEPS = 10_000;
const MOST = 6;
const known = new Float64Array(MOST * STEPS + 1).fill(NaN);

/** erf of a number once it is rounded to four places, ties to the even one. */
export function erfRounded(z: number): number {
  const k = Math.min(Math.max(nearestEven(z * STEPS), -MOST * STEPS), MOST * STEPS);
  const size = Math.abs(k);
  let value = known[size]!;
  if (Number.isNaN(value)) known[size] = value = erf(size / STEPS);
  return k < 0 ? -value : value;
}

/** By the series whose terms are all positive: no digits are lost. */
function erf(x: number): number {
  let term = x;
  let sum = x;
  for (let n = 1; term > sum * 1e-17; n++) {
    term *= (2 * x * x) / (2 * n + 1);
    sum += term;
  }
  return Math.min((2 / Math.sqrt(Math.PI)) * Math.exp(-x * x) * sum, 1);
}
