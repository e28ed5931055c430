/**
 * How much of a processor one more event takes, event by event, over the trails of a folder written
 * by `python -m benchmarks.vectors FOLDER`: belief, plan, and what is left out. Processor time of the
 * one thread, so that other work on the machine counts little; the second time round, as on a phone
 * that has been in use for a minute. In `field`:
 *
 *     CATCHPAN_VECTORS=FOLDER node --experimental-transform-types test/timed_steps.ts
 */

import { readFileSync } from "node:fs";
import { join } from "node:path";
import type { CatalogFile } from "../src/engine/catalog.ts";
import { readCatalog } from "../src/engine/catalog.ts";
import type { CompiledCall } from "../src/engine/compiled_call.ts";
import { readCompiledCall } from "../src/engine/compiled_call.ts";
import { Guide } from "../src/engine/guide.ts";
import type { Event } from "../src/trail/event.ts";
import { Trail, fold } from "../src/trail/trail.ts";

interface Told {
  readonly compiled: string;
  readonly events: readonly Event[];
}

const folder = process.env["CATCHPAN_VECTORS"] ?? "";
const parsed = <T>(name: string): T => JSON.parse(readFileSync(join(folder, name), "utf-8")) as T;
const data = readCatalog(parsed<CatalogFile>("catalog.json"));
const { trails } = parsed<{ trails: readonly Told[] }>("vectors.json");

/** Milliseconds of processor time of this thread so far. */
function spent(): number {
  const { user, system } = process.threadCpuUsage();
  return (user + system) / 1000;
}

function stepsOf(call: CompiledCall, events: readonly Event[]): number[] {
  return events.map((_, i) => {
    const state = fold(new Trail(events[0]!.call_id, events.slice(0, i + 1)));
    const before = spent();
    const guide = new Guide(state, call, data);
    if (guide.phase !== "closed") void guide.plan;
    return spent() - before;
  });
}

function rank(sorted: readonly number[], share: number): string {
  return sorted[Math.min(Math.floor(share * sorted.length), sorted.length - 1)]!.toFixed(0);
}

console.log("| worlds | checks | steps | median [ms] | 95th percentile [ms] | longest [ms] |");
console.log("|---|---|---|---|---|---|");
for (const name of new Set(trails.map((trail) => trail.compiled))) {
  const call = readCompiledCall(Uint8Array.from(readFileSync(join(folder, name))).buffer);
  const own = trails.filter((trail) => trail.compiled === name);
  own.forEach(({ events }) => stepsOf(call, events));
  const times = own.flatMap(({ events }) => stepsOf(call, events)).sort((a, b) => a - b);
  const shown = [0.5, 0.95, 1].map((share) => rank(times, share)).join(" | ");
  const { size, checks } = call.family;
  console.log(`| ${size.toLocaleString("en-US")} | ${checks.size} | ${times.length} | ${shown} |`);
}
