/** What this device keeps, in IndexedDB: events first of all, so that nothing is lost. */

import type { DBSchema, IDBPDatabase } from "idb";
import { openDB } from "idb";
import type { CatalogFile } from "../engine/catalog.ts";
import type { Event } from "../trail/event.ts";
import { newId } from "../trail/event.ts";

export interface KeptEvent {
  readonly id: string;
  readonly call_id: string;
  readonly event: Event;
  /** 1 while the server has not acknowledged it. */
  readonly unsent: 0 | 1;
}

export interface KeptCompiled {
  /** Its own key; that of a call's copy also names the call, so that like systems share none. */
  readonly key: string;
  readonly bytes: ArrayBuffer;
  readonly archetype: string;
  readonly season: string;
  /** Compiled for one call, or for any of its kind. */
  readonly call_id: string;
  readonly made_at_utc: string;
}

export interface KeptPhoto {
  readonly photo_id: string;
  readonly call_id: string;
  readonly image: Blob;
  readonly unsent: 0 | 1;
}

interface Schema extends DBSchema {
  events: { key: string; value: KeptEvent; indexes: { call_id: string; unsent: number } };
  compiled: { key: string; value: KeptCompiled; indexes: { call_id: string } };
  photos: { key: string; value: KeptPhoto; indexes: { call_id: string; unsent: number } };
  facts: { key: string; value: unknown };
}

export type Database = IDBPDatabase<Schema>;

/** The device has no room left for what was to be kept. */
export class StorageFull extends Error {
  constructor() {
    super("This device has no room left: nothing more can be kept. Free some space, then go on.");
  }
}

export function openDatabase(name = "catchpan"): Promise<Database> {
  return openDB<Schema>(name, 1, {
    upgrade(database) {
      const events = database.createObjectStore("events", { keyPath: "id" });
      events.createIndex("call_id", "call_id");
      events.createIndex("unsent", "unsent");
      const compiled = database.createObjectStore("compiled", { keyPath: "key" });
      compiled.createIndex("call_id", "call_id");
      const photos = database.createObjectStore("photos", { keyPath: "photo_id" });
      photos.createIndex("call_id", "call_id");
      photos.createIndex("unsent", "unsent");
      database.createObjectStore("facts");
    },
  });
}

/** Keeps events; those that are there already change nothing but may become acknowledged. */
export async function keepEvents(
  database: Database,
  events: Iterable<Event>,
  unsent: 0 | 1,
): Promise<void> {
  await full(async () => {
    const transaction = database.transaction("events", "readwrite");
    for (const event of events) {
      const known = await transaction.store.get(event.id);
      if (known !== undefined && (unsent === 1 || known.unsent === 0)) continue;
      const kept = known?.event ?? event;
      await transaction.store.put({ id: event.id, call_id: event.call_id, event: kept, unsent });
    }
    await transaction.done;
  });
}

export async function eventsOf(database: Database, callId: string): Promise<Event[]> {
  const kept = await database.getAllFromIndex("events", "call_id", callId);
  return kept.map(({ event }) => event);
}

/** Events of every call on this device, by call. */
export async function allEvents(database: Database): Promise<Map<string, Event[]>> {
  const found = new Map<string, Event[]>();
  for (const { call_id, event } of await database.getAll("events")) {
    const list = found.get(call_id);
    if (list === undefined) found.set(call_id, [event]);
    else list.push(event);
  }
  return found;
}

export async function unsentEvents(database: Database): Promise<KeptEvent[]> {
  return database.getAllFromIndex("events", "unsent", 1);
}

/** Keeps a compiled call; of one call the copy kept last, whatever its server made when. */
export async function keepCompiled(database: Database, compiled: KeptCompiled): Promise<void> {
  const { call_id, archetype } = compiled;
  const key = call_id === "" ? compiled.key : `${call_id} ${compiled.key}`;
  await full(async () => {
    const transaction = database.transaction("compiled", "readwrite");
    if (call_id !== "") {
      for (const one of await transaction.store.index("call_id").getAll(call_id)) {
        if (one.archetype === archetype) await transaction.store.delete(one.key);
      }
    }
    await transaction.store.put({ ...compiled, key });
    await transaction.done;
  });
}

/** The compiled call to use: made for this call, or else for its kind of system and season. */
export async function findCompiled(
  database: Database,
  callId: string,
  archetype: string,
  season: string,
): Promise<KeptCompiled | undefined> {
  const own = await database.getAllFromIndex("compiled", "call_id", callId);
  const made = own
    .filter((one) => one.archetype === archetype)
    .sort((a, b) => (a.made_at_utc < b.made_at_utc ? 1 : -1));
  if (made[0] !== undefined) return made[0];
  const general = await database.getAllFromIndex("compiled", "call_id", "");
  const fitting = general.filter((one) => one.archetype === archetype);
  return fitting.find((one) => one.season === season) ?? fitting[0];
}

export async function keepPhoto(database: Database, photo: KeptPhoto): Promise<void> {
  await full(() => database.put("photos", photo));
}

export async function photosOf(database: Database, callId: string): Promise<KeptPhoto[]> {
  return database.getAllFromIndex("photos", "call_id", callId);
}

export async function keepCatalog(database: Database, file: CatalogFile): Promise<void> {
  await full(() => database.put("facts", file, "catalog"));
}

export async function keptCatalog(database: Database): Promise<CatalogFile | undefined> {
  return (await database.get("facts", "catalog")) as CatalogFile | undefined;
}

/** The id of this device, made once. */
export async function deviceId(database: Database): Promise<string> {
  const known = await database.get("facts", "device_id");
  if (typeof known === "string") return known;
  const made = `phone-${newId().slice(0, 12)}`;
  await database.put("facts", made, "device_id");
  return made;
}

/** Turns a refusal for want of room into words. */
async function full<T>(act: () => Promise<T>): Promise<T> {
  try {
    return await act();
  } catch (error) {
    if (error instanceof DOMException && error.name === "QuotaExceededError") {
      throw new StorageFull();
    }
    throw error;
  }
}
