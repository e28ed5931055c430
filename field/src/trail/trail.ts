/** The append-only trail of a call: merging is a union, the state is a fold (see trail.py). */

import type { Bodies, Kind } from "./body.ts";
import { understand } from "./body.ts";
import type { Event, Json } from "./event.ts";
import { MOST, inOrder } from "./event.ts";
import type { CallState, Entry, Unreadable } from "./state.ts";

/** Two different events carry the same id, or one belongs to another call. */
export class TrailClash extends Error {}

/** The events of one call, each once, causes before effects. */
export class Trail {
  readonly events: readonly Event[];
  private readonly byId: ReadonlyMap<string, Event>;

  constructor(
    readonly callId: string,
    events: Iterable<Event> = [],
  ) {
    const once = new Map<string, Event>();
    for (const event of events) {
      if (event.call_id !== callId) {
        throw new TrailClash(`event ${event.id} belongs to call ${event.call_id}, not ${callId}`);
      }
      const known = once.get(event.id);
      if (known !== undefined && !same(known, event)) {
        throw new TrailClash(`two different events are called ${event.id}`);
      }
      once.set(event.id, known ?? event);
    }
    this.byId = once;
    this.events = [...once.values()].sort(inOrder);
  }

  /** The trail with these events as well; those it has already change nothing. */
  add(events: Iterable<Event>): Trail {
    return new Trail(this.callId, [...this.events, ...events]);
  }

  find(id: string): Event | undefined {
    return this.byId.get(id);
  }

  /** The Lamport time of an event made now by somebody who has seen this trail. */
  nextLamport(): number {
    return Math.min(this.events.reduce((most, event) => Math.max(most, event.lamport), 0) + 1, MOST);
  }

  nextSeq(deviceId: string): number {
    const own = this.events.filter((event) => event.device_id === deviceId);
    return Math.min(own.reduce((most, event) => Math.max(most, event.seq), 0) + 1, MOST);
  }

  /**
   * The events that no standing withdrawal takes back, withdrawals included. A withdrawal reaches
   * only events before it, so going from the last to the first settles each before it is asked for.
   */
  standing(): Event[] {
    const takenBack = new Set<string>();
    const kept: Event[] = [];
    for (const event of [...this.events].reverse()) {
      if (takenBack.has(event.id)) continue;
      kept.push(event);
      const target = withdrawnId(event);
      if (target !== "") takenBack.add(target);
    }
    return kept.reverse();
  }
}

/** The id of the event that this one takes back; empty when it takes back none. */
export function withdrawnId(event: Event): string {
  if (event.kind !== "withdrawn") return "";
  const said = understand(event.kind, event.body);
  return said !== null && typeof said !== "string" && said.kind === "withdrawn"
    ? said.body.event_id
    : "";
}

/** What the standing events amount to; nothing that a trail can hold makes this fail. */
export function fold(trail: Trail): CallState {
  const standing = trail.standing();
  const kept = new Set(standing.map((event) => event.id));
  const timeline: Entry[] = [];
  const unreadable: Unreadable[] = [];
  const newer: string[] = [];
  for (const event of standing) {
    if (withdrawnId(event) !== "") continue;
    const said = understand(event.kind, event.body);
    if (said === null) newer.push(event.id);
    else if (typeof said === "string") unreadable.push({ eventId: event.id, problem: said });
    else timeline.push({ ...said, eventId: event.id, deviceId: event.device_id, at: event.at_utc });
  }
  const withdrawn = trail.events
    .filter((event) => !kept.has(event.id) && event.kind !== "withdrawn")
    .map((event) => event.id);
  return { callId: trail.callId, timeline, withdrawn, unreadable, newer };
}

/** The event that says something now, on this device, after everything in the trail. */
export function makeEvent<K extends Kind>(
  trail: Trail,
  deviceId: string,
  id: string,
  now: Date,
  kind: K,
  body: Bodies[K],
): Event {
  return {
    id,
    call_id: trail.callId,
    device_id: deviceId,
    seq: trail.nextSeq(deviceId),
    lamport: trail.nextLamport(),
    at_utc: now.toISOString(),
    kind,
    body: plain(body),
  };
}

/**
 * The events of this device that undo takes back: what was said last, and whatever was said in the same
 * act (they bear one time); the opening of the call stays.
 */
export function lastAct(trail: Trail, deviceId: string): Event[] {
  const own = trail.standing().filter((event) => event.device_id === deviceId);
  const opening = trail.events[0]?.id;
  const last = own.findLast(({ kind, id }) => kind !== "withdrawn" && id !== opening);
  return own.filter(({ id, at_utc }) => at_utc === last?.at_utc && id !== opening);
}

function plain(body: object): { readonly [key: string]: Json } {
  return JSON.parse(JSON.stringify(body)) as { readonly [key: string]: Json };
}

function same(one: Event, two: Event): boolean {
  return one === two || canonical(one) === canonical(two);
}

/** Equal for equal events, however their keys are ordered and their time is written. */
function canonical(event: Event): string {
  return sorted({ ...event, at_utc: new Date(event.at_utc).toISOString() } as unknown as Json);
}

function sorted(value: Json): string {
  if (Array.isArray(value)) return `[${value.map(sorted).join(",")}]`;
  if (typeof value !== "object" || value === null) return JSON.stringify(value);
  const keys = Object.keys(value).sort();
  const fields = value as { readonly [key: string]: Json };
  return `{${keys.map((key) => `${JSON.stringify(key)}:${sorted(fields[key]!)}`).join(",")}}`;
}

