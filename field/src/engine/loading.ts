/** What to load into the truck, and an honest range of cost and time (see loading.py). */

import type { Belief } from "./belief.ts";
import { byCode } from "./belief.ts";
import type { Catalog, RepairEntry } from "./catalog.ts";
import { proofCost } from "./expected_cost.ts";
import type { Check, Family } from "./family.ts";
import { LATENT, OTHER, shareOf } from "./family.ts";
import type { Likelihoods } from "./likelihood.ts";
import { needTable } from "./need.ts";
import type { Plan } from "./planner.ts";
import type { Situation } from "./situation.ts";
import { totalCost } from "./situation.ts";
import { coverMinutes, coversOf, needsPowerOff } from "./safety_order.ts";
import type { Likely } from "./telling.ts";
import { likeliest, toldBits } from "./telling.ts";

export interface Item {
  readonly name: string;
  readonly chance: number;
  readonly kind: "part" | "tool";
}

/** What is still to come: expected, and from the 10th to the 90th percentile of the worlds. */
export interface CostRange {
  readonly minutes: number;
  readonly minutesLow: number;
  readonly minutesHigh: number;
  readonly dollars: number;
  readonly dollarsLow: number;
  readonly dollarsHigh: number;
  readonly handedOver: number;
}

interface Bills {
  readonly minutes: Float64Array;
  readonly dollars: Float64Array;
  readonly handedOver: Uint8Array;
  readonly byMinutes: Int32Array;
  readonly byDollars: Int32Array;
}

export function costRange(belief: Belief, plan: Plan, situation: Situation): CostRange {
  const { family } = belief;
  const chance = belief.probabilities();
  const bills = billsOf(family);
  const rate = family.dollarsPerMinute;
  const drive = situation.onPhone ? family.dispatchMinutes : 0;
  const owed = [...situation.unproven]
    .sort(byCode)
    .reduce((sum, id) => sum + family.checks.get(id)!.minutes, 0);
  const told = dot(chance, bills.dollars) + owed * rate;
  const looking = lookingDollars(belief, plan, drive * rate, told);
  const always = owed + drive;
  const minutes = bills.minutes.map((m, w) => m + (family.lasts[w] ? 0 : looking / rate) + always);
  const dollars = bills.dollars.map((d, w) => d + (family.lasts[w] ? 0 : looking) + always * rate);
  const nextStep = nextDollars(plan);
  const [minutesLow, minutesHigh] = percentiles(minutes, bills.byMinutes, family, chance);
  const [dollarsLow, dollarsHigh] = percentiles(dollars, bills.byDollars, family, chance);
  return {
    minutes: dot(chance, minutes),
    minutesLow,
    minutesHigh,
    dollars: Math.max(dot(chance, dollars), nextStep),
    dollarsLow: Math.max(dollarsLow, nextStep),
    dollarsHigh: Math.max(dollarsHigh, nextStep),
    handedOver: shareOf(bills.handedOver, chance),
  };
}

/** What the next step costs by itself; nothing where there is none. */
function nextDollars(plan: Plan): number {
  const steps = plan.steps.filter((step) => step.target !== "leave" && step.target !== "danger");
  return steps[0]?.ownCost ?? 0;
}

function dot(one: Float64Array, two: Float64Array): number {
  return one.reduce((sum, value, i) => sum + value * two[i]!, 0);
}

/** What finding out is expected to cost: the bits still open, at what the best checks ask. */
function lookingDollars(belief: Belief, plan: Plan, drive: number, told: number): number {
  const steps = plan.steps.filter((step) => step.target !== "leave" && step.target !== "danger");
  const ahead = steps.slice(0, 1).map((step) => totalCost(step) - drive);
  const most = Math.max(0, Math.min(...ahead, plan.repairNow) - told);
  return Math.min(most, openBits(belief) * dollarsPerBit(belief));
}

function openBits(belief: Belief): number {
  const chance = belief.probabilities();
  const { ofWorld, count } = needTable(belief.family);
  const shares = new Float64Array(count);
  for (let w = 0; w < chance.length; w++) shares[ofWorld[w]!]! += chance[w]!;
  let bits = 0;
  for (const share of shares) if (share > 0) bits -= share * Math.log2(share);
  return bits;
}

function dollarsPerBit(belief: Belief): number {
  const { family } = belief;
  const prices: number[] = [];
  for (const [id, told] of toldBits(belief)) {
    const check = family.checks.get(id)!;
    if (told >= family.constants.TELLING_BITS && !check.proof) {
      prices.push(checkCost(family, check) / told);
    }
  }
  const best = prices.sort((a, b) => a - b).slice(0, 5);
  return best.length > 0 ? best.reduce((a, b) => a + b, 0) / best.length : 0;
}

