/** The compiled family of worlds: plain data, made once for a call (see worlds/family.py). */

import type { Constants } from "./constants.ts";
import type { Panel, PanelLook } from "./panel.ts";
import type { AskedBack } from "./questioned.ts";

export const OTHER = "none-of-these";
export const PHONE = "phone";
export const POWER_OFF = "power_off";
export const POWER_ON = "power_on";
export const DISCHARGED = "discharged";
export const COVER_PREFIX = "cover:";
export const CALL_PREFIX = "call:";
export const ROOT = "root";
export const CONSEQUENCE = "consequence";
export const LATENT = "latent";

export interface Outcome {
  readonly id: string;
  readonly label: string;
  readonly low: number | null;
  readonly high: number | null;
  readonly danger: boolean;
}

/** Expected readings: the distinct ones, and which of them each world has (dead: none). */
export interface Numeric {
  readonly means: Float32Array;
  readonly spreads: Float32Array;
  readonly dead: Uint8Array;
  /** Share of readings that are plain mistakes. */
  readonly slip: number;
  readonly row: Uint8Array | Uint16Array;
}

/** A check; its table is kept as distinct rows and the row of every world. */
export interface Check {
  readonly id: string;
  readonly title: string;
  readonly place: string;
  readonly minutes: number;
  readonly outcomes: readonly Outcome[];
  readonly requires: ReadonlySet<string>;
  readonly hazardCost: number;
  readonly phone: boolean;
  readonly group: string;
  readonly proof: boolean;
  readonly keepsOutside: boolean;
  /** What it reads off the panel of the running circuit, if it does. */
  readonly look: PanelLook | null;
  readonly numeric: Numeric | null;
  readonly rows: Float64Array;
  readonly row: Uint8Array | Uint16Array;
}

export interface Repair {
  readonly id: string;
  readonly title: string;
  readonly place: string;
  readonly minutes: number;
  readonly dollars: number;
  readonly fixes: readonly string[];
  readonly success: number;
  readonly hazard_cost: number;
  readonly requires: readonly string[];
  readonly refer: boolean;
  readonly proofs: readonly string[];
  readonly caller_safe: boolean;
}

export interface Place {
  readonly id: string;
  readonly title: string;
  readonly travel_minutes: number;
  readonly covers: Readonly<Record<string, number>>;
}

/** What a family is made of; arrays have an entry for each world. */
export interface FamilyParts {
  readonly logPrior: Float64Array;
  readonly setting: Int32Array;
  /** What comes and goes is there but does not show just now. */
  readonly calm: Uint8Array;
  readonly settings: readonly Readonly<Record<string, string>>[];
  readonly conditions: readonly string[];
  /** Columns of the conditions of every world, and of its roots. */
  readonly holds: readonly Uint16Array[];
  readonly rootsOf: readonly Uint16Array[];
  readonly checks: readonly Check[];
  readonly repairs: readonly Repair[];
  readonly places: readonly Place[];
  readonly kinds: ReadonlyMap<string, string>;
  readonly groupMinutes: ReadonlyMap<string, number>;
  /** The group that goes before a group, as long as one of its checks is to be had. */
  readonly groupAfter: ReadonlyMap<string, string>;
  readonly harmless: ReadonlySet<string>;
  /** The system is seen to work just now. */
  readonly works: Uint8Array;
  /** It works, and nothing that is there will stop it again. */
  readonly lasts: Uint8Array;
  /** It runs and falls short by so little that it may be taken for working. */
  readonly struggling: Uint8Array;
  /** What instruments read together on the running circuit, by demand. */
  readonly panels: ReadonlyMap<string, Panel>;
  /** What is asked back about readings of the circuit that cannot be. */
  readonly askedBack: AskedBack;
  /** Positions of the worlds outside the library; each setting has one. */
  readonly outsideWorlds: readonly number[];
  readonly dollarsPerMinute: number;
  readonly callBackDollars: number;
  readonly cutMass: number;
  readonly dispatchMinutes: number;
  readonly powerMinutes: number;
  readonly callMinutes: number;
  readonly proofMinutes: number;
  readonly referMinutes: number;
  readonly repairStillOwed: boolean;
  readonly constants: Constants;
}

export interface Family extends Omit<FamilyParts, "checks" | "repairs" | "places"> {
  readonly size: number;
  /** In the family's own order. */
  readonly checks: ReadonlyMap<string, Check>;
  readonly repairs: ReadonlyMap<string, Repair>;
  readonly places: ReadonlyMap<string, Place>;
  readonly column: ReadonlyMap<string, number>;
  readonly other: Uint8Array;
  /** The world outside the library in the same setting; -1 where there is none. */
  readonly outside: Int32Array;
  /** The same world in its other state; itself where it has only one. */
  readonly twin: Int32Array;
  /** Log of the share of moments at which a world is in its state. */
  readonly logState: Float64Array;
  /** Per world, the columns of the conditions that must go: all but latent and harmless ones. */
  readonly needs: readonly Uint16Array[];
}

