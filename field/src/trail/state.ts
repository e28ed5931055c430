/** The state of a call, read back from the events that stand (see state.py). */

import type { Bodies, Kind, ProofResult, Said, Setting } from "./body.ts";

/** One standing event, understood: where it came from and what it says. */
export type Entry = Said & {
  readonly eventId: string;
  readonly deviceId: string;
  readonly at: string;
};
export type EntryOf<K extends Kind> = Entry & { readonly kind: K; readonly body: Bodies[K] };

/** An event of a known kind whose contents cannot be used: kept, told, passed over. */
export interface Unreadable {
  readonly eventId: string;
  readonly problem: string;
}

export interface CallState {
  readonly callId: string;
  readonly timeline: readonly Entry[];
  readonly withdrawn: readonly string[];
  readonly unreadable: readonly Unreadable[];
  readonly newer: readonly string[];
}

export function entriesOf<K extends Kind>(state: CallState, kind: K): EntryOf<K>[] {
  return state.timeline.filter((entry): entry is EntryOf<K> => entry.kind === kind);
}

export interface Opened {
  readonly caller?: string;
  readonly address?: string;
  readonly complaint_words?: string;
  readonly site: Readonly<Record<string, Setting>>;
}

/** What is known of caller, address, complaint and site; later words win, field by field. */
export function openedOf(state: CallState): Opened {
  let found: Opened = { site: {} };
  for (const { body } of entriesOf(state, "call_opened")) {
    found = { ...found, ...body, site: { ...found.site, ...body.site } };
  }
  return found;
}

/** The latest archetype named, by the caller or on site. */
export function archetypeOf(state: CallState): string | null {
  let named: string | null = null;
  for (const entry of state.timeline) {
    if (entry.kind === "call_opened" || entry.kind === "system_described") {
      named = entry.body.archetype ?? named;
    }
  }
  return named;
}

/** Every option that was described, at its latest value or "unknown". */
export function settingsOf(state: CallState): Readonly<Record<string, Setting>> {
  return Object.assign(
    {},
    ...entriesOf(state, "system_described").map((entry) => entry.body.settings ?? {}),
  ) as Record<string, Setting>;
}

/** The reason by check or repair id; a step that was done afterwards is no longer here. */
export function deferredOf(state: CallState): ReadonlyMap<string, string> {
  const waiting = new Map<string, string>();
  for (const entry of state.timeline) {
    if (entry.kind === "step_deferred") {
      waiting.set(entry.body.step_id, entry.body.reason ?? "");
    } else {
      waiting.delete(stepDone(entry));
    }
  }
  return waiting;
}

/** How every proof came out when it was made last. */
export function latestResults(state: CallState): ReadonlyMap<string, ProofResult> {
  return new Map(entriesOf(state, "proof_done").map(({ body }) => [body.proof_id, body.result]));
}

/** Where the technician is; null before they went anywhere. */
export function placeOf(state: CallState): string | null {
  return entriesOf(state, "went_to").pop()?.body.place ?? null;
}

/** How the call ended; null while it is open. */
export function closedOf(state: CallState): Bodies["closed"] | null {
  return entriesOf(state, "closed").pop()?.body ?? null;
}

function stepDone(entry: Entry): string {
  switch (entry.kind) {
    case "reading_taken":
      return entry.body.check_id;
    case "repair_done":
      return entry.body.repair_id;
    case "proof_done":
      return entry.body.proof_id;
    default:
      return "";
  }
}
