/** The end of a call in words: for the file, and in plain words for the homeowner (summary.py). */

import type { Share } from "../engine/causes.ts";
import { columnsNamed, holdsAny, shareOf } from "../engine/family.ts";
import { SYSTEM } from "../engine/forecast.ts";
import type { Guide } from "../engine/guide.ts";
import type { Mended } from "../engine/progress.ts";
import { entriesOf, latestResults, openedOf } from "../trail/state.ts";
import { small } from "../engine/explanation.ts";
import type { Bodies } from "../trail/body.ts";
import { RESULT, WORKED, eventWords, kindTitle, numberWords, stepTitle } from "./event_words.ts";
import { dollars, percent, plainUnits } from "./numbers.ts";

/** What is said about water damage; EPA mold guide and IICRC S500 summaries, from memory. */
const DRYING = [
  "Wet material is to be dry within 24 to 48 hours, or mold starts (public health advice); " +
    "photograph it, mark the edge of the stain with pencil and date.",
  "Clean water that stood longer than about two days counts as dirty. Sagging ceiling board is " +
    "replaced. Before cutting or sanding in a house from before 1978: lead and asbestos.",
  "More than about ten square feet of mold, or sewage: a specialist.",
] as const;

/** How a measured test came out, for the homeowner. */
const JUDGED: Readonly<Record<Bodies["proof_done"]["result"], string>> = {
  pass: "as it should be",
  fail: "not as it should be yet",
  too_close: "too close to say",
};

const WET = [
  "water/floor-wet",
  "water/ceiling-wet",
  "water/past-the-float",
  "water/ceiling-stained",
  "water/cabinet-wet",
] as const;

/** Chance that it works after a repair that touched nothing of what was wrong (see summary.py). */
const BY_ITSELF = 0.1;

/** Share from which one of several possible causes is named. */
const WORTH_NAMING = 0.05;

/** What a repair dealt with: the cause where it can be said, and what the cause left behind. */
interface Found {
  /** The likeliest of several causes that it puts right, where none of them stands out. */
  readonly among: readonly Share[];
  readonly repairId: string;
  readonly outcome: Mended["outcome"];
  readonly cause: Share | null;
  readonly leftBehind: readonly Share[];
}

/** For every repair what it dealt with, as it looks from the end of the call. */
export function foundAndMended(guide: Guide): Found[] {
  const { TOLD } = guide.family.constants;
  const now = new Map(guide.causes.roots.map(({ id, probability }) => [id, probability]));
  return guide.mended.map(({ repairId, outcome, roots: before, leftBehind }) => {
    const left = leftBehind.filter((share) => share.probability >= TOLD);
    const found = { repairId, outcome, leftBehind: left, cause: null, among: [] };
    const helped = outcome === "worked" && left.length === 0;
    const roots = afterwards(before, helped);
    const likeliest = roots[0];
    if (likeliest === undefined) return found;
    const still = roots.reduce((sum, { id }) => sum + (now.get(id) ?? 0), 0);
    const told = summed(roots) >= TOLD && still < 1 - TOLD;
    if (likeliest.probability < TOLD && told && outcome === "worked") {
      const among = roots.filter(({ probability }) => probability >= WORTH_NAMING).slice(0, 3);
      if (among.length > 1) return { ...found, among };
    }
    const gone = likeliest.probability >= TOLD && (now.get(likeliest.id) ?? 0) < 1 - TOLD;
    return { ...found, cause: gone || helped ? likeliest : null };
  });
}

function summed(shares: readonly Share[]): number {
  return shares.reduce((sum, { probability }) => sum + probability, 0);
}

/**
 * The causes that a repair puts right, as likely as they are once it helped. Where it also took away
 * what a cause leaves behind, that it works says nothing of the cause.
 */
function afterwards(roots: readonly Share[], helped: boolean): Share[] {
  const told = summed(roots);
  const seen = helped ? told + (1 - told) * BY_ITSELF : 1;
  return roots.map((share) => ({ ...share, probability: share.probability / seen }));
}

/** The root causes that were put right, without repeats. */
export function confirmedCauses(guide: Guide): string[] {
  return [...new Set(foundAndMended(guide).flatMap(({ cause }) => cause?.id ?? []))];
}

/** Whether the house itself is likely to have got wet. */
export function isWet(guide: Guide): boolean {
  const { TOLD } = guide.family.constants;
  const said = guide.mended.some(({ leftBehind }) =>
    leftBehind.some(({ id, probability }) => WET.some((wet) => wet === id) && probability > TOLD),
  );
  const wet = holdsAny(guide.family, columnsNamed(guide.family, WET));
  return said || shareOf(wet, guide.belief.probabilities()) > TOLD;
}

