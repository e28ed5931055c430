/** Exchange with the server: union by id, in any order, any number of times; photos follow. */

import type { Database } from "../keep/database.ts";
import { keepEvents, keepPhoto, photosOf, unsentEvents } from "../keep/database.ts";
import type { Event } from "../trail/event.ts";
import { readEvent } from "../trail/event.ts";
import { fetchEvents, fetchPhoto, listPhotos, sendEvents, sendPhoto } from "./server.ts";

/** Sends what the server has not seen; returns the calls that changed here by its answers. */
export async function exchange(database: Database, open: string | null): Promise<Set<string>> {
  const waiting = new Map<string, Event[]>();
  for (const { call_id, event } of await unsentEvents(database)) {
    waiting.set(call_id, [...(waiting.get(call_id) ?? []), event]);
  }
  const changed = new Set<string>();
  for (const [callId, events] of waiting) {
    await keepUnion(database, await sendEvents(callId, events));
    changed.add(callId);
  }
  if (open !== null && !waiting.has(open)) {
    await keepUnion(database, await fetchEvents(open));
    changed.add(open);
  }
  await sendPhotos(database);
  if (open !== null) await fetchPhotos(database, open);
  return changed;
}

/** Fetches what other devices photographed in the open call; an image not sent yet comes later. */
async function fetchPhotos(database: Database, callId: string): Promise<void> {
  const kept = new Set((await photosOf(database, callId)).map((photo) => photo.photo_id));
  for (const { photo_id } of await listPhotos(callId)) {
    if (kept.has(photo_id)) continue;
    const image = await fetchPhoto(callId, photo_id);
    await keepPhoto(database, { photo_id, call_id: callId, image, unsent: 0 });
  }
}

/** Keeps what the server holds; what cannot be read as an event is left to newer versions. */
export async function keepUnion(database: Database, union: readonly unknown[]): Promise<void> {
  const events = union.map(readEvent).filter((event): event is Event => typeof event !== "string");
  await keepEvents(database, events, 0);
}

async function sendPhotos(database: Database): Promise<void> {
  for (const photo of await database.getAllFromIndex("photos", "unsent", 1)) {
    await sendPhoto(photo.call_id, photo.photo_id, photo.image);
    await keepPhoto(database, { ...photo, unsent: 0 });
  }
}