/** Completes a family; throws TypeError where its parts contradict each other. */
export function makeFamily(parts: FamilyParts): Family {
  const size = parts.logPrior.length;
  const { setting, holds, rootsOf, calm, works, lasts, struggling } = parts;
  const all = [setting, holds, rootsOf, calm, works, lasts, struggling];
  const lengths = all.map((part) => part.length);
  if (size === 0 || lengths.some((length) => length !== size)) {
    throw new TypeError("worlds, settings and conditions are not of one size");
  }
  for (const check of parts.checks) checkTable(check, size);
  const spared = parts.conditions.map(
    (name) => parts.kinds.get(name) === LATENT || parts.harmless.has(name),
  );
  const other = new Uint8Array(size);
  for (const w of parts.outsideWorlds) other[w] = 1;
  const twin = twinsOf(parts);
  return {
    ...parts,
    size,
    other,
    outside: outsideOf(parts),
    twin,
    logState: logStates(parts.logPrior, twin),
    column: new Map(parts.conditions.map((name, j) => [name, j])),
    needs: parts.holds.map((held) => held.filter((j) => !spared[j])),
    checks: new Map(parts.checks.map((check) => [check.id, check])),
    repairs: new Map(parts.repairs.map((repair) => [repair.id, repair])),
    places: new Map(parts.places.map((place) => [place.id, place])),
  };
}

function outsideOf({ setting, outsideWorlds }: FamilyParts): Int32Array {
  const at = new Map(outsideWorlds.map((w) => [setting[w]!, w]));
  return Int32Array.from(setting, (s) => at.get(s) ?? -1);
}

function twinsOf({ holds, setting, calm }: FamilyParts): Int32Array {
  const key = (w: number, state: number): string => `${named(holds[w]!, setting[w]!)}|${state}`;
  const states = new Map(Array.from(calm, (state, w) => [key(w, state), w]));
  return Int32Array.from(calm, (state, w) => states.get(key(w, 1 - state)) ?? w);
}

function logStates(logPrior: Float64Array, twin: Int32Array): Float64Array {
  return logPrior.map((own, w) =>
    twin[w] === w ? 0 : own - logOfBoth(own, logPrior[twin[w]!]!),
  );
}

/** Log of the sum of two exponentials. */
export function logOfBoth(one: number, two: number): number {
  const top = Math.max(one, two);
  return top === -Infinity ? top : top + Math.log1p(Math.exp(Math.min(one, two) - top));
}

function checkTable(check: Check, size: number): void {
  const columns = check.outcomes.length;
  const count = columns === 0 ? 0 : check.rows.length / columns;
  if (check.row.length !== size || !Number.isInteger(count) || count === 0) {
    throw new TypeError(`the table of ${check.id} has the wrong size`);
  }
}

/** Columns of the conditions named that the family knows, ascending. */
export function columnsNamed(family: Family, names: Iterable<string>): number[] {
  const found: number[] = [];
  for (const name of names) {
    const j = family.column.get(name);
    if (j !== undefined) found.push(j);
  }
  return found.sort((a, b) => a - b);
}

/** Whether each world holds any of the conditions in these columns. */
export function holdsAny(family: Family, columns: readonly number[]): Uint8Array {
  return anyOf(family, family.holds, columns);
}

/** Whether each world has any of its roots in these columns. */
export function rootsAny(family: Family, columns: readonly number[]): Uint8Array {
  return anyOf(family, family.rootsOf, columns);
}

function anyOf(
  family: Family,
  lists: readonly Uint16Array[],
  columns: readonly number[],
): Uint8Array {
  const wanted = new Uint8Array(family.conditions.length);
  for (const j of columns) wanted[j] = 1;
  const found = new Uint8Array(lists.length);
  for (let w = 0; w < lists.length; w++) {
    const list = lists[w]!;
    for (let k = 0; k < list.length && found[w] === 0; k++) found[w] = wanted[list[k]!]!;
  }
  return found;
}

/** Sum of the shares of the worlds that are marked. */
export function shareOf(marked: Uint8Array, chance: Float64Array): number {
  let sum = 0;
  for (let w = 0; w < marked.length; w++) if (marked[w]) sum += chance[w]!;
  return sum;
}

const targetsKnown = new WeakMap<Family, Map<string, Int32Array>>();

/** For every world the world left when the conditions are gone; -1 where there is none. */
export function targets(family: Family, fixes: readonly string[]): Int32Array {
  let known = targetsKnown.get(family);
  if (known === undefined) targetsKnown.set(family, (known = new Map()));
  const key = [...fixes].sort().join("\n");
  const found = known.get(key) ?? targetsAnew(family, columnsNamed(family, fixes));
  known.set(key, found);
  return found;
}

