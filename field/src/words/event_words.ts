/** An event of a call's trail as a line a person reads (see event_words.py). */

import type { Catalog, OptionEntry } from "../engine/catalog.ts";
import { SYSTEM } from "../engine/forecast.ts";
import { CLEARED } from "../engine/guide.ts";
import type { Bodies } from "../trail/body.ts";
import type { Entry } from "../trail/state.ts";
import { capital, placeWords } from "./acts.ts";
import { percent, plainUnits } from "./numbers.ts";

export const WORKED = {
  worked: "it works now",
  did_not: "the trouble was still there",
  not_yet_known: "not judged yet",
} as const;

export const RESULT = { pass: "pass", fail: "fail", too_close: "too close to call" } as const;

export function eventWords(data: Catalog, entry: Entry): string {
  switch (entry.kind) {
    case "reading_taken":
      return `${checkTitle(data, entry.body.check_id)}: ${readingWords(data, entry.body)}`;
    case "repair_done":
      return `Repair: ${stepTitle(data, entry.body.repair_id)}; ${WORKED[entry.body.outcome]}`;
    case "proof_done":
      return `Proof: ${stepTitle(data, entry.body.proof_id)}; ${proofWords(entry.body)}`;
    case "step_deferred": {
      const reason = entry.body.reason ? ` (${entry.body.reason})` : "";
      return `Put off: ${stepTitle(data, entry.body.step_id)}${reason}`;
    }
    case "went_to":
      return `Went to: ${placeWords(data, entry.body.place)}`;
    case "power_set":
      return entry.body.on ? "Power back on" : "Power off and proved dead";
    case "noted":
      return `Note: ${entry.body.text}`;
    case "photo_taken":
      return `Photo${entry.body.words ? `: ${entry.body.words}` : ""}`;
    case "latent_found":
      return `Found, not yet troubling: ${data.faults.get(entry.body.latent_id)?.title ?? entry.body.latent_id}`;
    case "closed":
      return `Closed: ${entry.body.outcome.replaceAll("_", " ")}`;
    case "system_described": {
      const { archetype, settings } = entry.body;
      const kind = archetype === undefined ? [] : [kindTitle(data, archetype)];
      const said = Object.entries(settings ?? {}).map(([k, v]) => settingWords(data, k, String(v)));
      return `System: ${[...kind, ...said].join("; ")}`;
    }
    case "call_opened":
      return openedWords(data, entry.body);
    case "withdrawn":
      return "Took something back";
  }
}

/** What a caller said of themselves, the house and the system; empty where nothing was said. */
export function openedWords(data: Catalog, body: Bodies["call_opened"]): string {
  const named: [string, string | undefined][] = [
    ["Caller", body.caller],
    ["Address", body.address],
    ["In the caller's words", body.complaint_words],
    ["Kind of system", body.archetype && kindTitle(data, body.archetype)],
  ];
  const said = named.flatMap(([k, v]) => (v ? [`${k}: ${v}`] : []));
  for (const [key, value] of Object.entries(body.site ?? {})) {
    if (key.startsWith(CLEARED)) {
      const head = value === true ? "Danger dealt with" : "Still dangerous";
      said.push(`${head}: ${checkTitle(data, key.slice(CLEARED.length))}`);
    } else if (key === "season" || key === "age_years") {
      said.push(`${key === "season" ? "Season" : "Age in years"}: ${value}`);
    }
  }
  return said.join("; ");
}

export function readingWords(data: Catalog, body: Bodies["reading_taken"]): string {
  if (body.answer !== undefined) {
    const found = data.checks.get(body.check_id)?.answers.find((one) => one.id === body.answer);
    return found?.label ?? optionTitle(data, body) ?? capital(body.answer.replaceAll("-", " "));
  }
  if (body.over_limit === true || body.value === undefined) return "OL";
  return numberWords(body.value, body.unit ?? "", body.printed);
}

function optionTitle(data: Catalog, body: Bodies["reading_taken"]): string | undefined {
  const option = optionOf(data, data.checks.get(body.check_id)?.of ?? "");
  return option?.values.find((one) => one.id === body.answer)?.title;
}

function settingWords(data: Catalog, name: string, value: string): string {
  const option = optionOf(data, name);
  const title = option?.values.find((one) => one.id === value)?.title ?? value;
  return `${option?.title ?? name.replaceAll("_", " ")}: ${title}`;
}

function optionOf(data: Catalog, name: string): OptionEntry | undefined {
  for (const kind of data.archetypes.values()) {
    const found = kind.options.find((one) => one.id === name);
    if (found !== undefined) return found;
  }
  return undefined;
}

function proofWords(body: Bodies["proof_done"]): string {
  const { value, unit = "", printed } = body;
  const number = value === undefined ? "" : `${numberWords(value, unit, printed)}, `;
  return number + RESULT[body.result];
}

/** A number with its unit, and its share of what is printed on the part. */
export function numberWords(value: number, unit: string, printed?: number): string {
  const shown = (number: number): number => Number(number.toPrecision(6));
  const share =
    printed === undefined ? "" : ` of ${shown(printed)} printed (${percent(value / printed)})`;
  return `${shown(value)} ${plainUnits(unit)}${share}`;
}

export function checkTitle(data: Catalog, id: string): string {
  return data.checks.get(id)?.title ?? data.proofs.get(id)?.title ?? id;
}

export function kindTitle(data: Catalog, id: string): string {
  return data.archetypes.get(id)?.title ?? id;
}

export function stepTitle(data: Catalog, id: string): string {
  if (id === SYSTEM) return "Run the system and see that it works";
  return data.repairs.get(id)?.title ?? checkTitle(data, id);
}