export interface Part {
  readonly heading: string;
  readonly lines: readonly string[];
}

/** The parts of the technician's summary. */
export function technicianSummary(guide: Guide): Part[] {
  const { state, data } = guide;
  const done = foundAndMended(guide).map((found) => doneWords(guide, found));
  const proofs = entriesOf(state, "proof_done").map(({ body }) => {
    const measured = readAndWanted(guide, body);
    const number = measured === null ? "" : ` (read ${measured.read}; passes at ${measured.wanted})`;
    return `${stepTitle(data, body.proof_id)}: ${RESULT[body.result]}${number}`;
  });
  const still = guide.causes.roots.filter((share) => share.probability > 0.2).slice(0, 4);
  const latent = entriesOf(state, "latent_found").map((entry) => eventWords(data, entry));
  const notes = entriesOf(state, "noted").map((entry) => entry.body.text);
  const parts: Part[] = [
    { heading: "System", lines: [kindTitle(data, guide.archetype)] },
    { heading: "Complaint", lines: [openedOf(state).complaint_words || "not noted"] },
    { heading: "Read", lines: entriesOf(state, "reading_taken").map((one) => eventWords(data, one)) },
    { heading: "Found and done", lines: done.length > 0 ? done : ["No repair was made."] },
    { heading: "Proven", lines: proofs.length > 0 ? proofs : ["Nothing was proven."] },
    { heading: "Left for its weather", lines: leftForLater(guide).map((id) => laterWords(guide, id)) },
    { heading: "Still open", lines: still.map((share) => shareWords(guide, share)) },
    { heading: "Latent", lines: latent },
    { heading: "Water damage", lines: isWet(guide) ? DRYING : [] },
    { heading: "Notes", lines: notes },
    { heading: "Time and cost", lines: [costWords(guide)] },
  ];
  return parts.filter(({ lines }) => lines.length > 0);
}

export function costWords(guide: Guide): string {
  const rate = guide.family.dollarsPerMinute;
  const { minutes, partsDollars } = guide.spent;
  const total = dollars(minutes * rate + partsDollars);
  return (
    `${minutes.toFixed(0)} min at $${rate.toFixed(2)} and ${dollars(partsDollars)} of parts: ` +
    `${total} (the catalog's minutes and assumed prices, not a bill)`
  );
}

function doneWords(guide: Guide, found: Found): string {
  const among = found.among.map(({ id, probability }) => `${guide.title(id)} ${percent(probability)}`);
  const several = among.length === 0 ? "" : `Cause, one of these: ${among.join(", ")}. `;
  const cause = found.cause === null ? several : causeSentence(guide, found.cause);
  const left = found.leftBehind.map(({ id }) => guide.title(id)).join(", ");
  const behind = cause === "" ? "Tripped or left behind" : "Left behind by it";
  const sentence = left === "" ? "" : `${behind}: ${left}. `;
  const title = guide.data.repairs.get(found.repairId)?.title ?? found.repairId;
  return `${cause}${sentence}${title}: ${WORKED[found.outcome]}.`;
}

/** Names a cause, or says how little was known of it when it was tried. */
function causeSentence(guide: Guide, cause: Share): string {
  if (cause.probability >= guide.family.constants.TOLD) {
    return `Cause: ${shareWords(guide, cause)}. `;
  }
  return `Cause not pinned down; supposed: ${guide.title(cause.id)} (${percent(cause.probability)}). `;
}

function shareWords(guide: Guide, { id, probability }: Share): string {
  const sure = probability > 0.97 ? "" : ` (${percent(probability)} sure)`;
  return `${guide.title(id)}${sure}`;
}

