/** What the events of each kind carry, and how it is checked (see body.py). */

import type { Json } from "./event.ts";

export type Setting = boolean | number | string;
export type Settings = Readonly<Record<string, Setting>>;
export type Reporter = "caller" | "technician";
export type RepairOutcome = "worked" | "did_not" | "not_yet_known";
export type ProofResult = "pass" | "fail" | "too_close";
export type CallOutcome = "fixed" | "made_safe" | "referred" | "no_fault_found" | "abandoned";

export interface Bodies {
  call_opened: {
    readonly caller?: string;
    readonly address?: string;
    readonly complaint_words?: string;
    readonly archetype?: string;
    readonly site?: Settings;
  };
  system_described: { readonly settings?: Settings; readonly archetype?: string };
  reading_taken: {
    readonly check_id: string;
    readonly answer?: string;
    readonly value?: number;
    readonly unit?: string;
    readonly si_value?: number;
    readonly si_sd?: number;
    /** What the part itself says it should be, in the same unit. */
    readonly printed?: number;
    readonly over_limit?: boolean;
    readonly reported_by?: Reporter;
    readonly place?: string;
  };
  step_deferred: { readonly step_id: string; readonly reason?: string };
  went_to: { readonly place: string };
  power_set: { readonly where: string; readonly on: boolean };
  repair_done: { readonly repair_id: string; readonly outcome: RepairOutcome };
  proof_done: {
    readonly proof_id: string;
    readonly result: ProofResult;
    readonly value?: number;
    readonly unit?: string;
    readonly si_value?: number;
    readonly printed?: number;
  };
  latent_found: { readonly latent_id: string; readonly words?: string };
  photo_taken: { readonly photo_id: string; readonly words?: string; readonly step_id?: string };
  noted: { readonly text: string };
  closed: {
    readonly outcome: CallOutcome;
    readonly causes?: readonly string[];
    readonly words?: string;
  };
  withdrawn: { readonly event_id: string };
}

export type Kind = keyof Bodies;
export type Said = { [K in Kind]: { readonly kind: K; readonly body: Bodies[K] } }[Kind];

/** Says what is wrong with a value, or nothing. */
type Rule = (value: Json) => string;

interface Field {
  readonly rule: Rule;
  readonly needed?: boolean;
}

const length = (text: string): number => Array.from(text).length;
const name: Rule = (value) =>
  typeof value === "string" && length(value) >= 1 && length(value) <= 200 ? "" : "1 to 200 letters";
const text: Rule = (value) =>
  typeof value === "string" && length(value) <= 20_000 ? "" : "at most 20000 letters";
const number: Rule = (value) =>
  typeof value === "number" && Number.isFinite(value) ? "" : "a number";
const aboveNothing: Rule = (value) =>
  typeof value === "number" && Number.isFinite(value) && value > 0 ? "" : "a number above 0";
const truth: Rule = (value) => (typeof value === "boolean" ? "" : "true or false");
const names: Rule = (value) =>
  Array.isArray(value) && value.every((one) => name(one) === "") ? "" : "a list of names";
const settings: Rule = (value) =>
  typeof value === "object" &&
  value !== null &&
  !Array.isArray(value) &&
  Object.entries(value).every(([key, set]) => name(key) === "" && isSetting(set))
    ? ""
    : "names with a value each";
const oneOf =
  (...known: readonly string[]): Rule =>
  (value) =>
    typeof value === "string" && known.includes(value) ? "" : `one of ${known.join(", ")}`;

function isSetting(value: Json): boolean {
  if (typeof value === "number") return Number.isFinite(value);
  return typeof value === "boolean" || typeof value === "string";
}

const FIELDS: { readonly [K in Kind]: Readonly<Record<string, Field>> } = {
  call_opened: {
    caller: { rule: text },
    address: { rule: text },
    complaint_words: { rule: text },
    archetype: { rule: name },
    site: { rule: settings },
  },
  system_described: { settings: { rule: settings }, archetype: { rule: name } },
  reading_taken: {
    check_id: { rule: name, needed: true },
    answer: { rule: name },
    value: { rule: number },
    unit: { rule: name },
    si_value: { rule: number },
    si_sd: { rule: number },
    printed: { rule: aboveNothing },
    over_limit: { rule: truth },
    reported_by: { rule: oneOf("caller", "technician") },
    place: { rule: name },
  },
  step_deferred: { step_id: { rule: name, needed: true }, reason: { rule: text } },
  went_to: { place: { rule: name, needed: true } },
  power_set: { where: { rule: name, needed: true }, on: { rule: truth, needed: true } },
  repair_done: {
    repair_id: { rule: name, needed: true },
    outcome: { rule: oneOf("worked", "did_not", "not_yet_known"), needed: true },
  },
  proof_done: {
    proof_id: { rule: name, needed: true },
    result: { rule: oneOf("pass", "fail", "too_close"), needed: true },
    value: { rule: number },
    unit: { rule: name },
    si_value: { rule: number },
    printed: { rule: aboveNothing },
  },
  latent_found: { latent_id: { rule: name, needed: true }, words: { rule: text } },
  photo_taken: {
    photo_id: { rule: name, needed: true },
    words: { rule: text },
    step_id: { rule: name },
  },
  noted: { text: { rule: text, needed: true } },
  closed: {
    outcome: {
      rule: oneOf("fixed", "made_safe", "referred", "no_fault_found", "abandoned"),
      needed: true,
    },
    causes: { rule: names },
    words: { rule: text },
  },
  withdrawn: { event_id: { rule: name, needed: true } },
};

/** Fields that may be there and empty, which then count as not said. */
const MAY_BE_NULL: ReadonlySet<string> = new Set([
  "caller",
  "address",
  "complaint_words",
  "archetype",
  "answer",
  "value",
  "unit",
  "si_value",
  "si_sd",
  "printed",
  "place",
  "step_id",
]);

/** What an event says; a text: what is wrong with it; null: of a kind of a newer version. */
export function understand(kind: string, body: { readonly [key: string]: Json }): Said | string | null {
  if (!Object.hasOwn(FIELDS, kind)) return null;
  const fields = FIELDS[kind as Kind];
  const found: Record<string, Json> = {};
  for (const [key, { rule, needed }] of Object.entries(fields)) {
    const value = body[key];
    if (value === undefined || (value === null && MAY_BE_NULL.has(key))) {
      if (needed === true) return `${kind}: ${key} is missing`;
      continue;
    }
    const wrong = rule(value);
    if (wrong !== "") return `${kind}: ${key} cannot be used; wanted ${wrong}`;
    found[key] = value;
  }
  const said = { kind, body: found } as unknown as Said;
  return (said.kind === "reading_taken" ? answerOrNumber(said.body) : "") || said;
}

function answerOrNumber(body: Bodies["reading_taken"]): string {
  const parts = [body.value, body.unit, body.si_value];
  const given = parts.filter((part) => part !== undefined).length;
  const overLimit = body.over_limit === true;
  const complete = overLimit ? given === 1 && body.unit !== undefined : given === 3;
  const nothing = given === 0 && !overLimit;
  if (!(body.answer !== undefined ? nothing : complete)) {
    return "reading_taken: wanted either an answer, or a number with its unit and SI value";
  }
  if (body.printed !== undefined && body.value === undefined) {
    return "reading_taken: what is printed goes with a number";
  }
  return (body.si_sd ?? 0) < 0 ? "reading_taken: the standard deviation is negative" : "";
}
