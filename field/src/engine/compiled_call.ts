/** The compiled call: read, checked, and refused with a way out where it cannot be used. */

import type { ChartData } from "./charts.ts";
import type { Constants } from "./constants.ts";
import { constantsOf } from "./constants.ts";
import { crc32 } from "./crc32.ts";
import type { Check, Family, Numeric, Outcome, Place, Repair } from "./family.ts";
import { makeFamily } from "./family.ts";
import type { LatentModel } from "./latent.ts";
import type { Budget } from "./lookahead.ts";
import type { Circuit, Panel, PanelLook } from "./panel.ts";
import type { AskedBack } from "./questioned.ts";
import { SaturationChart } from "./saturation_chart.ts";
import type { TargetData, TargetGrid } from "./target_data.ts";

export const FORM = 5;
const MARK = "CATCHPAN";
const HEAD = 16;

/** What is wrong with a compiled call, and what the person can do about it. */
export class UnusableCompiledCall extends Error {
  constructor(
    problem: string,
    readonly wayOut: string,
  ) {
    super(problem);
    this.name = "UnusableCompiledCall";
  }
}

/** What a compiled call says of the system it was compiled for. */
export interface Description {
  readonly archetype: string;
  readonly options: Readonly<Record<string, string>>;
  readonly season: string | null;
  readonly age_years: number | null;
  readonly climate: string | null;
  readonly outdoor_c: number | null;
  readonly indoor_c: number | null;
  readonly indoor_rh: number;
}

/** One line of a wiring ladder: what is passed, and the point reached. */
export interface LadderLine {
  readonly depth: number;
  readonly words: string;
  readonly kind: "source" | "series" | "load" | "return";
  readonly branch: string;
  /** The type of the part, empty for a conductor. */
  readonly part: string;
}

export interface LadderCircuit {
  readonly title: string;
  readonly against: string;
  readonly lines: readonly LadderLine[];
}

/** The wiring under one demand: volts and positions in order, then with each fault. */
export interface LadderModel {
  readonly demand: string;
  readonly setting: number;
  readonly circuits: readonly LadderCircuit[];
  readonly faults: readonly string[];
  readonly volts: Float32Array;
  readonly position: Uint8Array;
}

export interface CompiledCall {
  readonly key: string;
  readonly catalog: string;
  readonly madeAtUtc: string;
  readonly description: Description;
  readonly family: Family;
  /** Conditions that arise again at once while what brings them is there. */
  readonly returning: ReadonlySet<string>;
  /** How far the planner looks ahead. */
  readonly budget: Budget;
  readonly latents: readonly LatentModel[];
  readonly options: Readonly<Record<string, Readonly<Record<string, number>>>>;
  readonly ladders: readonly LadderModel[];
  /** What the charts of refrigerant and air are drawn from. */
  readonly charts: ChartData;
  /** What today's targets come from; null in a call compiled before there were any. */
  readonly targets: TargetData | null;
  /** What each unit of the targets reads, unit by unit. */
  readonly targetGrids: readonly TargetGrid[];
}

interface ArrayPlace {
  readonly type: "u8" | "u16" | "u32" | "f32" | "f64";
  readonly shape: readonly number[];
  readonly at: number;
}

interface PartitionName {
  readonly type: "u8" | "u16";
  readonly row: number;
}

interface CheckHead {
  readonly id: string;
  readonly title: string;
  readonly place: string;
  readonly minutes: number;
  readonly outcomes: readonly Outcome[];
  readonly requires: readonly string[];
  readonly hazard_cost: number;
  readonly phone: boolean;
  readonly group: string;
  readonly proof: boolean;
  readonly keeps_outside: boolean;
  readonly look: PanelLook | null;
  readonly table: { readonly partition: PartitionName; readonly at: number; readonly rows: number };
  readonly numbers: {
    readonly partition: PartitionName;
    readonly at: number;
    readonly rows: number;
    readonly slip: number;
  } | null;
}

interface Header {
  readonly form: number;
  readonly key: string;
  readonly catalog: string;
  readonly made_at_utc: string;
  readonly description: Description;
  readonly bytes: number;
  readonly crc32: number;
  readonly arrays: Readonly<Record<string, ArrayPlace>>;
  readonly worlds: {
    readonly count: number;
    readonly conditions: readonly string[];
    readonly kinds: Readonly<Record<string, string>>;
    readonly harmless: readonly string[];
    readonly settings: readonly Readonly<Record<string, string>>[];
    readonly other: readonly number[];
    readonly cut_mass: number;
  };
  readonly checks: readonly CheckHead[];
  readonly repairs: readonly Repair[];
  readonly places: readonly Place[];
  readonly costs: {
    readonly dollars_per_minute: number;
    readonly call_back_dollars: number;
    readonly dispatch_minutes: number;
    readonly power_minutes: number;
    readonly call_minutes: number;
    readonly proof_minutes: number;
    readonly refer_minutes: number;
    readonly group_minutes: Readonly<Record<string, number>>;
    readonly group_after: Readonly<Record<string, string>>;
    readonly repair_still_owed: boolean;
  };
  readonly constants: Readonly<Record<string, number>>;
  readonly budget: Budget;
  readonly circuit: Circuit & {
    readonly panels: readonly {
      readonly demand: string;
      readonly refrigerants: readonly string[];
      readonly states: number;
    }[];
  };
  readonly questions: AskedBack;
  readonly charts: ChartData;
  readonly targets?: TargetData;
  readonly returning: readonly string[];
  readonly latents: readonly LatentModel[];
  readonly options: Readonly<Record<string, Readonly<Record<string, number>>>>;
  readonly ladders?: readonly Omit<LadderModel, "volts" | "position">[];
}

