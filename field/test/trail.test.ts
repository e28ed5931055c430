import { describe, expect, it } from "vitest";
import type { Bodies, Kind } from "../src/trail/body.ts";
import { understand } from "../src/trail/body.ts";
import type { Event } from "../src/trail/event.ts";
import { readEvent } from "../src/trail/event.ts";
import { closedOf, deferredOf, entriesOf, openedOf, placeOf, settingsOf } from "../src/trail/state.ts";
import { Trail, TrailClash, fold, lastAct, makeEvent } from "../src/trail/trail.ts";

const NOON = new Date("2025-07-04T12:00:00Z");

function told<K extends Kind>(
  trail: Trail,
  kind: K,
  body: Bodies[K],
  device = "phone-a",
  at = NOON,
): Trail {
  const id = `${device}.${trail.events.length + 1}`;
  return trail.add([makeEvent(trail, device, id, at, kind, body)]);
}

function opened(): Trail {
  return told(new Trail("call"), "call_opened", { caller: "Neighbor", site: { season: "cooling" } });
}

/** The same events in every order a short list can have. */
function orders(events: readonly Event[]): Event[][] {
  if (events.length < 2) return [[...events]];
  return events.flatMap((event, i) =>
    orders([...events.slice(0, i), ...events.slice(i + 1)]).map((rest) => [event, ...rest]),
  );
}

describe("merging", () => {
  const common = opened();
  const one = told(told(common, "went_to", { place: "site" }), "noted", { text: "from a" });
  const two = told(common, "reading_taken", { check_id: "lv/fuse", answer: "blown" }, "phone-b");
  const union = one.add(two.events);

  it("is a union, in any order and any number of times", () => {
    for (const events of orders(union.events)) {
      const merged = new Trail("call", [...events, ...events.slice(1)]);
      expect(merged.events).toEqual(union.events);
      expect(fold(merged)).toEqual(fold(union));
    }
    expect(two.add(one.events).events).toEqual(union.events);
  });

  it("keeps causes before effects although a clock is years behind", () => {
    const behind = new Date("1999-01-01T00:00:00Z");
    const later = told(union, "noted", { text: "after all" }, "phone-b", behind);
    expect(later.events.at(-1)?.body["text"]).toBe("after all");
    expect(new Set(later.events.map((event) => event.lamport)).size).toBeGreaterThan(3);
  });

  it("refuses an event of another call, and other contents under a known id", () => {
    const event = one.events[1]!;
    expect(() => one.add([{ ...event, call_id: "other" }])).toThrow(TrailClash);
    expect(() => one.add([{ ...event, body: { place: "roof" } }])).toThrow(TrailClash);
  });

  it("takes the same event with its keys in another order, and its time written otherwise", () => {
    const { body, kind, ...rest } = one.events[0]!;
    const site = body["site"] as Record<string, string>;
    const same = { kind, ...rest, at_utc: "2025-07-04T12:00:00Z", body: { site, caller: "Neighbor" } };
    expect(one.add([same]).events.length).toBe(one.events.length);
  });
});

describe("taking back", () => {
  it("withdraws, restores, and withdraws again", () => {
    let trail = told(opened(), "noted", { text: "wrong" });
    const note = trail.events.at(-1)!.id;
    trail = told(trail, "withdrawn", { event_id: note });
    const first = trail.events.at(-1)!.id;
    expect(entriesOf(fold(trail), "noted")).toEqual([]);
    expect(fold(trail).withdrawn).toEqual([note]);
    trail = told(trail, "withdrawn", { event_id: first });
    expect(entriesOf(fold(trail), "noted").length).toBe(1);
    trail = told(trail, "withdrawn", { event_id: note });
    expect(entriesOf(fold(trail), "noted")).toEqual([]);
  });

  it("undoes what this device did last, and never the opening of the call", () => {
    const trail = told(told(opened(), "noted", { text: "mine" }), "noted", { text: "b" }, "phone-b");
    expect(lastAct(trail, "phone-a").map(({ body }) => body["text"])).toEqual(["mine"]);
    expect(lastAct(opened(), "phone-a")).toEqual([]);
  });

  it("undoes what was said of the call itself after its opening", () => {
    let trail = told(opened(), "noted", { text: "before" });
    const marked = { site: { "cleared:danger/water": true } };
    trail = told(trail, "call_opened", marked, "phone-a", new Date("2026-01-02T03:04:05Z"));
    expect(lastAct(trail, "phone-a").map(({ body }) => body)).toEqual([marked]);
  });

  it("undoes what was said in one act together, and what that act took back", () => {
    const now = new Date("2026-01-02T03:04:05Z");
    let trail = told(opened(), "noted", { text: "before" });
    const before = trail.events.at(-1)!.id;
    const act = [
      ["withdrawn", { event_id: before }],
      ["noted", { text: "after" }],
      ["call_opened", { site: { dangers_asked: true } }],
    ] as const;
    for (const [kind, body] of act) {
      trail = trail.add([makeEvent(trail, "phone-a", `act-${kind}`, now, kind, body)]);
    }
    for (const { id } of lastAct(trail, "phone-a").reverse()) {
      trail = told(trail, "withdrawn", { event_id: id });
    }
    expect(entriesOf(fold(trail), "noted").map(({ body }) => body.text)).toEqual(["before"]);
    expect(entriesOf(fold(trail), "call_opened").length).toBe(1);
  });
});

