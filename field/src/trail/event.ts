/** One event of a call's trail: what happened, on which device, and after what (see event.py). */

export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

export interface Event {
  readonly id: string;
  readonly call_id: string;
  readonly device_id: string;
  /** Counts the device's own events in this call, from 1. */
  readonly seq: number;
  /** One more than the largest the device had seen in this call. */
  readonly lamport: number;
  /** The device's own clock, for people to read: nothing is ordered by it. */
  readonly at_utc: string;
  readonly kind: string;
  readonly body: { readonly [key: string]: Json };
}

const ID = /^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$/;
const KIND = /^[a-z][a-z0-9_]{0,39}$/;
export const MOST = Number.MAX_SAFE_INTEGER;

/** An event, or a reason in words why it is none. */
export function readEvent(record: unknown): Event | string {
  if (typeof record !== "object" || record === null) return "an event is an object";
  const event = record as Partial<Event>;
  for (const name of ["id", "call_id", "device_id"] as const) {
    if (typeof event[name] !== "string" || !ID.test(event[name])) return `${name} cannot be used`;
  }
  if (typeof event.kind !== "string" || !KIND.test(event.kind)) return "kind cannot be used";
  for (const name of ["seq", "lamport"] as const) {
    const count = event[name];
    if (!Number.isSafeInteger(count) || (count as number) < 1) return `${name} is no count`;
  }
  if (typeof event.at_utc !== "string" || Number.isNaN(Date.parse(event.at_utc))) {
    return "at_utc is not a time";
  }
  if (typeof event.body !== "object" || event.body === null || Array.isArray(event.body)) {
    return "body is not an object";
  }
  return event as Event;
}

/** Causes come before their effects whatever the clocks say, and no two events are equal. */
export function inOrder(a: Event, b: Event): number {
  return (
    a.lamport - b.lamport ||
    byCode(a.device_id, b.device_id) ||
    a.seq - b.seq ||
    byCode(a.id, b.id)
  );
}

function byCode(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** A random id of 128 bits; works where a page is not served securely as well. */
export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