function targetsAnew(family: Family, fixed: readonly number[]): Int32Array {
  const gone = new Set(fixed);
  const lookUp = worldsByContents(family);
  const touched = holdsAny(family, fixed);
  return Int32Array.from({ length: family.size }, (_, w) =>
    touched[w] ? afterRepair(family, lookUp, w, gone) : w,
  );
}

interface LookUp {
  readonly byConditions: ReadonlyMap<string, number>;
  readonly byRoots: ReadonlyMap<string, readonly number[]>;
}

const lookUps = new WeakMap<Family, LookUp>();

function worldsByContents(family: Family): LookUp {
  const known = lookUps.get(family);
  if (known !== undefined) return known;
  const byConditions = new Map<string, number>();
  const byRoots = new Map<string, number[]>();
  for (let w = 0; w < family.size; w++) {
    const setting = family.setting[w] ?? 0;
    if (!family.calm[w]) byConditions.set(named(family.holds[w] ?? [], setting), w);
    const key = named(family.rootsOf[w] ?? [], setting);
    const alike = byRoots.get(key);
    if (alike === undefined) byRoots.set(key, [w]);
    else alike.push(w);
  }
  const made = { byConditions, byRoots };
  lookUps.set(family, made);
  return made;
}

function named(columns: ArrayLike<number>, setting: number): string {
  return `${Array.from(columns).join(",")}|${setting}`;
}

/** The world in which nothing is wrong in a setting; -1 where the family has none. */
export function soundWorld(family: Family, setting: number): number {
  return worldsByContents(family).byConditions.get(named([], setting)) ?? -1;
}

/** The world left by a repair, in the state of the one before it; -1 where there is none. */
function afterRepair(
  family: Family,
  lookUp: LookUp,
  world: number,
  gone: ReadonlySet<number>,
): number {
  const found = leftBy(family, lookUp, world, gone);
  return found < 0 || family.calm[found] === family.calm[world] ? found : family.twin[found]!;
}

/** More than any two worlds differ by. */
const BACK_AGAIN = 1e6;

/**
 * The very world left, or the one with the same roots left and the most alike traces; where all of these
 * hold something of what was removed, it is back as soon as the system runs.
 */
function leftBy(
  family: Family,
  lookUp: LookUp,
  world: number,
  gone: ReadonlySet<number>,
): number {
  const setting = family.setting[world] ?? 0;
  const left = (family.holds[world] ?? new Uint16Array()).filter((j) => !gone.has(j));
  const exact = lookUp.byConditions.get(named(left, setting));
  if (exact !== undefined) return exact;
  const roots = (family.rootsOf[world] ?? new Uint16Array()).filter((j) => !gone.has(j));
  let best = -1;
  let least = Infinity;
  for (const other of lookUp.byRoots.get(named(roots, setting)) ?? []) {
    const held = family.holds[other] ?? new Uint16Array();
    const apart = differing(held, left) + (held.some((j) => gone.has(j)) ? BACK_AGAIN : 0);
    if (apart < least) {
      least = apart;
      best = other;
    }
  }
  return best;
}

function differing(one: Uint16Array, two: Uint16Array): number {
  const common = one.reduce((n, j) => n + (two.includes(j) ? 1 : 0), 0);
  return one.length + two.length - 2 * common;
}

interface Helping {
  readonly ids: readonly string[];
  /** Per world, the positions in `ids` of the repairs that remove any of its conditions. */
  readonly conditions: readonly Uint16Array[];
  /** The same for its roots. */
  readonly roots: readonly Uint16Array[];
}

const helping = new WeakMap<Family, Helping>();

/** Which repairs remove anything of each world; made on the first call. */
export function helpingRepairs(family: Family): Helping {
  const known = helping.get(family);
  if (known !== undefined) return known;
  const fixers: number[][] = family.conditions.map(() => []);
  [...family.repairs.values()].forEach((repair, r) => {
    for (const j of columnsNamed(family, repair.fixes)) fixers[j]!.push(r);
  });
  const all = (columns: Uint16Array): Uint16Array =>
    Uint16Array.from(new Set(Array.from(columns).flatMap((j) => fixers[j]!)));
  const made = {
    ids: [...family.repairs.keys()],
    conditions: family.holds.map(all),
    roots: family.rootsOf.map(all),
  };
  helping.set(family, made);
  return made;
}

/** For every repair the share of the worlds in which it would remove something. */
export function sharesHelped(
  family: Family,
  lists: readonly Uint16Array[],
  chance: Float64Array,
): Float64Array {
  const found = new Float64Array(family.repairs.size);
  for (let w = 0; w < family.size; w++) for (const r of lists[w]!) found[r]! += chance[w]!;
  return found;
}
