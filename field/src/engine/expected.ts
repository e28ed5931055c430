/** What a check shows where nothing is wrong, and cautions that apply here (see expected.py). */

import type { Catalog, CheckEntry, NumberForm, ProofEntry, RepairEntry } from "./catalog.ts";
import type { Check, Family } from "./family.ts";
import { likelihoodTable } from "./likelihood.ts";

const LIVE = ["power_on", "call:"];
const INSIDE = "cover:indoor_unit";

/** The world of a setting in which nothing is wrong; -1 where the family has none. */
export function healthyWorld(family: Family, setting: number): number {
  for (let w = 0; w < family.size; w++) {
    if (family.setting[w] === setting && family.holds[w]!.length === 0) return w;
  }
  return -1;
}

/** What a check shows in a world, in words or as a number; empty where that cannot be said. */
export function shownIn(
  family: Family,
  check: Check,
  entry: CheckEntry | undefined,
  world: number,
): string {
  if (world < 0) return "";
  const { numeric } = check;
  if (numeric !== null && entry?.number) {
    const r = numeric.row[world]!;
    if (numeric.dead[r]) return "";
    return writeKept(entry.number, numeric.means[r]!);
  }
  const { rows, row, columns } = likelihoodTable(family, check);
  const at = row[world]! * columns;
  let best = 0;
  for (let c = 1; c < columns; c++) if (rows[at + c]! > rows[at + best]!) best = c;
  return rows[at + best]! >= family.constants.SURE ? check.outcomes[best]!.label : "";
}

/** The span of what a check may show in any world, as kept; null where it shows no number. */
export function shownSpan(check: Check): readonly [number, number] | null {
  const { numeric } = check;
  if (numeric === null) return null;
  let low = Infinity;
  let high = -Infinity;
  numeric.means.forEach((mean, r) => {
    if (numeric.dead[r] || !Number.isFinite(mean)) return;
    const reach = 3 * numeric.spreads[r]!;
    low = Math.min(low, mean >= 0 ? Math.max(mean - reach, 0) : mean - reach);
    high = Math.max(high, mean <= 0 ? Math.min(mean + reach, 0) : mean + reach);
  });
  return low <= high ? [low, high] : null;
}

/** A number as it is kept, in the check's own unit, with as many digits as it is worth. */
export function writeKept(form: NumberForm, kept: number): string {
  if (!Number.isFinite(kept)) return "OL";
  const unit = form.units[0]!;
  const si = (kept - form.offset) / form.factor;
  const value = (si - unit.zero) / unit.scale;
  return `${rounded(value)} ${form.unit}`;
}

/** A reading with as many digits as it is worth. */
export function rounded(value: number): string {
  const size = Math.abs(value);
  const digits = size < 3 ? 2 : size < 100 ? 1 : 0;
  const text = value.toFixed(digits);
  const short = text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
  return short === "-0" ? "0" : short;
}

export interface Caution {
  readonly id: string;
  readonly title: string;
  readonly caution: string;
}

/** What can hurt in a step: its own hazards, and those of the place where it is. */
export function cautions(
  data: Catalog,
  entry: CheckEntry | RepairEntry | ProofEntry,
  archetype: string,
  location: string,
  arriving: boolean,
): Caution[] {
  const place = arriving ? data.places.get(entry.place) : undefined;
  const names = [...(place?.hazards_by_location[location] ?? []), ...entry.hazards];
  if (liveInside(entry) && data.archetypes.get(archetype)?.furnace === true) {
    names.push("door-switch");
  }
  return [...new Set(names)].flatMap((name) => data.hazards.get(name) ?? []);
}

function liveInside(entry: CheckEntry | RepairEntry | ProofEntry): boolean {
  if ("limits" in entry || !entry.requires.includes(INSIDE)) return false;
  return entry.requires.some((token) => LIVE.some((live) => token.startsWith(live)));
}
