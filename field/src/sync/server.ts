/** The server, as the phone asks it; docs/api.md describes the answers. */

import type { CatalogFile } from "../engine/catalog.ts";
import type { Event } from "../trail/event.ts";

const API = "/api/1";

/** No answer: no signal, or no server. */
export class NoSignal extends Error {}

/** This device was not let in yet. */
export class NotPaired extends Error {
  constructor() {
    super("This device is not let in yet: open the address that the server printed once.");
  }
}

/** The server understood and refused. */
export class Refused extends Error {
  readonly code: string;

  constructor(code: string, message: string) {
    super(message);
    this.code = code;
  }
}

export interface CallLine {
  readonly call_id: string;
  readonly status: string;
  readonly caller: string | null;
  readonly address: string | null;
  readonly complaint_words: string | null;
  readonly archetype: string | null;
  readonly event_count: number;
  readonly first_at_utc: string;
  readonly last_at_utc: string;
}

async function asked(path: string, init: RequestInit = {}): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(`${API}${path}`, { credentials: "same-origin", ...init });
  } catch {
    throw new NoSignal("no signal");
  }
  if (response.ok || response.status === 304) return response;
  if (response.status === 401) throw new NotPaired();
  if (response.status >= 502 && response.status <= 504) throw new NoSignal("the server is away");
  const problem = (await response.json().catch(() => ({}))) as { code?: string; message?: string };
  throw new Refused(problem.code ?? "internal", problem.message ?? "The server refused this.");
}

export async function fetchCatalog(): Promise<CatalogFile> {
  return (await (await asked("/catalog")).json()) as CatalogFile;
}

export async function fetchCalls(): Promise<readonly CallLine[]> {
  const answer = (await (await asked("/calls")).json()) as { calls: readonly CallLine[] };
  return answer.calls;
}

export async function fetchEvents(callId: string): Promise<readonly Event[]> {
  const answer = (await (await asked(`/calls/${callId}/events`)).json()) as {
    events: readonly Event[];
  };
  return answer.events;
}

/** Sends events and returns the union of both sides. */
export async function sendEvents(
  callId: string,
  events: readonly Event[],
): Promise<readonly Event[]> {
  const response = await asked(`/calls/${callId}/events`, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ events }),
  });
  return ((await response.json()) as { events: readonly Event[] }).events;
}

export async function fetchCompiled(callId: string): Promise<ArrayBuffer> {
  return (await asked(`/calls/${callId}/compiled`)).arrayBuffer();
}

export async function fetchKindCompiled(archetype: string, season: string): Promise<ArrayBuffer> {
  const query = season === "" ? "" : `?season=${season}`;
  return (await asked(`/archetypes/${archetype}/compiled${query}`)).arrayBuffer();
}

export async function sendPhoto(callId: string, photoId: string, image: Blob): Promise<void> {
  await asked(`/calls/${callId}/photos/${photoId}`, {
    method: "PUT",
    headers: { "content-type": image.type },
    body: image,
  });
}

/** The photos of a call whose image the server holds. */
export async function listPhotos(callId: string): Promise<readonly { photo_id: string }[]> {
  const answer = (await (await asked(`/calls/${callId}/photos`)).json()) as {
    photos: readonly { photo_id: string; has_image: boolean }[];
  };
  return answer.photos.filter((photo) => photo.has_image);
}

export async function fetchPhoto(callId: string, photoId: string): Promise<Blob> {
  return (await asked(`/calls/${callId}/photos/${photoId}`)).blob();
}
