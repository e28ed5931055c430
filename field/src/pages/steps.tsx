/** One step at a time: asking, looking, measuring, repairing, proving, handing over. */

import { desk } from "../app/desk.ts";
import { callPath, go } from "../app/route.ts";
import { TargetsBeside } from "../draw/targets.tsx";
import type { ProofEntry } from "../engine/catalog.ts";
import { asModelled } from "../engine/catalog.ts";
import { SYSTEM } from "../engine/forecast.ts";
import type { Guide } from "../engine/guide.ts";
import type { Step } from "../engine/situation.ts";
import type { ProofResult } from "../trail/body.ts";
import { latestResults } from "../trail/state.ts";
import { putBackWords } from "../words/acts.ts";
import { RESULT, numberWords, stepTitle } from "../words/event_words.ts";
import type { Entered } from "../words/numbers.ts";
import { plainUnits } from "../words/numbers.ts";
import { CheckForm, Expected } from "./check_form.tsx";
import { NumberEntry, printedField } from "./number_entry.tsx";
import { Shares } from "./parts.tsx";
import { StepFrame, Tools } from "./step_frame.tsx";

const WORTH_NAMING = 0.05;

interface Props {
  readonly guide: Guide;
  readonly step: Step;
}

export function CheckStep({ guide, step }: Props) {
  const check = guide.family.checks.get(step.target)!;
  const entry = guide.data.checks.get(step.target)!;
  const told = entry.quantity === "history";
  return (
    <>
      <StepFrame
        guide={guide}
        kicker={kickerOf(guide, step)}
        title={entry.ask}
        entry={entry}
        step={step}
      >
        {!told && <Expected guide={guide} checkId={step.target} />}
        <TargetsBeside guide={guide} checkId={step.target} />
        <CheckForm guide={guide} check={check} entry={entry} forecasts={step.forecasts} />
      </StepFrame>
      <Tools guide={guide} stepId={step.target} />
    </>
  );
}

/** What kind of step it is, and its number since the technician arrived. */
function kickerOf(guide: Guide, step: Step): string {
  if (guide.situation.onPhone) return "Ask the caller";
  const words = { ask: "Ask", look: "Look", measure: "Measure", prove: "Prove" } as const;
  const kind =
    step.kind in words
      ? words[step.kind as keyof typeof words]
      : step.kind === "refer"
        ? "Hand over"
        : "Repair";
  return `Step ${stepNumber(guide)}: ${kind}`;
}

function stepNumber(guide: Guide): number {
  const { timeline } = guide.state;
  const arrived = timeline.findIndex((entry) => entry.kind === "went_to");
  const kinds = ["reading_taken", "repair_done", "proof_done"];
  return timeline.slice(Math.max(arrived, 0)).filter(({ kind }) => kinds.includes(kind)).length + 1;
}

export function RepairStep({ guide, step }: Props) {
  const entry = guide.data.repairs.get(step.target)!;
  const { fixes } = guide.family.repairs.get(step.target)!;
  const against = [...guide.causes.roots, ...guide.causes.consequences]
    .filter(({ id, probability }) => fixes.includes(id) && probability > WORTH_NAMING)
    .slice(0, 3);
  const onPhone = guide.situation.onPhone;
  return (
    <>
      <StepFrame
        guide={guide}
        kicker={onPhone ? "The caller may try this (advice)" : kickerOf(guide, step)}
        title={entry.title}
        entry={entry}
        step={onPhone ? null : step}
      >
        {onPhone && <Never guide={guide} />}
        {!onPhone && against.length > 0 && (
          <section class="sheet" aria-label="Against">
            <h2>Against</h2>
            <Shares
              rows={against.map(({ id, probability }) => ({
                name: guide.title(id),
                share: probability,
              }))}
            />
          </section>
        )}
        <Outcomes id={step.target} onPhone={onPhone} />
      </StepFrame>
      <Tools guide={guide} stepId={step.target} />
    </>
  );
}

const DONE = [
  ["worked", "Done, and the system works now"],
  ["did_not", "Done, and the trouble is the same"],
  ["not_yet_known", "Done; not run yet, or only partly better"],
] as const;

const TRIED = [
  ["worked", "Tried: it works now"],
  ["did_not", "Tried: no change"],
] as const;

