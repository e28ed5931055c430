/** What must come before what, so that nobody gets hurt (see safety_order.py). */

import type { Belief, Reading } from "./belief.ts";
import { byCode, outcomePosition } from "./belief.ts";
import type { Check, Family, Repair } from "./family.ts";
import {
  CALL_PREFIX,
  COVER_PREFIX,
  DISCHARGED,
  PHONE,
  POWER_OFF,
  POWER_ON,
} from "./family.ts";
import type { Situation } from "./situation.ts";

export const SWITCH_OFF = "switch off and prove dead";
export const DISCHARGE = "discharge the capacitor and prove it";
export const SWITCH_ON = "close up what is live, stand clear and switch on";
export const LEAVE = [
  "everyone out of the danger",
  "touch no switch on the way",
  "call for help from outside",
] as const;

type Tokens = Iterable<string>;

/** The acts that come first, their minutes, and the situation after them. */
export interface Preparation {
  readonly acts: readonly string[];
  readonly minutes: number;
  readonly after: Situation;
}

export function needsPowerOff(requires: Tokens): boolean {
  for (const token of requires) if (token === POWER_OFF || token === DISCHARGED) return true;
  return false;
}

function after(requires: Tokens, prefix: string): string[] {
  const found: string[] = [];
  for (const token of requires) if (token.startsWith(prefix)) found.push(token.slice(prefix.length));
  return found.sort(byCode);
}

export function coversOf(requires: Tokens): string[] {
  return after(requires, COVER_PREFIX);
}

export function demandOf(requires: Tokens): string {
  return after(requires, CALL_PREFIX)[0] ?? "";
}

export function coverMinutes(family: Family, cover: string): number {
  for (const place of family.places.values()) {
    const minutes = place.covers[cover];
    if (minutes !== undefined) return minutes;
  }
  return 0;
}

/** Everything to be done first, in the order that is safe: go, switch, open, discharge, call. */
export function prepare(
  family: Family,
  situation: Situation,
  place: string,
  requires: ReadonlySet<string>,
  group = "",
): Preparation {
  const acts: string[] = [];
  let minutes = 0;
  const add = (act: string, spent: number): void => {
    acts.push(act);
    minutes += spent;
  };
  if (place !== situation.place && place !== PHONE) {
    const site = family.places.get(place);
    if (site === undefined) throw new TypeError(`unknown place ${place}`);
    add(`go to ${site.title.slice(0, 1).toLowerCase()}${site.title.slice(1)}`, site.travel_minutes);
  }
  const off = needsPowerOff(requires);
  const demand = demandOf(requires);
  if (off && !situation.powerOff) add(SWITCH_OFF, family.powerMinutes);
  const covers = coversOf(requires).filter((cover) => !situation.opened.has(cover));
  for (const cover of covers) {
    add(`open ${cover.replaceAll("_", " ")}`, coverMinutes(family, cover));
  }
  if (requires.has(DISCHARGED)) add(DISCHARGE, 1);
  const live = requires.has(POWER_ON) || demand !== "";
  if (live && situation.powerOff) add(SWITCH_ON, family.powerMinutes);
  if (demand !== "" && demand !== situation.demand) {
    add(`set the thermostat to ${demand}`, family.callMinutes);
  }
  const setting = family.groupMinutes.get(group) ?? 0;
  if (setting > 0 && !situation.setUp.has(group)) {
    add(`set up the ${group.replaceAll("-", " ")}`, setting);
  }
  return {
    acts,
    minutes,
    after: {
      ...situation,
      place: place === PHONE ? situation.place : place,
      opened: covers.length > 0 ? new Set([...situation.opened, ...covers]) : situation.opened,
      powerOff: off || (situation.powerOff && !live),
      demand: demand !== "" ? demand : situation.demand,
      setUp: group !== "" ? new Set([...situation.setUp, group]) : situation.setUp,
    },
  };
}

export function checkAllowed(check: Check, situation: Situation): boolean {
  if (situation.done.has(check.id) || situation.deferred.has(check.id) || check.proof) return false;
  if (needsPowerOff(check.requires) && check.requires.has(POWER_ON)) return false;
  if (!situation.onPhone) return check.place !== PHONE;
  return check.phone && !onlyForTechnicians(check.requires);
}

/** Whether a proof that is owed may be made now; a caller proves what a caller mended. */
export function proofAllowed(proof: Check, situation: Situation): boolean {
  if (situation.deferred.has(proof.id)) return false;
  return !(situation.onPhone && onlyForTechnicians(proof.requires));
}

export function repairAllowed(repair: Repair, situation: Situation): boolean {
  if (situation.done.has(repair.id) || situation.deferred.has(repair.id)) return false;
  if (!situation.onPhone) return true;
  return repair.caller_safe && !repair.refer && !onlyForTechnicians(repair.requires);
}

/** Readings of all stages that mean danger and were not dealt with on site. */
export function standingDangers(belief: Belief, situation: Situation): Reading[] {
  return [...belief.earlier, ...belief.readings].filter(
    (reading) =>
      (situation.onPhone || !situation.cleared.has(reading.checkId)) &&
      isDanger(belief.family, reading),
  );
}

/** Whether this is a question about danger on the phone, which comes before all others. */
export function screensDanger(family: Family, checkId: string, situation: Situation): boolean {
  const check = family.checks.get(checkId);
  return situation.onPhone && check !== undefined && check.outcomes.some((o) => o.danger);
}

function isDanger(family: Family, reading: Reading): boolean {
  const check = family.checks.get(reading.checkId);
  return check !== undefined && check.outcomes[outcomePosition(check, reading)]!.danger;
}

function onlyForTechnicians(requires: Tokens): boolean {
  return needsPowerOff(requires) || coversOf(requires).length > 0;
}
