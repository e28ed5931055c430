/** Reading and writing numbers with their units. */

import type { NumberForm, Unit } from "../engine/catalog.ts";
import { asModelled } from "../engine/catalog.ts";
import { rounded } from "../engine/expected.ts";

export interface Entered {
  readonly value: number;
  readonly unit: string;
  readonly siValue: number;
  /** What the part itself says it should be, in the same unit. */
  readonly printed?: number;
}

/** A unit, or a text with units, as people say it: a difference of degrees is in degrees. */
export function plainUnits(text: string): string {
  return text.replaceAll("delta \u00b0", "\u00b0");
}

/** The plausible span of a number in one of its units, in words. */
export function spanWords(form: NumberForm, unit: Unit): string {
  const low = form.low === null ? null : inUnit(form.low, unit);
  const high = form.high === null ? null : inUnit(form.high, unit);
  const name = plainUnits(unit.name);
  if (low !== null && high !== null) return `${rounded(low)} to ${rounded(high)} ${name}`;
  if (low !== null) return `${rounded(low)} ${name} or more`;
  return high === null ? "" : `at most ${rounded(high)} ${name}`;
}

/** The span of what may be shown here, kept as the check keeps it, in words. */
export function keptSpanWords(
  form: NumberForm,
  [low, high]: readonly [number, number],
  unit: Unit,
): string {
  const shown = (kept: number): string =>
    rounded(inUnit((kept - form.offset) / form.factor, unit));
  return `${shown(low)} to ${shown(high)} ${plainUnits(unit.name)}`;
}

/** What is printed on the modelled part, in a unit; empty where nothing is printed. */
export function modelledPrint(form: NumberForm, unit: Unit): string {
  const printed = form.printed ?? null;
  return printed === null ? "" : `${Number(inUnit(printed, unit).toPrecision(3))}`;
}

/** A number with what is printed on the part, as typed; a text: what is wrong with that. */
export function withPrint(
  form: NumberForm,
  entered: Entered,
  text: string,
  chosen: Unit,
): Entered | string {
  const print = readNumber(form, text, chosen);
  if (typeof print === "string") return `What is printed: ${print}`;
  const unit = form.units.find(({ name }) => name === entered.unit) ?? chosen;
  const printed = Number(inUnit(print.siValue, unit).toPrecision(9));
  return printed > 0 ? { ...entered, printed } : "What is printed is more than nothing.";
}

/** A number as typed, in SI as well; a text: what is wrong with it and what would be right. */
export function readNumber(form: NumberForm, text: string, chosen: Unit): Entered | string {
  const typed = text.trim().replace(",", ".").replace("\u2212", "-");
  if (typed === "") return "Nothing entered yet: type what the instrument shows.";
  const parts = /^([+-]?(?:\d+\.?\d*|\.\d+))\s*(.*)$/.exec(typed);
  const named = parts?.[2] ?? "";
  const unit = named === "" ? chosen : unitNamed(form, named);
  if (parts === null || unit === undefined) {
    const units = form.units.map(({ name }) => plainUnits(name)).join(", ");
    return `\u201c${text.trim()}\u201d is not a number of ${units}. Type it like 24.1.`;
  }
  const value = Number(parts[1]);
  const siValue = value * unit.scale + unit.zero;
  const tooLow = form.low !== null && siValue < form.low;
  const tooHigh = form.high !== null && siValue > form.high;
  if (tooLow || tooHigh) {
    const side = tooLow ? "less" : "more";
    return `${parts[1]} ${plainUnits(unit.name)} is ${side} than an instrument can show here: ${spanWords(form, unit)}.`;
  }
  return { value, unit: unit.name, siValue };
}

/** The unit written behind a number, however it is spelled; undefined where it is none of these. */
function unitNamed(form: NumberForm, written: string): Unit | undefined {
  const tight = (text: string): string => text.replace(/[\s._]/g, "").toLowerCase();
  return form.units.find(({ name, spellings }) =>
    [name, plainUnits(name), ...(spellings ?? [])].some((one) => tight(one) === tight(written)),
  );
}

/** Whether a number lies outside the span, as kept, of all that may be shown here. */
export function isOutside(
  form: NumberForm,
  [low, high]: readonly [number, number],
  { siValue, value, printed }: Entered,
): boolean {
  const kept = asModelled(form, siValue, value, printed) * form.factor + form.offset;
  return kept < low || kept > high;
}

function inUnit(si: number, unit: Unit): number {
  return (si - unit.zero) / unit.scale;
}

export { percent } from "../engine/rounding.ts";

export function dollars(amount: number): string {
  return `$${Math.round(amount).toLocaleString("en-US")}`;
}

export function minutes(count: number): string {
  if (count < 1) return "under a minute";
  if (count < 100) return `${count.toFixed(0)} min`;
  return `${(count / 60).toFixed(1)} h`;
}
