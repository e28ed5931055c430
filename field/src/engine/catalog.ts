/** The catalog's words and data, as `GET /api/1/catalog` gives them. */

/** A unit in which a number may be entered: `si = value * scale + zero`. */
export interface Unit {
  readonly name: string;
  readonly scale: number;
  readonly zero: number;
  /** How people write it besides its name. */
  readonly spellings?: readonly string[];
}

/** How a check's number is kept: plausible from low to high in SI, `kept = si * factor + offset`. */
export interface NumberForm {
  readonly unit: string;
  readonly units: readonly Unit[];
  readonly factor: number;
  readonly offset: number;
  readonly low: number | null;
  readonly high: number | null;
  readonly over_limit: boolean;
  /** What the maker prints on the modelled part [SI]; null where nothing printed judges the number. */
  readonly printed?: number | null;
  readonly printed_on?: string;
}

export interface AnswerEntry {
  readonly id: string;
  readonly label: string;
  readonly low: number | null;
  readonly high: number | null;
  readonly danger: boolean;
}

export interface CheckEntry {
  readonly id: string;
  readonly title: string;
  readonly ask: string;
  readonly how: readonly string[];
  readonly place: string;
  readonly phone: boolean;
  readonly caller_safe: boolean;
  readonly complaint: boolean;
  readonly tool: string;
  readonly minutes: number;
  readonly requires: readonly string[];
  readonly hazards: readonly string[];
  readonly group: string;
  readonly archetypes: readonly string[];
  readonly needs_option: Readonly<Record<string, readonly string[]>>;
  readonly phrases: readonly string[];
  /** Other names that technicians search by; missing in copies of before. */
  readonly also?: readonly string[];
  readonly answers: readonly AnswerEntry[];
  readonly quantity: string;
  readonly demand: string;
  readonly of: string;
  readonly between: readonly [string, string] | null;
  /** The conditions a reset puts back; empty for other checks. */
  readonly resets: readonly string[];
  readonly number: NumberForm | null;
  readonly runs: string;
  readonly looks_at: number | null;
  readonly lasting: boolean;
  /** The conditions that are gone once what tripped or blew is put back. */
  readonly puts_back: readonly string[];
  /** Whether its number is weighed as it is, not by the answer it falls in. */
  readonly as_it_is: boolean;
  readonly settles: Readonly<Record<string, string>>;
  readonly danger_kinds: Readonly<Record<string, string>>;
}

export interface RepairEntry {
  readonly id: string;
  readonly title: string;
  readonly place: string;
  readonly steps: readonly string[];
  readonly load: readonly string[];
  /** Missing in copies of before. */
  readonly tools?: readonly string[];
  readonly hazards: readonly string[];
  readonly requires: readonly string[];
  readonly refer: string;
  readonly caller_safe: boolean;
  readonly proofs: readonly string[];
  readonly minutes: number;
  readonly dollars: number;
}

export interface ProofEntry {
  readonly id: string;
  readonly title: string;
  readonly how: readonly string[];
  readonly place: string;
  /** Missing in copies of before. */
  readonly tool?: string;
  readonly hazards: readonly string[];
  readonly requires: readonly string[];
  readonly minutes: number;
  readonly number: NumberForm | null;
  /** What it reads off the running circuit: its limits are laid round a sound one of today. */
  readonly circuit: { readonly demand: string; readonly of: string } | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly uncertainty: number;
  readonly limits: string;
  /** The weather it needs, if any: `cooling` or `heating`. */
  readonly weather: string;
}

export interface FaultEntry {
  readonly id: string;
  readonly title: string;
  readonly plain: string;
  readonly kind: string;
  readonly family: string;
  readonly component: string;
  readonly why: readonly string[];
}

export interface HazardEntry {
  readonly id: string;
  readonly title: string;
  readonly caution: string;
}

export interface PlaceEntry {
  readonly id: string;
  readonly title: string;
  readonly where: string;
  readonly cover: string;
  readonly hazards_by_location: Readonly<Record<string, readonly string[]>>;
}

export interface OptionEntry {
  readonly id: string;
  readonly title: string;
  readonly question: string;
  readonly structural: boolean;
  readonly values: readonly { readonly id: string; readonly title: string; readonly prior: number }[];
}