/** What to tell the homeowner, in plain words. */
export function homeownerSummary(guide: Guide): string[] {
  const { data } = guide;
  const found = foundAndMended(guide);
  const causes = found.flatMap((one) =>
    one.cause === null && one.among.length === 0 ? [] : [plainCause(guide, one)],
  );
  const head = causes.length > 0 ? "Because of it" : "What we found";
  const left = found.flatMap(({ leftBehind }) =>
    leftBehind.map(({ id }) => `${head}: ${data.faults.get(id)?.plain ?? guide.title(id)}`),
  );
  const work = found
    .filter((one) => one.cause !== null || one.leftBehind.length > 0 || one.outcome === "worked")
    .map(({ repairId }) => `Work done: ${data.repairs.get(repairId)?.title ?? repairId}.`);
  const lines = [...causes, ...left, ...work];
  if (lines.length === 0) lines.push("No fault has been put right on this visit.");
  lines.push(proofSentence(guide), ...measuredLines(guide));
  const later = leftForLater(guide).map((id) => small(laterWords(guide, id)));
  if (later.length > 0) {
    lines.push(`Not to be tested in today's weather, and left for later: ${later.join("; ")}.`);
  }
  for (const { body } of entriesOf(guide.state, "latent_found")) {
    const fault = data.faults.get(body.latent_id);
    if (fault !== undefined) {
      lines.push(`Worth putting right before it troubles you: ${fault.plain}`);
    }
  }
  if (isWet(guide)) {
    lines.push("Where the house got wet: keep it aired and have it dry within two days.");
  }
  return [...new Set(lines)];
}

/** Says what was wrong: the very fault where it is sure enough, else the part, else the work. */
function plainCause(guide: Guide, { cause, repairId, among }: Found): string {
  const [first, second] = among.map(({ id }) => guide.data.faults.get(id)?.plain ?? guide.title(id));
  const components = new Set(
    among.map(({ id }) => guide.data.faults.get(id)).map((one) => (one?.family === "setting" ? "" : one?.component)),
  );
  const same = components.size === 1 ? guide.data.words.parts[[...components][0] ?? ""] : undefined;
  if (same !== undefined) return `What was wrong: the ${same} had failed.`;
  if (second !== undefined) return `What was wrong, most likely: ${first} Otherwise: ${second}`;
  const fault = cause === null ? undefined : guide.data.faults.get(cause.id);
  if (fault === undefined || cause === null) return "";
  if (cause.probability >= guide.family.constants.NAMED) return `What was wrong: ${fault.plain}`;
  const part = fault.family === "setting" ? undefined : guide.data.words.parts[fault.component];
  if (part !== undefined) return `What was wrong: the ${part} had failed.`;
  const title = guide.data.repairs.get(repairId)?.title ?? repairId;
  return `What was wrong: something that was put right by this: ${small(title)}.`;
}

/** The proofs of what was repaired that need the weather of the other season. */
export function leftForLater({ data, family, mended, state }: Guide): string[] {
  const done = entriesOf(state, "proof_done").map(({ body }) => body);
  const passed = done.flatMap(({ proof_id, result }) => (result === "pass" ? [proof_id] : []));
  const left = mended.flatMap(({ repairId, outcome }) => {
    if (outcome === "did_not") return [];
    const today = family.repairs.get(repairId)?.proofs ?? [];
    return (data.repairs.get(repairId)?.proofs ?? []).filter((id) => !today.includes(id));
  });
  return [...new Set(left)].filter((id) => family.checks.has(id) && !passed.includes(id));
}

export function laterWords({ data }: Guide, proofId: string): string {
  const entry = data.proofs.get(proofId);
  return `${entry?.title ?? proofId}: in ${entry?.weather ?? "other"} weather`;
}

/** What a proof was measured at and what it must show today; null where it was judged by eye. */
function readAndWanted(guide: Guide, { proof_id, value, unit, printed }: Bodies["proof_done"]): { readonly read: string; readonly wanted: string } | null {
  const entry = guide.proof(proof_id);
  if (value === undefined || entry === null) return null;
  return {
    read: numberWords(value, unit ?? "", printed),
    wanted: plainUnits(entry.limits.replace(/\.$/, "")),
  };
}

/** Of every test that was measured what it came to at the end, and what it should be. */
function measuredLines(guide: Guide): string[] {
  const latest = new Map(entriesOf(guide.state, "proof_done").map(({ body }) => [body.proof_id, body]));
  return [...latest.values()].flatMap((body) => {
    const measured = readAndWanted(guide, body);
    if (measured === null) return [];
    const title = small(stepTitle(guide.data, body.proof_id));
    return [`Measured: ${title}: ${measured.read}; wanted ${measured.wanted}: ${JUDGED[body.result]}.`];
  });
}

function proofSentence(guide: Guide): string {
  const results = latestResults(guide.state);
  const passed = [...results.values()].filter((result) => result === "pass").length;
  if (results.size === 0) return "The repair has not been tested yet.";
  if (passed < results.size) {
    return `${passed} of ${results.size} tests passed. The others are not passed yet.`;
  }
  const end = results.has(SYSTEM) ? " The system ran and did its work." : "";
  return `We tested it: ${passed} of ${passed} tests passed.${end}`;
}
