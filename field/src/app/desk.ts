/** What the pages stand on: the calls of this device, the open one, and whether there is signal. */

import { computed, signal } from "@preact/signals";
import type { Catalog } from "../engine/catalog.ts";
import { readCatalog } from "../engine/catalog.ts";
import type { CompiledCall } from "../engine/compiled_call.ts";
import { UnusableCompiledCall, readCompiledCall } from "../engine/compiled_call.ts";
import { settledAnew } from "./settled.ts";
import { stepped } from "./stepped.ts";
import { rehearsal, tablesOf } from "../engine/readiness.ts";
import type { Database, KeptCompiled, KeptPhoto } from "../keep/database.ts";
import {
  allEvents,
  deviceId,
  eventsOf,
  findCompiled,
  keepCatalog,
  keepCompiled,
  keepEvents,
  keepPhoto,
  keptCatalog,
  openDatabase,
  photosOf,
} from "../keep/database.ts";
import { exchange, keepUnion } from "../sync/exchange.ts";
import type { CallLine } from "../sync/server.ts";
import {
  NoSignal,
  NotPaired,
  Refused,
  fetchCalls,
  fetchCatalog,
  fetchCompiled,
  fetchEvents,
  fetchKindCompiled,
} from "../sync/server.ts";
import type { Bodies, Kind } from "../trail/body.ts";
import type { Event } from "../trail/event.ts";
import { newId } from "../trail/event.ts";
import { archetypeOf, openedOf } from "../trail/state.ts";
import { Trail, fold, lastAct, makeEvent, withdrawnId } from "../trail/trail.ts";
import { atOnce, meanwhile } from "./meanwhile.ts";

export type Signal = "unknown" | "there" | "none" | "not-paired";

/** A kind of event and what it says. */
export type Saying = { readonly [K in Kind]: readonly [K, Bodies[K]] }[Kind];

/** What the phone takes along for calls that begin without signal. */
const SEASONS = ["cooling", "heating"] as const;
const AGAIN_MS = 15_000;

const ANEW =
  "Worked out anew for this very system, by what is known of it: the shares and the next step may differ.";

class Desk {
  readonly catalog = signal<Catalog | null>(null);
  readonly lines = signal<readonly CallLine[]>([]);
  readonly trail = signal<Trail | null>(null);
  readonly compiled = signal<CompiledCall | null>(null);
  readonly photos = signal<readonly KeptPhoto[]>([]);
  readonly server = signal<Signal>("unknown");
  /** What went wrong and has to be told, until it is dismissed. */
  readonly trouble = signal<string>("");
  /** What the last entry came to, in words; until something else is said. */
  readonly notice = signal<string>("");
  /** What is being fetched or compiled, in words; empty when nothing is. */
  readonly waiting = signal<string>("");
  readonly ready = signal(false);

  readonly state = computed(() => (this.trail.value === null ? null : fold(this.trail.value)));
  readonly guide = computed(() => {
    const state = this.state.value;
    const call = this.compiled.value;
    const data = this.catalog.value;
    if (state === null || call === null || data === null) return null;
    return archetypeOf(state) === call.description.archetype ? stepped(state, call, data) : null;
  });

  private database!: Database;
  /** Whether the catalog was fetched since the app started: a newer server has newer texts. */
  private hasLatestCatalog = false;
  private device = "";
  private busy: Promise<void> | null = null;
  /** For what the open call was compiled anew last, so that it is asked for once. */
  private settledFor = "";
  /** Whether a compiled call could not be had for want of signal. */
  private missed = false;

  /** Opens what this device keeps, and then asks the server. */
  async start(): Promise<void> {
    this.database = await openDatabase();
    this.device = await deviceId(this.database);
    const kept = await keptCatalog(this.database);
    if (kept !== undefined) this.catalog.value = readCatalog(kept);
    await this.listOwn();
    this.ready.value = true;
    window.addEventListener("online", () => void this.meet());
    setInterval(() => document.visibilityState === "visible" && void this.meet(), AGAIN_MS);
    await this.meet();
    void this.takeAlong();
  }

