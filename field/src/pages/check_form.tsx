/** Entering what a check showed: an answer, or a number with its unit. */

import { useState } from "preact/hooks";
import type { Saying } from "../app/desk.ts";
import { desk } from "../app/desk.ts";
import type { CheckEntry, NumberForm, Unit } from "../engine/catalog.ts";
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
import {
  isOutside,
  keptSpanWords,
  percent,
  plainUnits,
  readNumber,
  spanWords,
} from "../words/numbers.ts";

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
  return (
    <dl class="expect">
      <dt>If all is in order</dt>
      <dd>{plainUnits(healthy)}</dd>
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
    const onPhone = guide.situation.onPhone;
    const place = onPhone ? "phone" : placeOf(guide.state);
    const body = {
      check_id: check.id,
      reported_by: onPhone ? ("caller" as const) : ("technician" as const),
      ...(place === null ? {} : { place }),
      ...observed,
    };
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
              entered === "OL"
                ? { unit: entry.number!.unit, over_limit: true }
                : { value: entered.value, unit: entered.unit, si_value: entered.siValue },
            )
          }
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

interface NumberProps {
  readonly form: NumberForm;
  readonly id: string;
  /** The span of what may be shown here, as kept; null where it is not known. */
  readonly usual: readonly [number, number] | null;
  readonly keep: (entered: Entered | "OL") => void;
}

/**
 * A number with its unit; what was typed stays, and what is wrong is said beside it. A number that
 * nothing would show here is asked back once.
 */
export function NumberEntry({ form, id, usual, keep }: NumberProps) {
  const [text, setText] = useState("");
  const [unitName, setUnitName] = useState(form.unit);
  const [wrong, setWrong] = useState("");
  const [odd, setOdd] = useState<Entered | null>(null);
  const unit = form.units.find((one) => one.name === unitName) ?? form.units[0]!;
  const anew = (): void => {
    setWrong("");
    setOdd(null);
  };
  const submit = (event: Event): void => {
    event.preventDefault();
    const overLimit = form.over_limit && /^o\.?l\.?$/i.test(text.trim());
    const entered = overLimit ? "OL" : readNumber(form, text, unit);
    if (typeof entered === "string" && entered !== "OL") {
      setWrong(entered);
      return;
    }
    if (entered !== "OL" && usual !== null && isOutside(form, usual, entered)) {
      setOdd(entered);
      setWrong(askedBack(form, usual, unit, entered));
      return;
    }
    keep(entered);
  };
  const plausible =
    usual === null
      ? `Plausible: ${spanWords(form, unit)}`
      : `To be expected here: ${keptSpanWords(form, usual, unit)}, whatever is wrong`;
  const field = `number-${id.replaceAll("/", "-")}`;
  return (
    <form class="field" onSubmit={submit} noValidate>
      <label for={field}>What the instrument shows, in {plainUnits(unit.name)}</label>
      <div class="number">
        <input
          id={field}
          type="text"
          inputMode="decimal"
          autoComplete="off"
          enterKeyHint="done"
          value={text}
          aria-invalid={wrong !== ""}
          aria-describedby={`${field}-note`}
          onInput={(event) => {
            setText(event.currentTarget.value);
            anew();
          }}
        />
        {form.units.length > 1 && (
          <select
            aria-label="Unit"
            value={unitName}
            onChange={(event) => {
              setUnitName(event.currentTarget.value);
              anew();
            }}
          >
            {form.units.map((one) => (
              <option key={one.name} value={one.name}>
                {plainUnits(one.name)}
              </option>
            ))}
          </select>
        )}
      </div>
      <span id={`${field}-note`} class={wrong === "" ? "quiet small" : "wrong"} role="status">
        {wrong === "" ? plausible : wrong}
      </span>
      <div class="row">
        <button class="main" type="submit">
          Enter the reading
        </button>
        {odd !== null && (
          <button type="button" onClick={() => keep(odd)}>
            Enter it all the same
          </button>
        )}
        {form.over_limit && (
          <button type="button" onClick={() => keep("OL")}>
            It shows OL (over limit)
          </button>
        )}
      </div>
    </form>
  );
}

/** Asks back for a number that would not be shown here whatever is wrong. */
function askedBack(
  form: NumberForm,
  usual: readonly [number, number],
  unit: Unit,
  { value, unit: written }: Entered,
): string {
  return (
    `${value} ${plainUnits(written)} is outside ${keptSpanWords(form, usual, unit)}, which is all that ` +
    "is to be expected here, whatever is wrong. Is it typed right, in the right unit?"
  );
}
