/** Entering what a check showed: an answer, or a number with its unit. */

import { useState } from "preact/hooks";
import type { Saying } from "../app/desk.ts";
import { desk } from "../app/desk.ts";
import { foreseen } from "../app/stepped.ts";
import type { CheckEntry } from "../engine/catalog.ts";
import { readingWithCause } from "../engine/circuit.ts";
import { shownSpan } from "../engine/expected.ts";
import type { Check } from "../engine/family.ts";
import type { Guide } from "../engine/guide.ts";
import type { Forecast } from "../engine/situation.ts";
import type { Bodies } from "../trail/body.ts";
import type { CallState, EntryOf } from "../trail/state.ts";
import { placeOf } from "../trail/state.ts";
import { small } from "../engine/explanation.ts";
import { causeWords } from "../words/acts.ts";
import { readingWords } from "../words/event_words.ts";
import type { Entered } from "../words/numbers.ts";
import { modelledPrint, percent, plainUnits } from "../words/numbers.ts";
import { NumberEntry, printedField } from "./number_entry.tsx";

/** Answers less likely than this are said to be hardly expected (assumed). */
const LIKELY = 0.005;

interface Props {
  readonly guide: Guide;
  readonly check: Check;
  readonly entry: CheckEntry;
  readonly forecasts: readonly Forecast[];
  readonly after?: () => void;
}

/** What a check shows with everything in order, and where it shows a number, with the likeliest cause. */
export function Expected({ guide, checkId }: { readonly guide: Guide; readonly checkId: string }) {
  const healthy = guide.situation.onPhone ? "" : guide.healthyReading(checkId);
  if (healthy === "") return null;
  const wrong = readingWithCause(guide, checkId);
  const lead = guide.causes.roots[0];
  const form = guide.data.checks.get(checkId)?.number ?? null;
  const print = form === null ? "" : modelledPrint(form, form.units[0]!);
  return (
    <dl class="expect">
      <dt>If all is in order</dt>
      <dd>
        {plainUnits(healthy)}
        {print !== "" && ` where ${print} ${plainUnits(form!.unit)} is printed`}
      </dd>
      {wrong !== "" && lead !== undefined && (
        <>
          <dt>
            With {small(guide.title(lead.id))} ({percent(lead.probability)})
          </dt>
          <dd>{plainUnits(wrong)}</dd>
        </>
      )}
    </dl>
  );
}

export function CheckForm({ guide, check, entry, forecasts, after }: Props) {
  const earlier = earlierReading(guide.state, check.id);
  const [replaces, setReplaces] = useState(true);
  const keep = async (observed: Partial<Bodies["reading_taken"]>): Promise<void> => {
    const body = bodyOf(guide, check.id, observed);
    const back: Saying[] =
      earlier !== undefined && replaces ? [["withdrawn", { event_id: earlier.eventId }]] : [];
    if (await desk.sayAll([...back, ["reading_taken", body]])) after?.();
  };
  const chances = new Map(forecasts.map((forecast) => [forecast.outcomeId, forecast]));
  return (
    <div class="stack">
      {earlier !== undefined && (
        <label class="option">
          <input
            type="checkbox"
            checked={replaces}
            onChange={(event) => setReplaces(event.currentTarget.checked)}
          />
          <span>
            Replace the earlier reading: {readingWords(guide.data, earlier.body)}. Without it both
            count.
          </span>
        </label>
      )}
      {entry.number !== null && (
        <NumberEntry
          form={entry.number}
          id={check.id}
          usual={shownSpan(check)}
          keep={(entered) =>
            void keep(
              entered === "OL" ? { unit: entry.number!.unit, over_limit: true } : shown(entered),
            )
          }
          typed={(entered) => foreseen(guide, bodyOf(guide, check.id, shown(entered)))}
        />
      )}
      {entry.number !== null && <p class="quiet small">Or say what it amounts to:</p>}
      <ul class="answers">
        {check.outcomes.map((outcome) => (
          <li key={outcome.id}>
            <button
              type="button"
              class={outcome.danger ? "answer danger" : "answer"}
              data-answer={outcome.id}
              onClick={() => void keep({ answer: outcome.id })}
            >
              <span class="label">{outcome.label}</span>
              <Meaning guide={guide} forecast={chances.get(outcome.id)} />
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}

function bodyOf(
  guide: Guide,
  checkId: string,
  observed: Partial<Bodies["reading_taken"]>,
): Bodies["reading_taken"] {
  const onPhone = guide.situation.onPhone;
  const place = onPhone ? "phone" : placeOf(guide.state);
  return {
    check_id: checkId,
    reported_by: onPhone ? "caller" : "technician",
    ...(place === null ? {} : { place }),
    ...observed,
  };
}

function shown(entered: Entered): Partial<Bodies["reading_taken"]> {
  const { value, unit, siValue } = entered;
  return { value, unit, si_value: siValue, ...printedField(entered) };
}

/** What this check showed last, since the last repair: after one another reading is no correction. */
function earlierReading(state: CallState, checkId: string): EntryOf<"reading_taken"> | undefined {
  const repaired = state.timeline.findLastIndex(({ kind }) => kind === "repair_done");
  return state.timeline
    .slice(repaired + 1)
    .filter((entry): entry is EntryOf<"reading_taken"> => entry.kind === "reading_taken")
    .findLast(({ body }) => body.check_id === checkId);
}

/** How likely an answer is and what it would point to. */
function Meaning({
  guide,
  forecast,
}: {
  readonly guide: Guide;
  readonly forecast: Forecast | undefined;
}) {
  if (forecast === undefined) return null;
  if (forecast.probability < LIKELY) return <span class="means">Hardly to be expected</span>;
  const chance = percent(forecast.probability);
  if (forecast.danger) {
    return <span class="means">{chance}; then stop and get out of the danger</span>;
  }
  const leads = small(causeWords(guide.data, forecast.leading));
  return (
    <span class="means">
      {chance} likely; then foremost: {leads} ({percent(forecast.share)})
    </span>
  );
}