  /** Opens a call, from this device or from the server. */
  async open(callId: string): Promise<void> {
    if (this.trail.value?.callId === callId) return;
    this.trail.value = null;
    this.compiled.value = null;
    this.notice.value = "";
    let events = await eventsOf(this.database, callId);
    if (events.length === 0) {
      await this.asking("Fetching the call", async () =>
        keepUnion(this.database, await fetchEvents(callId)),
      );
      events = await eventsOf(this.database, callId);
    }
    if (events.length === 0) {
      this.trouble.value = "This call is not on this device, and the server did not give it.";
      return;
    }
    this.trail.value = new Trail(callId, events);
    this.photos.value = await photosOf(this.database, callId);
    await this.compile();
    void this.meet();
  }

  close(): void {
    this.trail.value = null;
    this.compiled.value = null;
    this.notice.value = "";
    void this.listOwn();
  }

  /** Starts a call; everything may stay unknown. */
  async begin(body: Bodies["call_opened"]): Promise<string> {
    const callId = newId();
    this.trail.value = new Trail(callId);
    this.compiled.value = null;
    this.photos.value = [];
    await this.say("call_opened", body);
    return callId;
  }

  /** Says something about the open call: kept on this device first, then sent; false: not kept. */
  async say<K extends Kind>(kind: K, body: Bodies[K]): Promise<boolean> {
    return this.sayAll([[kind, body] as unknown as Saying]);
  }

  /** Says several things at once: kept all or none, and weighed once. */
  async sayAll(said: readonly Saying[]): Promise<boolean> {
    let trail = this.trail.value;
    if (trail === null) return false;
    const events: Event[] = [];
    const now = new Date();
    for (const [kind, body] of said) {
      const event = makeEvent(trail, this.device, newId(), now, kind, body);
      trail = trail.add([event]);
      events.push(event);
    }
    try {
      await keepEvents(this.database, events, 1);
    } catch (error) {
      this.trouble.value = String((error as Error).message);
      return false;
    }
    const open = this.trail.value;
    this.notice.value = "";
    if (open?.callId === trail.callId) this.trail.value = open.add(events);
    void this.meet();
    return true;
  }

  /** Whether there is anything to undo. */
  get undoable(): boolean {
    return this.trail.value !== null && lastAct(this.trail.value, this.device).length > 0;
  }

  async undo(): Promise<void> {
    const last = this.trail.value === null ? [] : lastAct(this.trail.value, this.device);
    await this.sayAll(last.reverse().map(({ id }) => ["withdrawn", { event_id: id }] as const));
  }

  async takeBack(eventId: string): Promise<void> {
    await this.say("withdrawn", { event_id: eventId });
  }

  /** Brings back an event, whoever took it back. */
  async restore(eventId: string): Promise<void> {
    for (const event of this.trail.value?.standing() ?? []) {
      if (withdrawnId(event) === eventId) await this.takeBack(event.id);
    }
  }

  async addPhoto(image: Blob, words: string, stepId: string): Promise<boolean> {
    const trail = this.trail.value;
    if (trail === null) return false;
    const photo: KeptPhoto = {
      photo_id: newId(),
      call_id: trail.callId,
      image,
      unsent: 1,
    };
    try {
      await keepPhoto(this.database, photo);
    } catch (error) {
      this.trouble.value = String((error as Error).message);
      return false;
    }
    this.photos.value = [...this.photos.value, photo];
    return this.say("photo_taken", {
      photo_id: photo.photo_id,
      words,
      ...(stepId === "" ? {} : { step_id: stepId }),
    });
  }

  /** Finds or fetches the compiled call of the open call. */
  async compile(): Promise<void> {
    const state = this.state.value;
    if (state === null) return;
    const archetype = archetypeOf(state);
    if (archetype === null) return;
    const season = String(openedOf(state).site["season"] ?? "");
    const kept = await findCompiled(this.database, state.callId, archetype, season);
    const used = kept !== undefined && (this.isInUse(kept) || (await this.use(kept)));
    const outdated = this.isOutdated;
    if (!used || kept.call_id === "" || outdated) {
      void this.fetchOwn(state.callId, archetype, outdated);
    }
  }

