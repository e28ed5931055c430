/**
 * What Python makes of random trails, as `python -m benchmarks.vectors FOLDER` writes it. The folder
 * is named by CATCHPAN_VECTORS; tests/field runs these tests with one.
 */

import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect } from "vitest";
import type { CompiledCall } from "../src/engine/compiled_call.ts";
import { readCompiledCall } from "../src/engine/compiled_call.ts";
import type { Reporter } from "../src/engine/reading.ts";
import type { Event } from "../src/trail/event.ts";

export interface ExpectedConflict {
  readonly misfit: number;
  readonly expected: number;
  /** Check, relief and surprise of each. */
  readonly suspects: readonly (readonly [string, number, number])[];
  readonly repeat: string | null;
}

/** Something that bears on the belief, and the belief after it. */
export interface Act {
  readonly read?: {
    readonly check_id: string;
    readonly outcome_id: string | null;
    readonly value_si: number | null;
    readonly sd_si: number | null;
    readonly reporter: Reporter;
  };
  readonly puts_back?: readonly string[];
  readonly repair?: string;
  readonly worked?: boolean | null;
  readonly tried?: boolean;
  readonly verdict: boolean | null;
  readonly unmapped: number;
  readonly conflict: ExpectedConflict | null;
  readonly questions: readonly (readonly [string, readonly string[]])[];
  readonly shares: number;
}

/** A quantity with its targets, in degF or Btu/h. */
export interface ExpectedJudged {
  readonly quantity: string;
  readonly title: string;
  readonly reading: number | null;
  readonly deviation: number | null;
  readonly targets: readonly {
    readonly source: string;
    readonly value: number | null;
    readonly verdict: string;
  }[];
}

export interface ExpectedGuide {
  readonly phase: string;
  readonly roots: Record<string, number>;
  readonly consequences: Record<string, number>;
  readonly parts: Record<string, number>;
  readonly no_fault: number;
  readonly other: number;
  readonly several: number;
  readonly leading: string;
  readonly verdict: boolean | null;
  readonly unmapped: number;
  readonly latents: Record<string, number>;
  readonly steps: readonly {
    readonly kind: string;
    readonly target: string;
    readonly own_cost: number;
    readonly cost_after: number;
    readonly first: readonly string[];
    readonly forecasts: readonly (readonly [string, number, string, number])[];
  }[];
  readonly repair_now: number;
  readonly ahead: Record<string, number>;
  /** What to load: kind, name and chance of use. */
  readonly load: readonly (readonly [string, string, number])[];
  readonly conflict: ExpectedConflict | null;
  readonly dangers: readonly string[];
  readonly situation: Record<string, unknown>;
  readonly minutes: number;
  readonly parts_dollars: number;
  readonly mended: readonly (readonly [string, string])[];
  readonly unused: readonly string[];
  /** What some checks show on a sound system, and what proofs of the circuit must show today. */
  readonly healthy: Record<string, string>;
  readonly limits: Record<string, string>;
  /** Today's targets by demand; null where there are none. */
  readonly targets: Record<string, readonly ExpectedJudged[] | null>;
}

export interface TrailVector {
  readonly compiled: string;
  readonly events: readonly Event[];
  readonly acts: readonly Act[];
  readonly told: { readonly checks: readonly string[]; readonly at: number };
  /** The guide after so many events. */
  readonly guides: readonly { readonly events: number; readonly expect: ExpectedGuide }[];
}

const folder = process.env["CATCHPAN_VECTORS"] ?? "";
export const there = folder !== "" && existsSync(join(folder, "vectors.json"));
if (!there) console.warn("vectors not compared: CATCHPAN_VECTORS names no folder with vectors");

export function load<T>(name: string): T {
  return JSON.parse(readFileSync(join(folder, name), "utf-8")) as T;
}

function bytesOf(name: string): ArrayBuffer {
  return Uint8Array.from(readFileSync(join(folder, name))).buffer;
}

export const trails: readonly TrailVector[] = there
  ? load<{ trails: readonly TrailVector[] }>("vectors.json").trails
  : [];

const calls = new Map<string, CompiledCall>();

export function compiled(name: string): CompiledCall {
  const known = calls.get(name) ?? readCompiledCall(bytesOf(name));
  calls.set(name, known);
  return known;
}

let shares: Float64Array | null = null;

/** Long lists of numbers are kept in a file of their own. */
export function numbersAt(at: number, count: number): Float64Array {
  shares ??= new Float64Array(bytesOf("shares.bin"));
  return shares.subarray(at, at + count);
}

export const CLOSE = 1e-6;

export function closeTo(found: number, wanted: number, what: string): void {
  const off = Math.abs(found - wanted);
  if (off < CLOSE * Math.max(1, Math.abs(wanted))) return;
  expect.fail(`${what}: ${found}, wanted ${wanted}`);
}
