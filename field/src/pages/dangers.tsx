/** Dangers come first: asking for them, and what is done while one stands; no compiled call is needed. */

import { desk, reported } from "../app/desk.ts";
import { dangerAdvice } from "../engine/advice.ts";
import type { Catalog, CheckEntry } from "../engine/catalog.ts";
import { CLEARED } from "../engine/guide.ts";
import type { Reading } from "../engine/reading.ts";
import { answered } from "../engine/reading.ts";
import type { CallState } from "../trail/state.ts";
import { entriesOf, openedOf, placeOf } from "../trail/state.ts";
import { checkTitle } from "../words/event_words.ts";
import { Heading } from "./parts.tsx";

/** Marks a danger that was made safe by phone: it stands again on arrival, until it is dealt with. */
const BY_PHONE = "safe_by_phone:";

/** The questions about danger that any caller is asked. */
function questions(data: Catalog): CheckEntry[] {
  return [...data.checks.values()].filter(
    (check) =>
      check.phone && check.archetypes.length === 0 && check.answers.some((one) => one.danger),
  );
}

/** The dangers that were made safe by phone. */
function madeSafe(state: CallState): Set<string> {
  const said = Object.entries(openedOf(state).site).filter(([, value]) => value === true);
  const ids = said.map(([key]) => (key.startsWith(BY_PHONE) ? key.slice(BY_PHONE.length) : ""));
  return new Set(ids.filter((id) => id !== ""));
}

/** The dangers that stop everything now: one made safe by phone does so again on site. */
export function dangersNow(state: CallState, dangers: readonly Reading[]): readonly Reading[] {
  const safe = madeSafe(state);
  return placeOf(state) === null ? dangers.filter(({ checkId }) => !safe.has(checkId)) : dangers;
}

/** The dangers reported and not cleared, as far as the words alone tell: before anything is compiled. */
export function dangersTold(state: CallState, data: Catalog): Reading[] {
  const { site } = openedOf(state);
  const latest = new Map(
    entriesOf(state, "reading_taken").map(({ body }) => [body.check_id, body.answer ?? ""]),
  );
  return [...latest]
    .filter(([id, said]) =>
      data.checks.get(id)?.answers.some((one) => one.id === said && one.danger),
    )
    .filter(([id]) => placeOf(state) === null || site[`${CLEARED}${id}`] !== true)
    .map(([id, said]) => answered(id, said));
}

/** Whether the questions about danger are still to be asked. */
export function areDangersOwed(state: CallState): boolean {
  return placeOf(state) === null && openedOf(state).site["dangers_asked"] !== true;
}

export function DangersAsked({ data }: { readonly data: Catalog }) {
  const checks = questions(data);
  const keep = (picked: string): Promise<boolean> => {
    const said = checks.flatMap((check) => {
      const dangerous = check.answers.find((one) => one.danger);
      const calm = check.answers.filter((one) => !one.danger);
      const only = picked === "" && calm.length === 1 ? calm[0] : undefined;
      const answer = check.id === picked ? dangerous : only;
      return answer === undefined ? [] : [reported(check.id, answer.id)];
    });
    return desk.sayAll([...said, ["call_opened", { site: { dangers_asked: true } }]]);
  };
  return (
    <>
      <div class="stack tight">
        <p class="kicker">First of all</p>
        <Heading>Is any of this so right now?</Heading>
      </div>
      <ul class="answers">
        {checks.map((check) => (
          <li key={check.id}>
            <button type="button" class="answer danger" onClick={() => void keep(check.id)}>
              <span class="label">{check.ask}</span>
            </button>
          </li>
        ))}
      </ul>
      <button type="button" class="main" onClick={() => void keep("")}>
        None of these
      </button>
    </>
  );
}

interface StandsProps {
  readonly state: CallState;
  readonly data: Catalog;
  readonly dangers: readonly Reading[];
}

export function DangerStands({ state, data, dangers }: StandsProps) {
  const ids = dangers.map((reading) => reading.checkId);
  const onPhone = placeOf(state) === null;
  const mistaken = async (): Promise<void> => {
    for (const { body, eventId } of entriesOf(state, "reading_taken")) {
      if (ids.includes(body.check_id)) await desk.takeBack(eventId);
    }
  };
  const marked = (prefix: string): Record<string, boolean> =>
    Object.fromEntries(ids.map((id) => [`${prefix}${id}`, true]));
  const cleared = (): Promise<boolean> => desk.say("call_opened", { site: marked(CLEARED) });
  const going = (): Promise<boolean> =>
    desk.say("call_opened", {
      site: { ...marked(BY_PHONE), dangers_asked: true, phone_done: true },
    });
  const safe = madeSafe(state);
  return (
    <>
      <div class="stack tight">
        <p class="kicker">Danger</p>
        <Heading>Stop, and get out of the danger</Heading>
      </div>
      <div class="caution stack tight" role="alert">
        {ids.map((id) => (
          <strong key={id}>
            Reported: {checkTitle(data, id)}
            {safe.has(id) && ". Made safe by phone: look for yourself before anything else"}
          </strong>
        ))}
        <ul>
          {dangerAdvice(data, dangers).map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
      </div>
      <ul class="answers">
        <li>
          {onPhone ? (
            <button type="button" class="answer" onClick={() => void going()}>
              <span class="label">Made safe by phone; going there</span>
              <span class="means">The danger is shown again on arrival, before anything else</span>
            </button>
          ) : (
            <button type="button" class="answer" onClick={() => void cleared()}>
              <span class="label">I am on site and have dealt with it: safe to go on</span>
            </button>
          )}
        </li>
        <li>
          <button
            type="button"
            class="answer"
            onClick={() => void desk.say("closed", { outcome: "made_safe" })}
          >
            <span class="label">Made safe and handed over: close the call</span>
          </button>
        </li>
        <li>
          <button type="button" class="answer" onClick={() => void mistaken()}>
            <span class="label">That was entered by mistake</span>
          </button>
        </li>
      </ul>
    </>
  );
}

/** On the way there: what was dangerous and is looked at first. */
export function KeptInMind({ state, data }: { readonly state: CallState; readonly data: Catalog }) {
  const ids = [...madeSafe(state)];
  if (ids.length === 0) return null;
  const titles = ids.map((id) => checkTitle(data, id)).join("; ");
  return (
    <p class="caution">
      <strong>{titles}.</strong> Made safe by phone; it comes first on arrival, before anything else.
    </p>
  );
}

/** Whether a danger was made safe by phone: then somebody goes there, and the caller tries nothing. */
export function isGoing(state: CallState): boolean {
  return madeSafe(state).size > 0;
}