describe("the state", () => {
  it("lets later words win, field by field", () => {
    const trail = told(opened(), "call_opened", { address: "Here", site: { age_years: 11 } });
    const { caller, address, site } = openedOf(fold(trail));
    expect({ caller, address, site }).toEqual({
      caller: "Neighbor",
      address: "Here",
      site: { season: "cooling", age_years: 11 },
    });
  });

  it("knows place, settings, what is put off, and how it ended", () => {
    let trail = told(opened(), "system_described", { settings: { drain: "unknown" } });
    trail = told(trail, "system_described", { settings: { drain: "gravity" } });
    trail = told(trail, "step_deferred", { step_id: "a/b", reason: "dark" });
    trail = told(trail, "step_deferred", { step_id: "c/d" });
    trail = told(trail, "went_to", { place: "roof" });
    trail = told(trail, "reading_taken", { check_id: "c/d", answer: "yes" });
    const state = fold(told(trail, "closed", { outcome: "fixed", causes: ["x/y"] }));
    expect(settingsOf(state)).toEqual({ drain: "gravity" });
    expect([...deferredOf(state)]).toEqual([["a/b", "dark"]]);
    expect(placeOf(state)).toBe("roof");
    expect(closedOf(state)?.outcome).toBe("fixed");
  });

  it("keeps what cannot be used, tells it, and passes over it", () => {
    const trail = opened();
    const last = trail.events[0]!;
    const odd = (id: string, kind: string, body: Event["body"]): Event => ({
      ...last,
      id,
      kind,
      body,
      seq: 9,
      lamport: 9,
    });
    const state = fold(
      trail.add([
        odd("x1", "noted", { text: 7 }),
        odd("x2", "dreamt", {}),
        odd("x3", "reading_taken", { check_id: "a/b", value: 3 }),
      ]),
    );
    expect(state.unreadable.map(({ eventId }) => eventId)).toEqual(["x1", "x3"]);
    expect(state.newer).toEqual(["x2"]);
  });
});

describe("bodies", () => {
  it.each([
    ["reading_taken", { check_id: "a/b", answer: "yes", value: 3, unit: "V", si_value: 3 }],
    ["reading_taken", { check_id: "a/b" }],
    ["reading_taken", { check_id: "a/b", over_limit: true }],
    ["reading_taken", { check_id: "a/b", value: 1, unit: "V", si_value: 1, si_sd: -1 }],
    ["repair_done", { repair_id: "a/b", outcome: "perhaps" }],
    ["power_set", { where: "x", on: "yes" }],
    ["went_to", { place: "" }],
    ["call_opened", { site: { deep: { er: 1 } } }],
    ["closed", { outcome: "fixed", causes: "x" }],
  ])("%s %j cannot be used", (kind, body) => {
    expect(typeof understand(kind, body as Event["body"])).toBe("string");
  });

  it.each([
    ["reading_taken", { check_id: "a/b", unit: "ohm", over_limit: true }],
    ["reading_taken", { check_id: "a/b", value: 24.1, unit: "V", si_value: 24.1, more: 1 }],
    ["call_opened", { caller: null }],
    ["noted", { text: "" }],
  ])("%s %j can", (kind, body) => {
    expect(understand(kind, body as Event["body"])).toMatchObject({ kind });
  });

  it.each([
    [{ lamport: 0 }],
    [{ seq: 1.5 }],
    [{ id: "has a space" }],
    [{ at_utc: "yesterday" }],
    [{ kind: "Noted" }],
    [{ body: [] }],
  ])("an event with %j is none", (change) => {
    expect(typeof readEvent({ ...opened().events[0]!, ...change })).toBe("string");
    expect(typeof readEvent(opened().events[0]!)).toBe("object");
  });
});