  /** Whether the call was compiled with another catalog than this device has now. */
  private get isOutdated(): boolean {
    const [call, data] = [this.compiled.value, this.catalog.value];
    return call !== null && data !== null && call.catalog !== data.hash;
  }

  /** Whether nothing better than this is in use: a copy of any system of a kind never replaces another. */
  private isInUse({ call_id, archetype }: KeptCompiled): boolean {
    return call_id === "" && this.compiled.value?.description.archetype === archetype;
  }

  /** Uses a compiled call; false where it cannot be, which is told and set right. */
  private async use(kept: KeptCompiled): Promise<boolean> {
    try {
      await this.take(readCompiledCall(kept.bytes));
      return true;
    } catch (error) {
      if (!(error instanceof UnusableCompiledCall)) throw error;
      this.trouble.value = `${error.message} ${error.wayOut}`;
      await this.database.delete("compiled", kept.key);
      return false;
    }
  }

  /** Puts a compiled call to use, and goes through the next steps beforehand while the page rests. */
  private async take(call: CompiledCall): Promise<void> {
    const open = this.trail.value?.callId;
    await atOnce(tablesOf(call));
    if (this.trail.value?.callId !== open) return;
    const other = this.guide.value !== null && this.compiled.value?.key !== call.key;
    this.compiled.value = call;
    if (other) this.notice.value = ANEW;
    const guide = this.guide.value;
    if (guide !== null && guide.phase !== "closed") meanwhile(rehearsal(guide));
  }

  /** Has the open call compiled anew, because what is known of its system was put right. */
  async compileAnew(): Promise<void> {
    const state = this.state.value;
    const archetype = state === null ? null : archetypeOf(state);
    if (state === null || archetype === null) return;
    if (this.compiled.value?.description.archetype !== archetype) await this.compile();
    await this.fetchOwn(state.callId, archetype, true);
  }

  /** Has the call compiled anew, once, where its system is known better than what is in use knows it. */
  private async settle(): Promise<void> {
    const guide = this.guide.value;
    if (this.waiting.value !== "") return;
    if (this.missed) await this.compile();
    if (guide === null || guide.phase === "closed") return;
    const known = Object.entries(settledAnew(guide));
    const mark = JSON.stringify([guide.state.callId, known]);
    if (known.length === 0 || mark === this.settledFor) return;
    this.settledFor = mark;
    await this.fetchOwn(guide.state.callId, guide.archetype, true);
    if (this.server.value === "none") this.settledFor = "";
  }

  /** Has the server compile what is known of this very system; used at once only on the phone. */
  private async fetchOwn(callId: string, archetype: string, again = false): Promise<void> {
    await this.asking("Working out what could be wrong with this system", async () => {
      await exchange(this.database, callId);
      const bytes = await fetchCompiled(callId);
      const call = readCompiledCall(bytes);
      if (this.trail.value?.callId === callId) {
        const onSite = this.guide.value !== null && this.guide.value.phase !== "phone";
        if (!onSite || again) await this.take(call);
      }
      await keepCompiled(this.database, {
        key: call.key,
        bytes,
        archetype,
        season: call.description.season ?? "",
        call_id: callId,
        made_at_utc: call.madeAtUtc,
      });
    });
    this.missed = this.server.value === "none";
  }

  /** Takes the kinds of system along, for calls that begin without signal. */
  private async takeAlong(): Promise<void> {
    if (savesData()) return;
    for (const { id } of this.catalog.value?.archetypes.values() ?? []) {
      for (const season of SEASONS) {
        const general = await this.database.getAllFromIndex("compiled", "call_id", "");
        if (general.some((one) => one.archetype === id && one.season === season)) continue;
        if (!(await this.takenAlong(id, season))) return;
        if (this.trail.value !== null && this.compiled.value === null) await this.compile();
      }
    }
  }