function Outcomes({ id, onPhone }: { readonly id: string; readonly onPhone: boolean }) {
  return (
    <ul class="answers">
      {(onPhone ? TRIED : DONE).map(([outcome, label]) => (
        <li key={outcome}>
          <button
            type="button"
            class="answer"
            data-answer={outcome}
            onClick={() => void desk.say("repair_done", { repair_id: id, outcome })}
          >
            <span class="label">{label}</span>
          </button>
        </li>
      ))}
    </ul>
  );
}

export function Never({ guide }: { readonly guide: Guide }) {
  return (
    <p class="caution">
      <strong>Please not:</strong> {guide.data.words.never.join("; ")}.
    </p>
  );
}

export function HandOverStep({ guide, step }: Props) {
  const entry = guide.data.repairs.get(step.target)!;
  const leading = guide.causes.roots.filter((share) => share.probability > 0.5);
  const hand = async (): Promise<void> => {
    await desk.say("noted", { text: `Handed over: ${entry.title}. ${entry.refer}` });
    await desk.say("closed", { outcome: "referred", causes: leading.map(({ id }) => id) });
  };
  return (
    <>
      <StepFrame
        guide={guide}
        kicker={kickerOf(guide, step)}
        title={entry.title}
        entry={entry}
        step={step}
      >
        <p class="tell">{entry.refer}</p>
        <ul class="answers">
          <li>
            <button type="button" class="answer" onClick={() => void hand()}>
              <span class="label">Handed over; made safe until then</span>
            </button>
          </li>
          <li>
            <button
              type="button"
              class="answer"
              onClick={() =>
                void desk.say("repair_done", { repair_id: step.target, outcome: "worked" })
              }
            >
              <span class="label">Done by somebody entitled to it: it works now</span>
            </button>
          </li>
        </ul>
      </StepFrame>
      <Tools guide={guide} stepId={step.target} />
    </>
  );
}

const RESULTS = [
  ["pass", "Pass"],
  ["fail", "Fail"],
  ["too_close", "Too close to call"],
] as const;

const SEEN = [
  ["pass", "Pass"],
  ["fail", "Fail"],
  ["too_close", "Can\u2019t say"],
] as const;

const RUN = [
  ["pass", "It works as it should"],
  ["fail", "It does not"],
  ["too_close", "Can\u2019t say"],
] as const;

interface ProofProps extends Props {
  /** Where the proof is made again out of order: what follows then. */
  readonly again?: () => void;
}

export function ProofStep({ guide, step, again }: ProofProps) {
  const entry = guide.proof(step.target);
  const whole = step.target === SYSTEM || entry === null;
  const keep = async (result: ProofResult): Promise<void> => {
    await desk.say("proof_done", { proof_id: step.target, result });
    if (whole && result === "too_close") {
      await desk.say("step_deferred", { step_id: SYSTEM, reason: "cannot be said yet" });
    }
    again?.();
  };
  const phone = guide.situation.onPhone ? "Is it so?" : kickerOf(guide, step);
  return (
    <>
      <StepFrame
        guide={guide}
        kicker={again === undefined ? phone : "Once more"}
        title={step.title}
        entry={entry}
        step={again === undefined ? step : null}
      >
        {whole && <RunWhole onPhone={guide.situation.onPhone} />}
        {entry !== null && entry.number !== null && (
          <p class="expect">
            <strong>Passes at:</strong> {plainUnits(entry.limits)}
          </p>
        )}
        {entry?.number && (
          <NumberEntry
            form={entry.number}
            id={entry.id}
            usual={null}
            keep={(entered) => void keepNumber(entry, entered).then(again)}
          />
        )}
        <ul class="answers">
          {(whole ? RUN : entry.number === null ? SEEN : RESULTS).map(([result, label]) => (
            <li key={result}>
              <button
                type="button"
                class="answer"
                data-answer={result}
                onClick={() => void keep(result)}
              >
                <span class="label">{label}</span>
              </button>
            </li>
          ))}
        </ul>
      </StepFrame>
      {again === undefined && <Tools guide={guide} stepId={step.target} />}
    </>
  );
}

/** A proof made again, whatever the present step is. */
export function ProofAgain({ guide, proofId }: { readonly guide: Guide; readonly proofId: string }) {
  const title = stepTitle(guide.data, proofId);
  const step: Step = {
    kind: "prove",
    target: proofId,
    title,
    ownCost: 0,
    costAfter: 0,
    first: [],
    forecasts: [],
  };
  return <ProofStep guide={guide} step={step} again={() => go(callPath(guide.state.callId))} />;
}

