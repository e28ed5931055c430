/** What comes before a step, and other words of the trade that the planner says in short. */

import type { Catalog } from "../engine/catalog.ts";
import { NO_FAULT } from "../engine/causes.ts";
import { OTHER } from "../engine/family.ts";
import type { Situation } from "../engine/situation.ts";

const ACTS: Readonly<Record<string, string>> = {
  "open outdoor unit": "Take the service panel off the outdoor unit",
  "open indoor unit": "Open the indoor unit",
  "open thermostat": "Take the thermostat off its base",
  "open panel": "Licensed persons only: take the front off the breaker panel",
  "set the thermostat to cool": "Set the thermostat to call for cooling",
  "set the thermostat to heat": "Set the thermostat to call for heating",
  "set the thermostat to off": "Switch the thermostat off, fan on AUTO",
  "set the thermostat to fan": "Set the thermostat to FAN ON, system off",
  "set the thermostat to emergency": "Set the thermostat to EMERGENCY HEAT",
};

export function actWords(act: string): string {
  if (act.startsWith("go to ") && !act.startsWith("go to the ")) {
    return `Go to the ${act.slice("go to ".length)}`;
  }
  return ACTS[act] ?? capital(act);
}

export function capital(text: string): string {
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}

/** The words for what may lead: a cause, no fault, or something outside the library. */
export function causeWords(data: Catalog, id: string): string {
  if (id === NO_FAULT) return "Nothing wrong";
  if (id === OTHER) return "Something not in this list";
  return data.faults.get(id)?.title ?? capital(id.replaceAll(/[/_-]/g, " "));
}

/** What technicians call a part of the system. */
export function partWords({ words }: Catalog, id: string): string {
  return words.parts[id] ?? words.unwired[id] ?? id.replaceAll("_", " ");
}

export function placeWords(data: Catalog, place: string): string {
  if (place === "" || place === "site") return "The house";
  return place === "phone" ? "On the phone" : (data.places.get(place)?.title ?? capital(place));
}

const DEMANDS: Readonly<Record<string, string>> = {
  cool: "cooling called",
  heat: "heating called",
  fan: "fan on",
  emergency: "emergency heat called",
  off: "nothing called",
};

export function demandWords(demand: string): string {
  return DEMANDS[demand] ?? "";
}

/** What is put back as it was before anybody leaves a system that works. */
export function putBackWords(data: Catalog, { powerOff, opened }: Situation): string[] {
  const covers = [...opened].sort().map((cover) => placeWords(data, cover).toLowerCase());
  return [
    ...(covers.length > 0 ? [`Covers back on: ${covers.join(", ")}`] : []),
    ...(powerOff ? ["Power back on at the breaker and the disconnect"] : []),
    "Thermostat as the house wants it; see it start once more",
  ];
}