  /** Whether a kind of system could be taken along; what cannot be had now is asked for later. */
  private async takenAlong(archetype: string, season: string): Promise<boolean> {
    try {
      const bytes = await fetchKindCompiled(archetype, season);
      const { key, madeAtUtc } = readCompiledCall(bytes);
      const kept = { key, bytes, archetype, season, call_id: "", made_at_utc: madeAtUtc };
      await keepCompiled(this.database, kept);
      return true;
    } catch {
      return false;
    }
  }

  /** Meets the server once: sends, fetches, lists. */
  async meet(): Promise<void> {
    this.busy ??= this.asking("", () => this.exchanged()).finally(() => (this.busy = null));
    await this.busy;
  }

  private async exchanged(): Promise<void> {
    if (!this.hasLatestCatalog) {
      const file = await fetchCatalog();
      await keepCatalog(this.database, file);
      this.catalog.value = readCatalog(file);
      this.hasLatestCatalog = true;
      if (this.isOutdated) await this.compile();
    }
    const open = this.trail.value?.callId ?? null;
    const changed = await exchange(this.database, open);
    this.server.value = "there";
    const trail = this.trail.value;
    if (trail !== null && changed.has(trail.callId)) {
      const merged = trail.add(await eventsOf(this.database, trail.callId));
      if (merged.events.length !== trail.events.length) this.trail.value = merged;
      const photos = await photosOf(this.database, trail.callId);
      if (photos.length !== this.photos.value.length) this.photos.value = photos;
    }
    void this.settle();
    if (open === null) this.lines.value = this.together(await fetchCalls(), await this.ownLines());
  }

  /** Does something that needs the server, and keeps in mind whether there is signal. */
  private async asking(words: string, act: () => Promise<void>): Promise<void> {
    if (words !== "") this.waiting.value = words;
    try {
      await act();
    } catch (error) {
      if (error instanceof NoSignal) this.server.value = "none";
      else if (error instanceof NotPaired) this.server.value = "not-paired";
      else if (error instanceof Refused || error instanceof Error) this.trouble.value = error.message;
      else throw error;
    } finally {
      if (words !== "") this.waiting.value = "";
    }
  }

  private async listOwn(): Promise<void> {
    this.lines.value = this.together(this.lines.value, await this.ownLines());
  }

  private together(one: readonly CallLine[], own: readonly CallLine[]): readonly CallLine[] {
    const all = new Map(one.map((line) => [line.call_id, line]));
    for (const line of own) all.set(line.call_id, line);
    return [...all.values()].sort((a, b) => (a.last_at_utc < b.last_at_utc ? 1 : -1));
  }

  private async ownLines(): Promise<CallLine[]> {
    const found: CallLine[] = [];
    for (const [callId, events] of await allEvents(this.database)) {
      const trail = new Trail(callId, events);
      const state = fold(trail);
      const opened = openedOf(state);
      const times = trail.events.map((event) => event.at_utc).sort();
      found.push({
        call_id: callId,
        status: state.timeline.some((entry) => entry.kind === "closed") ? "closed" : "open",
        caller: opened.caller ?? null,
        address: opened.address ?? null,
        complaint_words: opened.complaint_words ?? null,
        archetype: archetypeOf(state),
        event_count: events.length,
        first_at_utc: times[0] ?? "",
        last_at_utc: times[times.length - 1] ?? "",
      });
    }
    return found;
  }
}

/** What the caller says of a check, as an event. */
export function reported(checkId: string, answer: string): Saying {
  const body = { check_id: checkId, answer, reported_by: "caller", place: "phone" } as const;
  return ["reading_taken", body];
}

/** Whether the person asked the device to load no more than needed. */
function savesData(): boolean {
  const { connection } = navigator as { connection?: { readonly saveData?: boolean } };
  return connection?.saveData === true;
}

export const desk = new Desk();
