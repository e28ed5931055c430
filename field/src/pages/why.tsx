/** Why: the causes still open, why this step comes next, what does not fit together. */

import { callPath } from "../app/route.ts";
import type { Guide } from "../engine/guide.ts";
import { entriesOf } from "../trail/state.ts";
import { capital, causeWords, partWords } from "../words/acts.ts";
import { RESULT, checkTitle, readingWords } from "../words/event_words.ts";
import { dollars, percent } from "../words/numbers.ts";
import { Heading, Shares } from "./parts.tsx";
import { Range } from "./outlook.tsx";

const MOST_ROOTS = 10;
const WORTH_NAMING = 0.01;
const WORTH_GROUPING = 0.02;
const MOST_PARTS = 6;

export function WhyPage({ guide }: { readonly guide: Guide }) {
  const { causes } = guide;
  const rows = [
    ...causes.roots
      .slice(0, MOST_ROOTS)
      .map(({ id, probability }) => ({ name: guide.title(id), share: probability })),
    { name: causeWords(guide.data, "no-fault"), share: causes.noFault },
    { name: causeWords(guide.data, "none-of-these"), share: causes.other },
  ].filter(({ share }) => share >= WORTH_NAMING);
  const behind = causes.consequences.filter(({ probability }) => probability >= 0.05).slice(0, 6);
  return (
    <>
      <Heading>Why</Heading>
      <QuestionedReadings guide={guide} />
      <ConflictNotice guide={guide} />
      <section class="sheet" aria-label="Causes">
        <h2>Root causes still open</h2>
        <Shares rows={rows} />
        <p class="quiet small">
          Several may hold at once: two or more with {percent(causes.several)}.
          {guide.family.cutMass >= 0.001 &&
            ` Weighed one by one: the ${guide.family.size.toLocaleString("en-US")} likeliest ` +
              "combinations of how such a system may be built and what may be wrong with it. The " +
              `many others are each too rare to tell apart; together they make up ${percent(guide.family.cutMass)} ` +
              "of all combinations before anything is known. That is no gap in what is looked for: " +
              "every single fault is among those weighed, and every option keeps its share."}
        </p>
      </section>
      <ByPart guide={guide} />
      {behind.length > 0 && (
        <section class="sheet" aria-label="Left behind">
          <h2>What a cause may have left behind</h2>
          <Shares
            rows={behind.map(({ id, probability }) => ({
              name: guide.title(id),
              share: probability,
            }))}
          />
        </section>
      )}
      {guide.phase !== "closed" && <NextStep guide={guide} />}
      {guide.phase !== "closed" && <Range guide={guide} />}
    </>
  );
}

/** The parts that may be at fault, each with its likeliest causes. */
function ByPart({ guide }: { readonly guide: Guide }) {
  const { data, causes } = guide;
  const parts = guide.parts.filter(({ probability }) => probability >= WORTH_GROUPING);
  if (parts.length === 0) return null;
  return (
    <section class="sheet" aria-label="By part">
      <h2>By part</h2>
      <ul class="parts">
        {parts.slice(0, MOST_PARTS).map(({ id, probability }) => {
          const within = causes.roots
            .filter((root) => data.faults.get(root.id)?.component === id)
            .filter((root) => root.probability >= WORTH_NAMING);
          return (
            <li key={id}>
              <div class="name">
                <strong>{capital(partWords(data, id))}</strong>
                <strong>{percent(probability)}</strong>
              </div>
              <p class="quiet">
                {within
                  .slice(0, 4)
                  .map((root) => `${guide.title(root.id)} ${percent(root.probability)}`)
                  .join("; ")}
              </p>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

function NextStep({ guide }: { readonly guide: Guide }) {
  const { explanation, plan } = guide;
  return (
    <section class="sheet" aria-label="Why this step">
      <h2>Why this comes next: {explanation.step.title}</h2>
      {explanation.why.map((line) => (
        <p key={line}>{line}</p>
      ))}
      {explanation.answers.length > 0 && (
        <>
          <h3>What each answer would mean</h3>
          <ul>
            {explanation.answers.map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ul>
        </>
      )}
      <h3>What was compared</h3>
      <ol>
        {plan.steps.map((step) => (
          <li key={step.target}>
            {step.title}{" "}
            <span class="quiet">
              {dollars(step.ownCost + step.costAfter)} expected in all
            </span>
          </li>
        ))}
      </ol>
    </section>
  );
}

/** Readings of the circuit that cannot be as they stand, the likely mistake, and where to look again. */
export function QuestionedReadings({ guide }: { readonly guide: Guide }) {
  if (guide.questions.length === 0 || guide.phase === "closed") return null;
  const taken = latestWords(guide);
  const checks = new Set(guide.questions.flatMap((question) => question.checks));
  return (
    <section class="tell trouble stack tight" aria-label="Readings to look at again">
      <h2>Readings to look at again</h2>
      <ul>
        {guide.questions.map(({ text }) => (
          <li key={text}>{text}</li>
        ))}
      </ul>
      <div class="row">
        {[...checks].map((id) => (
          <a class="button" href={`#/${callPath(guide.state.callId, "find", id)}`} key={id}>
            {checkTitle(guide.data, id)}
            {taken.has(id) && `: ${taken.get(id)}`}
          </a>
        ))}
      </div>
    </section>
  );
}

/** What was read or proven last, in words, by check or proof. */
function latestWords({ state, data }: Guide): Map<string, string> {
  const readings = entriesOf(state, "reading_taken").map(({ body }) => body);
  const proofs = entriesOf(state, "proof_done").map(({ body }) => body);
  return new Map([
    ...readings.map((body) => [body.check_id, readingWords(data, body)] as const),
    ...proofs.map((body) => [body.proof_id, RESULT[body.result]] as const),
  ]);
}

/** Readings that no world explains together, and the cheapest one to repeat. */
export function ConflictNotice({ guide }: { readonly guide: Guide }) {
  const { conflict } = guide;
  if (conflict === null || conflict.suspects.length === 0) return null;
  const latest = latestWords(guide);
  const suspects = [...new Set(conflict.suspects.map(({ reading }) => reading.checkId))];
  const repeat = conflict.repeat?.reading.checkId;
  return (
    <section class="tell trouble stack tight" aria-label="These readings do not fit together">
      <h2>These readings do not fit together</h2>
      <ul>
        {suspects.slice(0, 4).map((id) => (
          <li key={id}>
            {checkTitle(guide.data, id)}
            {latest.has(id) && `: ${latest.get(id)}`}
          </li>
        ))}
      </ul>
      {repeat !== undefined && guide.phase !== "closed" && (
        <a class="button" href={`#/${callPath(guide.state.callId, "find", repeat)}`}>
          Repeat the cheapest: {checkTitle(guide.data, repeat)}
        </a>
      )}
    </section>
  );
}
