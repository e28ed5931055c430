/** What a check shows where nothing is wrong, and cautions that apply here (see expected.py). */

import type { Belief } from "./belief.ts";
import type { Catalog, CheckEntry, NumberForm, ProofEntry, RepairEntry } from "./catalog.ts";
import type { Check } from "./family.ts";
import { soundWorld } from "./family.ts";
import type { PanelLook } from "./panel.ts";
import { fixed } from "./rounding.ts";

const LIVE = ["power_on", "call:"];
const INSIDE = "cover:indoor_unit";

/** What a check shows with everything in order in a setting; empty where that cannot be said. */
export function healthyReading(
  belief: Belief,
  check: Check,
  entry: CheckEntry | undefined,
  setting: number,
): string {
  const world = soundWorld(belief.family, setting);
  if (world < 0) return "";
  const form = entry?.number ?? null;
  if (check.look !== null && form !== null) return todaysReading(belief, check.look, form, world);
  const { numeric } = check;
  if (numeric !== null && form !== null) {
    const r = numeric.row[world]!;
    if (numeric.dead[r]) return "";
    const mean = numeric.means[r]!;
    return writeKept(form, mean, digitsOf(form, mean));
  }
  const columns = check.outcomes.length;
  const row = check.rows.subarray(check.row[world]! * columns, (check.row[world]! + 1) * columns);
  const best = row.indexOf(Math.max(...row));
  return row[best]! >= belief.family.constants.SURE ? check.outcomes[best]!.label : "";
}

/** What a sound circuit reads in the weather of the visit, and give or take how much. */
function todaysReading(
  belief: Belief,
  look: PanelLook,
  form: NumberForm,
  world: number,
): string {
  const shown = belief.views.get(look.demand)?.today.expected(look, world) ?? null;
  if (shown === null) return "";
  const { mean, spread } = shown;
  const off = shownNumber(form, mean + spread) - shownNumber(form, mean);
  const written = writeKept(form, mean, digitsOf(form, mean));
  const unit = written.slice(written.indexOf(" ") + 1);
  return `${written} give or take ${fixed(off, off >= 2.5 ? 0 : 1)} ${unit}`;
}

/** A proof with its limits as they are today: of the circuit they are laid round a sound one. */
export function todaysProof(belief: Belief, entry: ProofEntry, setting: number): ProofEntry {
  if (entry.circuit === null || entry.number === null) return entry;
  const look = { ...entry.circuit, instrument_sd: 0, reliability: 1 };
  const world = soundWorld(belief.family, setting);
  const shown = belief.views.get(look.demand)?.today.expected(look, world) ?? null;
  if (shown === null) return entry;
  const low = entry.low === null ? null : shown.mean + entry.low;
  const high = entry.high === null ? null : shown.mean + entry.high;
  return { ...entry, low, high, limits: limitsWords(entry.number, low, high) };
}

function limitsWords(form: NumberForm, low: number | null, high: number | null): string {
  const [least, most] = [low, high].map((x) => (x === null ? "" : writeKept(form, x, 1)));
  if (least && most) return `${least} to ${most}.`;
  return least ? `${least} or more.` : `below ${most}.`;
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

/** A number as it is kept, for people, in the check's own unit. */
export function writeKept(form: NumberForm, kept: number, digits: number): string {
  return Number.isFinite(kept) ? `${fixed(inOwnUnit(form, kept), digits)} ${form.unit}` : "OL";
}

function inOwnUnit(form: NumberForm, kept: number): number {
  const unit = form.units[0]!;
  return ((kept - form.offset) / form.factor - unit.zero) / unit.scale;
}

/** The number as it is read off when it is written with six digits. */
function shownNumber(form: NumberForm, kept: number): number {
  return Number.isFinite(kept) ? Number(fixed(inOwnUnit(form, kept), 6)) : 1000;
}

/** How many digits after the point a reading is worth. */
function digitsOf(form: NumberForm, kept: number): number {
  const size = Math.abs(shownNumber(form, kept));
  return size < 3 ? 2 : size < 100 ? 1 : 0;
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