const AGAIN = "Load the call again when there is signal.";
const UPDATE = "Close and open catchpan with signal, so that it updates itself.";

/** Reads a compiled call; throws UnusableCompiledCall for anything that is none. */
export function readCompiledCall(bytes: ArrayBuffer): CompiledCall {
  const { header, start } = readHeader(bytes);
  try {
    return callOf(header, new Arrays(bytes, start, header.arrays));
  } catch (error) {
    throw new UnusableCompiledCall(`The compiled call is damaged (${String(error)}).`, AGAIN);
  }
}

function readHeader(bytes: ArrayBuffer): { header: Header; start: number } {
  const mark = new TextDecoder("latin1").decode(bytes.slice(0, MARK.length));
  if (bytes.byteLength < HEAD || mark !== MARK) {
    throw new UnusableCompiledCall("This is not a compiled call.", AGAIN);
  }
  const view = new DataView(bytes);
  const form = view.getUint32(8, true);
  if (form > FORM) {
    throw new UnusableCompiledCall("The call was compiled by a newer catchpan.", UPDATE);
  }
  if (form < FORM) {
    throw new UnusableCompiledCall("The call was compiled by an older catchpan.", AGAIN);
  }
  const length = view.getUint32(12, true);
  const start = Math.ceil((HEAD + length) / 8) * 8;
  const header = parsedHeader(bytes, length);
  const data = new Uint8Array(bytes, Math.min(start, bytes.byteLength));
  if (header === null || data.length !== header.bytes || crc32(data) !== header.crc32) {
    throw new UnusableCompiledCall("The compiled call is cut off or damaged.", AGAIN);
  }
  return { header, start };
}

function parsedHeader(bytes: ArrayBuffer, length: number): Header | null {
  try {
    return JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, HEAD, length))) as Header;
  } catch {
    return null;
  }
}

class Arrays {
  private readonly partitions = new Map<string, Uint8Array | Uint16Array>();

  constructor(
    private readonly bytes: ArrayBuffer,
    private readonly start: number,
    private readonly places: Readonly<Record<string, ArrayPlace>>,
  ) {}

  u8(name: string): Uint8Array {
    const { at, count } = this.find(name, "u8");
    return new Uint8Array(this.bytes, at, count);
  }

  u16(name: string): Uint16Array {
    const { at, count } = this.find(name, "u16");
    return new Uint16Array(this.bytes, at, count);
  }

  u32(name: string): Uint32Array {
    const { at, count } = this.find(name, "u32");
    return new Uint32Array(this.bytes, at, count);
  }

  f32(name: string): Float32Array {
    const { at, count } = this.find(name, "f32");
    return new Float32Array(this.bytes, at, count);
  }

  f64(name: string): Float64Array {
    const { at, count } = this.find(name, "f64");
    return new Float64Array(this.bytes, at, count);
  }

  /** The rows of a matrix. */
  rows(name: string): Float64Array[] {
    const all = this.f64(name);
    const { count, width } = this.find(name, "f64");
    return Array.from({ length: count / width }, (_, r) =>
      all.subarray(r * width, (r + 1) * width),
    );
  }

  /** Which class each world has; the same object wherever a partition is shared. */
  partition({ type, row }: PartitionName): Uint8Array | Uint16Array {
    const key = `${type} ${row}`;
    const known = this.partitions.get(key);
    if (known !== undefined) return known;
    const name = `partitions.${type}`;
    const width = this.find(name, type).width;
    const all = type === "u8" ? this.u8(name) : this.u16(name);
    const found = all.subarray(row * width, (row + 1) * width);
    this.partitions.set(key, found);
    return found;
  }

  /** Lists kept one after the other. */
  lists(name: string): Uint16Array[] {
    const start = this.u32(`${name}.start`);
    const list = this.u16(`${name}.list`);
    return Array.from({ length: start.length - 1 }, (_, w) =>
      list.subarray(start[w]!, start[w + 1]!),
    );
  }

  private find(name: string, type: string): { at: number; count: number; width: number } {
    const place = this.places[name];
    if (place === undefined) throw new TypeError(`${name} is missing`);
    if (place.type !== type) throw new TypeError(`${name} is ${place.type}, wanted ${type}`);
    const count = place.shape.reduce((product, side) => product * side, 1);
    return { at: this.start + place.at, count, width: place.shape[place.shape.length - 1] ?? 1 };
  }
}