function checkCost(family: Family, check: Check): number {
  let minutes = check.minutes + 3 * coversOf(check.requires).length;
  if (needsPowerOff(check.requires)) minutes += family.powerMinutes;
  return minutes * family.dollarsPerMinute + check.hazardCost + 1;
}

/** The 10th and the 90th percentile of what rises in an order for worlds that last, and for others. */
function percentiles(
  values: Float64Array,
  order: Int32Array,
  { lasts }: Family,
  chance: Float64Array,
): [number, number] {
  const [one, two] = [order.filter((w) => lasts[w]), order.filter((w) => !lasts[w])];
  let sum = 0;
  let low: number | null = null;
  let value = 0;
  for (let i = 0, j = 0; i < one.length || j < two.length; ) {
    const first = j >= two.length || (i < one.length && values[one[i]!]! <= values[two[j]!]!);
    const w = first ? one[i++]! : two[j++]!;
    value = values[w]!;
    sum += chance[w]!;
    if (low === null && sum >= 0.1) low = value;
    if (sum >= 0.9) break;
  }
  return [low ?? value, value];
}

/** Positions by rising value. */
function rising(values: Float64Array): Int32Array {
  return Int32Array.from(values.keys()).sort((a, b) => values[a]! - values[b]! || a - b);
}

const knownBills = new WeakMap<Family, Bills>();

/** Minutes and dollars of the bare repairs of every world, and what is handed over. */
function billsOf(family: Family): Bills {
  const known = knownBills.get(family);
  if (known !== undefined) return known;
  const chosen = cheapestRepairs(family);
  const minutes = new Float64Array(family.size);
  const dollars = new Float64Array(family.size);
  const handedOver = new Uint8Array(family.size);
  const works = new Map<string, { minutes: number; dollars: number; refer: boolean }>();
  for (let w = 0; w < family.size; w++) {
    const need = Array.from(family.needs[w]!, (j) => family.conditions[j]!);
    const repairs = [...new Set(need.flatMap((c) => chosen.get(c) ?? []))].sort(byCode);
    const missing = family.other[w] === 1 || need.some((c) => !chosen.has(c));
    const key = repairs.join(",");
    const work = works.get(key) ?? workOf(family, repairs);
    works.set(key, work);
    minutes[w] = work.minutes + (missing ? family.referMinutes : 0);
    const extra = missing ? family.callBackDollars : 0;
    dollars[w] = work.minutes * family.dollarsPerMinute + work.dollars + extra;
    handedOver[w] = missing || work.refer ? 1 : 0;
  }
  const [byMinutes, byDollars] = [rising(minutes), rising(dollars)];
  const made = { minutes, dollars, handedOver, byMinutes, byDollars };
  knownBills.set(family, made);
  return made;
}

/** Minutes and parts of some repairs, each place and cover paid once. */
function workOf(
  family: Family,
  ids: readonly string[],
): { minutes: number; dollars: number; refer: boolean } {
  const repairs = ids.map((id) => family.repairs.get(id)!);
  let minutes = 0;
  for (const place of new Set(repairs.map((repair) => repair.place))) {
    minutes += family.places.get(place)?.travel_minutes ?? 0;
  }
  for (const cover of new Set(repairs.flatMap((repair) => coversOf(repair.requires)))) {
    minutes += coverMinutes(family, cover);
  }
  for (const repair of repairs) {
    minutes += repair.minutes + proofCost(family, repair) / family.dollarsPerMinute;
  }
  if (repairs.some((repair) => needsPowerOff(repair.requires))) minutes += family.powerMinutes;
  return {
    minutes,
    dollars: repairs.reduce((sum, repair) => sum + repair.dollars, 0),
    refer: repairs.some((repair) => repair.refer),
  };
}

/** For every condition the repair that removes it at least expense. */
function cheapestRepairs(family: Family): Map<string, string> {
  const found = new Map<string, { cost: number; id: string }>();
  for (const repair of family.repairs.values()) {
    const cost = (repair.minutes * family.dollarsPerMinute + repair.dollars) / repair.success;
    for (const condition of repair.fixes) {
      const best = found.get(condition);
      if (best === undefined || cost < best.cost || (cost === best.cost && repair.id < best.id)) {
        found.set(condition, { cost, id: repair.id });
      }
    }
  }
  return new Map([...found].map(([condition, { id }]) => [condition, id]));
}

