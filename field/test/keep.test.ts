import "fake-indexeddb/auto";
import { beforeEach, describe, expect, it } from "vitest";
import type { Database } from "../src/keep/database.ts";
import {
  StorageFull,
  deviceId,
  eventsOf,
  findCompiled,
  keepCompiled,
  keepEvents,
  openDatabase,
  unsentEvents,
} from "../src/keep/database.ts";
import { Trail, makeEvent } from "../src/trail/trail.ts";

let database: Database;
let count = 0;

beforeEach(async () => {
  database = await openDatabase(`test-${++count}`);
});

function note(text: string) {
  const trail = new Trail("call");
  return makeEvent(trail, "phone-a", text, new Date(), "noted", { text });
}

describe("events", () => {
  it("are unsent until the server has them, and then stay sent", async () => {
    const [one, two] = [note("one"), note("two")];
    await keepEvents(database, [one, two], 1);
    expect((await unsentEvents(database)).length).toBe(2);
    await keepEvents(database, [one], 0);
    await keepEvents(database, [one], 1);
    expect((await unsentEvents(database)).map(({ id }) => id)).toEqual(["two"]);
    expect((await eventsOf(database, "call")).length).toBe(2);
    expect(await eventsOf(database, "another")).toEqual([]);
  });

  it("say so when there is no room left", async () => {
    const full = {
      transaction: () => {
        throw new DOMException("no room", "QuotaExceededError");
      },
    } as unknown as Database;
    await expect(keepEvents(full, [note("one")], 1)).rejects.toThrow(StorageFull);
  });
});

describe("compiled calls", () => {
  const kept = (key: string, archetype: string, season: string, callId: string, at: string) => ({
    key,
    bytes: new ArrayBuffer(8),
    archetype,
    season,
    call_id: callId,
    made_at_utc: at,
  });

  it("are found for the call first, the one kept last, then for the kind and season", async () => {
    await keepCompiled(database, kept("k1", "heat-pump", "cooling", "", "2025-01-01"));
    await keepCompiled(database, kept("k2", "heat-pump", "heating", "", "2025-01-01"));
    const found = async (season: string) =>
      (await findCompiled(database, "call", "heat-pump", season))?.key;
    expect(await found("heating")).toBe("k2");
    expect(await found("")).toBe("k1");
    await keepCompiled(database, kept("k3", "heat-pump", "cooling", "call", "2025-02-01"));
    await keepCompiled(database, kept("k4", "heat-pump", "cooling", "call", "2025-03-01"));
    await keepCompiled(database, kept("k5", "furnace", "cooling", "call", "2025-04-01"));
    expect(await found("heating")).toBe("call k4");
    expect(await findCompiled(database, "call", "unheard-of", "")).toBeUndefined();
  });

  it("belong to their call: one about a like system takes no copy away", async () => {
    const keyOf = async (call: string) =>
      (await findCompiled(database, call, "heat-pump", "cooling"))?.key;
    await keepCompiled(database, kept("any", "heat-pump", "cooling", "", "2025-01-01"));
    await keepCompiled(database, kept("k", "heat-pump", "cooling", "one", "2025-02-01"));
    await keepCompiled(database, kept("k", "heat-pump", "cooling", "two", "2025-02-01"));
    expect([await keyOf("one"), await keyOf("two")]).toEqual(["one k", "two k"]);
    await keepCompiled(database, kept("older", "heat-pump", "cooling", "one", "2024-12-01"));
    expect([await keyOf("one"), await keyOf("two")]).toEqual(["one older", "two k"]);
    expect(await database.count("compiled")).toBe(3);
  });
});

it("a device keeps its id", async () => {
  const made = await deviceId(database);
  expect(made).toMatch(/^phone-[0-9a-f]{12}$/);
  expect(await deviceId(database)).toBe(made);
});