function RunWhole({ onPhone }: { readonly onPhone: boolean }) {
  return (
    <section class="sheet" aria-label="What to do">
      <h2>Do</h2>
      <ol>
        <li>
          {onPhone
            ? "Have the thermostat set so that it calls."
            : "All covers on, power on, thermostat calling."}
        </li>
        <li>Watch one whole cycle, at least ten minutes, from the call to steady running.</li>
      </ol>
    </section>
  );
}

const JUDGED: Readonly<Record<ProofResult, string>> = {
  pass: "Passed",
  fail: "Not passed",
  too_close: "Too close to the limit to call: measure again",
};

async function keepNumber(entry: ProofEntry, entered: Entered | "OL"): Promise<void> {
  const result = entered === "OL" ? "fail" : judged(entry, entered);
  const number =
    entered === "OL"
      ? {}
      : {
          value: entered.value,
          unit: entered.unit,
          si_value: entered.siValue,
          ...printedField(entered),
        };
  if (!(await desk.say("proof_done", { proof_id: entry.id, result, ...number }))) return;
  const shown = entered === "OL" ? "OL" : numberWords(entered.value, entered.unit, entered.printed);
  desk.notice.value = `${JUDGED[result]}: ${entry.title}, ${shown}. Passes at: ${entry.limits}`;
}

/** How a measured proof came out; within its uncertainty of a limit it is too close to call. */
export function judged(entry: ProofEntry, { siValue, value, printed }: Entered): ProofResult {
  const form = entry.number;
  if (form === null) return "too_close";
  const kept = asModelled(form, siValue, value, printed) * form.factor + form.offset;
  for (const limit of [entry.low, entry.high]) {
    if (limit !== null && Math.abs(kept - limit) < entry.uncertainty) return "too_close";
  }
  const below = entry.low !== null && kept < entry.low;
  const above = entry.high !== null && kept >= entry.high;
  return below || above ? "fail" : "pass";
}

/** Nothing here pays for itself any more, or all is proven: what now. */
export function LeaveStep({ guide, step }: Props) {
  const { callId } = guide.state;
  const waiting = guide.state.timeline.filter((entry) => entry.kind === "step_deferred");
  const standing = waiting.filter(({ body }) => guide.situation.deferred.has(body.step_id));
  const done = step.kind === "stop";
  const leading = guide.causes.roots.filter((share) => share.probability > 0.5);
  const recall = async (): Promise<void> => {
    for (const { eventId } of standing) await desk.takeBack(eventId);
  };
  const results = latestResults(guide.state);
  const open = [...results].filter(([, result]) => result !== "pass").map(([id]) => id);
  const [kicker, title] = !done
    ? ["No step here pays for itself any more", step.title]
    : open.length > 0
      ? ["Not all proven", `${open.length} of ${results.size} tests not passed yet`]
      : results.size > 0
        ? ["Proven", "Fixed and proven: finish the call"]
        : ["Nothing left to do", "It works: finish the call"];
  return (
    <>
      <StepFrame
        guide={guide}
        kicker={kicker}
        title={title}
        entry={null}
        step={null}
      >
        {!done && (
          <Shares
            rows={guide.causes.roots.slice(0, 4).map(({ id, probability }) => ({
              name: guide.title(id),
              share: probability,
            }))}
          />
        )}
        {done && results.size > 0 && <p class="quiet">Tests made: {results.size}.</p>}
        {done && !guide.situation.onPhone && (
          <section class="sheet" aria-label="Before you leave">
            <h2>Before you leave</h2>
            <ul>
              {putBackWords(guide.data, guide.situation).map((line) => (
                <li key={line}>{line}</li>
              ))}
            </ul>
          </section>
        )}
        <div class="stack tight">
          {open.map((id) => (
            <a class="button" key={id} href={`#/${callPath(callId, "find", id)}`}>
              Test again: {stepTitle(guide.data, id)} ({RESULT[results.get(id)!]})
            </a>
          ))}
          <a class="button main" href={`#/call/${callId}/end`}>
            Finish the call
          </a>
          {!done && (
            <button
              type="button"
              onClick={() =>
                void desk.say("closed", {
                  outcome: "referred",
                  causes: leading.map(({ id }) => id),
                })
              }
            >
              Hand the job over and close
            </button>
          )}
          {standing.length > 0 && (
            <button type="button" onClick={() => void recall()}>
              Bring back what was put off ({standing.length})
            </button>
          )}
        </div>
      </StepFrame>
      <Tools guide={guide} stepId="" />
    </>
  );
}