/** What to load, the likeliest to be used first. */
export function loadList(belief: Belief, data: Catalog): Item[] {
  const { family } = belief;
  const chance = belief.probabilities();
  const chosen = cheapestRepairs(family);
  const telling = tellingChecks(belief, data);
  const items = new Map<string, Omit<Item, "chance">>();
  const wanted: number[][] = family.conditions.map(() => []);
  const number = new Map<string, number>();
  family.conditions.forEach((condition, j) => {
    if (condition === OTHER || family.kinds.get(condition) === LATENT) return;
    const repair = chosen.get(condition);
    const work = repair === undefined ? undefined : data.repairs.get(repair);
    const parts = work?.load ?? [];
    const check = telling.get(condition);
    const tools = work === undefined ? [] : toolsOf(work, data);
    if (check !== undefined) tools.push(data.checks.get(check)!.tool);
    for (const item of [...parts.map(part), ...tools.map(tool)]) {
      const key = `${item.kind} ${item.name}`;
      if (!number.has(key)) number.set(key, number.size);
      items.set(key, item);
      wanted[j]!.push(number.get(key)!);
    }
  });
  const chances = usedChances(family, wanted, number.size, chance);
  return [...items]
    .map(([key, item]) => ({ ...item, chance: chances[number.get(key)!]! }))
    .filter((item) => item.chance >= family.constants.WORTH_LOADING)
    .sort(
      (a, b) =>
        Math.round(b.chance * 1000) - Math.round(a.chance * 1000) ||
        byCode(a.kind, b.kind) ||
        byCode(a.name, b.name),
    );
}

/** What a repair and its proofs are made with, without what stays in the house. */
function toolsOf(work: RepairEntry, data: Catalog): string[] {
  const proofs = work.proofs.map((name) => data.proofs.get(name)?.tool ?? "");
  return [...(work.tools ?? []), ...proofs.filter((name) => name !== "")];
}

const part = (name: string): Omit<Item, "chance"> => ({ name, kind: "part" });
const tool = (name: string): Omit<Item, "chance"> => ({ name, kind: "tool" });

/** The chance that a world wants each thing, whichever of its conditions asks for it. */
function usedChances(
  family: Family,
  wanted: readonly (readonly number[])[],
  count: number,
  chance: Float64Array,
): Float64Array {
  const found = new Float64Array(count);
  const seen = new Int32Array(count).fill(-1);
  for (let w = 0; w < family.size; w++) {
    for (const j of family.holds[w]!) {
      for (const item of wanted[j]!) {
        if (seen[item] === w) continue;
        seen[item] = w;
        found[item]! += chance[w]!;
      }
    }
  }
  return found;
}

/** Bits for a dollar that are the last digits of nothing (see loading.py). */
const TELLS_NOTHING = 1e-9;

/** For each condition the check with a tool that tells it best for its cost, as the belief stands. */
function tellingChecks(belief: Belief, data: Catalog): Map<string, string> {
  const { family } = belief;
  const best = new Map<string, { value: number; id: string }>();
  const likely = likeliest(belief);
  const mass = massOfConditions(family, likely);
  for (const id of [...family.checks.keys()].sort(byCode)) {
    if (!data.checks.get(id)?.tool) continue;
    const check = family.checks.get(id)!;
    const cost = checkCost(family, check);
    bitsByCondition(belief.table(check), family, likely, mass).forEach((bits, j) => {
      // equal but for the last bits is equal, as in loading.py
      const value = Math.fround(bits / cost);
      const condition = family.conditions[j]!;
      const leader = best.get(condition);
      const better = value > (leader?.value ?? 0) || (value === leader?.value && id > leader.id);
      if (value > TELLS_NOTHING && better) best.set(condition, { value, id });
    });
  }
  return new Map([...best].map(([condition, { id }]) => [condition, id]));
}

function massOfConditions(family: Family, { worlds, share }: Likely): Float64Array {
  const mass = new Float64Array(family.conditions.length);
  for (const w of worlds) for (const j of family.holds[w]!) mass[j]! += share[w]!;
  return mass;
}

/** How far an answer under each condition is from the usual one, in bits. */
function bitsByCondition(
  { row, rows, columns }: Likelihoods,
  family: Family,
  { worlds, share }: Likely,
  mass: Float64Array,
): Float64Array {
  const under = new Float64Array(mass.length * columns);
  const usual = new Float64Array(columns);
  for (const w of worlds) {
    const at = row[w]! * columns;
    for (let c = 0; c < columns; c++) {
      const p = share[w]! * rows[at + c]!;
      usual[c]! += p;
      for (const j of family.holds[w]!) under[j * columns + c]! += p;
    }
  }
  return mass.map((m, j) => {
    let bits = 0;
    for (let c = 0; c < columns; c++) {
      const p = under[j * columns + c]! / Math.max(m, 1e-300);
      bits += p * Math.log2(Math.max(p, 1e-12) / usual[c]!);
    }
    return bits;
  });
}