function callOf(header: Header, arrays: Arrays): CompiledCall {
  return {
    key: header.key,
    catalog: header.catalog,
    madeAtUtc: header.made_at_utc,
    description: header.description,
    family: familyOf(header, arrays),
    returning: new Set(header.returning),
    budget: header.budget,
    latents: header.latents,
    options: header.options,
    charts: header.charts,
    targets: header.targets ?? null,
    targetGrids: (header.targets?.units ?? []).map((_, k) => ({
      values: arrays.u16(`targets.${k}.values`),
      limits: arrays.u16(`targets.${k}.limits`),
    })),
    ladders: (header.ladders ?? []).map((ladder, k) => ({
      ...ladder,
      volts: arrays.f32(`ladder.${k}.volts`),
      position: arrays.u8(`ladder.${k}.position`),
    })),
  };
}

function familyOf(header: Header, arrays: Arrays): Family {
  const { worlds, costs } = header;
  const constants = constantsOf(header.constants);
  return makeFamily({
    logPrior: arrays.f64("log_prior"),
    setting: Int32Array.from(arrays.u16("setting")),
    calm: arrays.u8("calm"),
    settings: worlds.settings,
    conditions: worlds.conditions,
    holds: arrays.lists("conditions"),
    rootsOf: arrays.lists("roots"),
    works: arrays.u8("works"),
    lasts: arrays.u8("lasts"),
    struggling: arrays.u8("struggling"),
    panels: panelsOf(header.circuit, arrays, constants),
    askedBack: header.questions,
    outsideWorlds: worlds.other,
    checks: header.checks.map((check) => checkOf(check, arrays)),
    repairs: header.repairs,
    places: header.places,
    kinds: new Map(Object.entries(worlds.kinds)),
    groupMinutes: new Map(Object.entries(costs.group_minutes)),
    groupAfter: new Map(Object.entries(costs.group_after)),
    harmless: new Set(worlds.harmless),
    dollarsPerMinute: costs.dollars_per_minute,
    callBackDollars: costs.call_back_dollars,
    cutMass: worlds.cut_mass,
    dispatchMinutes: costs.dispatch_minutes,
    powerMinutes: costs.power_minutes,
    callMinutes: costs.call_minutes,
    proofMinutes: costs.proof_minutes,
    referMinutes: costs.refer_minutes,
    repairStillOwed: costs.repair_still_owed,
    constants,
  });
}

function panelsOf(
  { panels, ...circuit }: Header["circuit"],
  arrays: Arrays,
  { ATMOSPHERE_PA, LEAST_DEPRESSION_K }: Constants,
): Map<string, Panel> {
  const made = panels.map(({ demand, refrigerants, states }, k): [string, Panel] => {
    const named = (name: string): string => `panel.${k}.${name}`;
    const usual = arrays.rows(named("usual"));
    const panel: Panel = {
      demand,
      circuit,
      axes: [0, 1, 2].map((axis) => arrays.f64(named(`axis.${axis}`))),
      means: arrays.f32(named("means")),
      states,
      kind: arrays.u8(named("kind")),
      chart: arrays.u8(named("chart")),
      charts: refrigerants.map((name, c) => {
        const [pressure, dew, bubble] = arrays.rows(named(`chart.${c}`));
        return new SaturationChart(name, pressure!, dew!, bubble!, ATMOSPHERE_PA);
      }),
      beside: arrays.u16(named("beside")),
      nodeState: arrays.u16(named("node_state")),
      nodeWeight: arrays.f64(named("node_weight")),
      groupStart: arrays.u16(named("group_start")),
      groupOf: arrays.u16(named("group_of")),
      usual: { mean: usual[0]!, spread: usual[1]! },
      leastDepression: LEAST_DEPRESSION_K,
    };
    return [demand, panel];
  });
  return new Map(made);
}

function checkOf(head: CheckHead, arrays: Arrays): Check {
  const { at, rows, partition } = head.table;
  const width = head.outcomes.length;
  return {
    id: head.id,
    title: head.title,
    place: head.place,
    minutes: head.minutes,
    outcomes: head.outcomes,
    requires: new Set(head.requires),
    hazardCost: head.hazard_cost,
    phone: head.phone,
    group: head.group,
    proof: head.proof,
    keepsOutside: head.keeps_outside,
    look: head.look,
    numeric: numericOf(head, arrays),
    rows: Float64Array.from(arrays.f32("tables").subarray(at, at + rows * width)),
    row: arrays.partition(partition),
  };
}

function numericOf(head: CheckHead, arrays: Arrays): Numeric | null {
  if (head.numbers === null) return null;
  const { at, rows, partition, slip } = head.numbers;
  return {
    means: arrays.f32("means").subarray(at, at + rows),
    spreads: arrays.f32("spreads").subarray(at, at + rows),
    dead: arrays.u8("dead").subarray(at, at + rows),
    slip,
    row: arrays.partition(partition),
  };
}