export interface ArchetypeEntry {
  readonly id: string;
  readonly title: string;
  readonly summary: string;
  readonly demands: readonly string[];
  readonly options: readonly OptionEntry[];
  readonly furnace: boolean;
}

export interface SymptomIndex {
  readonly sayings: readonly {
    readonly check_id: string;
    readonly answer_id: string;
    readonly tokens: readonly string[];
    readonly weight: number;
  }[];
  readonly telling: Readonly<Record<string, number>>;
  readonly usual: Readonly<Record<string, string>>;
  readonly stop: readonly string[];
  readonly denials: readonly string[];
  readonly denying: readonly string[];
  readonly reassuring: readonly string[];
  readonly same: Readonly<Record<string, string>>;
  readonly endings: readonly string[];
  readonly rewrites: readonly (readonly [string, string])[];
  readonly splits: string;
  readonly numbers: Readonly<Record<string, number>>;
}

/** A plain precaution, with the conditions it bears on; a pattern may end in an asterisk. */
export interface Precaution {
  readonly faults: readonly string[];
  readonly text: string;
}

export interface CatalogWords {
  readonly precautions: readonly Precaution[];
  readonly never: readonly string[];
  readonly danger: Readonly<Record<string, readonly string[]>>;
  /** What technicians call a part, by the type of its component. */
  readonly parts: Readonly<Record<string, string>>;
  /** The same of parts without a place in the wiring. */
  readonly unwired: Readonly<Record<string, string>>;
  readonly acts: {
    readonly switch_off: string;
    readonly discharge: string;
    readonly switch_on: string;
    readonly leave: readonly string[];
  };
}

/** The catalog as it comes over the wire. */
export interface CatalogFile {
  readonly catalog: string;
  readonly archetypes: readonly ArchetypeEntry[];
  readonly places: readonly PlaceEntry[];
  readonly checks: readonly CheckEntry[];
  readonly repairs: readonly RepairEntry[];
  readonly proofs: readonly ProofEntry[];
  readonly faults: readonly FaultEntry[];
  readonly hazards: readonly HazardEntry[];
  readonly symptoms: SymptomIndex;
  readonly words: CatalogWords;
}

/** The catalog with everything by its id. */
export interface Catalog {
  readonly hash: string;
  readonly archetypes: ReadonlyMap<string, ArchetypeEntry>;
  readonly places: ReadonlyMap<string, PlaceEntry>;
  readonly checks: ReadonlyMap<string, CheckEntry>;
  readonly repairs: ReadonlyMap<string, RepairEntry>;
  readonly proofs: ReadonlyMap<string, ProofEntry>;
  readonly faults: ReadonlyMap<string, FaultEntry>;
  readonly hazards: ReadonlyMap<string, HazardEntry>;
  readonly symptoms: SymptomIndex;
  readonly words: CatalogWords;
}

export function readCatalog(file: CatalogFile): Catalog {
  return {
    hash: file.catalog,
    archetypes: byId(file.archetypes),
    places: byId(file.places),
    checks: byId(file.checks),
    repairs: byId(file.repairs),
    proofs: byId(file.proofs),
    faults: byId(file.faults),
    hazards: byId(file.hazards),
    symptoms: file.symptoms,
    words: file.words,
  };
}

function byId<T extends { readonly id: string }>(entries: readonly T[]): Map<string, T> {
  return new Map(entries.map((entry) => [entry.id, entry]));
}

/**
 * A number as the modelled part would show it [SI]: where the maker prints what a part should read,
 * a part with another print is judged by its share of that.
 */
export function asModelled(form: NumberForm, si: number, value?: number, printed?: number): number {
  const modelled = form.printed ?? null;
  if (modelled === null || printed === undefined || value === undefined) return si;
  return (value / printed) * modelled;
}

/** The answer whose span a kept number falls in; null where none covers it. */
export function answerOfValue(check: CheckEntry, kept: number): string | null {
  const fits = (answer: AnswerEntry): boolean =>
    (answer.low === null || kept >= answer.low) && (answer.high === null || kept < answer.high);
  return check.answers.find(fits)?.id ?? null;
}
