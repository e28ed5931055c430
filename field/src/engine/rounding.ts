/** Rounding as Python does it: what lies exactly between two goes to the even one. */

/** The nearest whole number; of two equally near ones the even one. */
export function nearestEven(value: number): number {
  const low = Math.floor(value);
  const over = value - low;
  if (over !== 0.5) return over < 0.5 ? low : low + 1;
  return low % 2 === 0 ? low : low + 1;
}

/** A number with so many digits after the point; nothing is written as less than nothing. */
export function fixed(value: number, digits: number): string {
  const text = isTie(value, digits)
    ? (nearestEven(value * 10 ** digits) / 10 ** digits).toFixed(digits)
    : value.toFixed(digits);
  return Number(text) === 0 ? text.replace("-", "") : text;
}

/** Whether a number, as it is kept in binary, lies exactly between two of so many digits. */
function isTie(value: number, digits: number): boolean {
  const halves = value * 2 ** (digits + 1);
  return Number.isInteger(halves) && halves % 2 !== 0;
}

/** A share in whole percent; none and certain is only what is. */
export function percent(share: number): string {
  const hundredths = 100 * share;
  if (hundredths > 0 && hundredths < 1) return "under 1%";
  if (hundredths > 99 && hundredths < 100) return "over 99%";
  return `${hundredths.toFixed(0)}%`;
}
