/** Dangers come first: asking for them, and what is done while one stands. */

import { desk, reported } from "../app/desk.ts";
import type { CheckEntry } from "../engine/catalog.ts";
import type { Guide } from "../engine/guide.ts";
import { CLEARED } from "../engine/guide.ts";
import { entriesOf } from "../trail/state.ts";
import { checkTitle } from "../words/event_words.ts";
import { Heading } from "./parts.tsx";
import { Tools } from "./step_frame.tsx";

/** The questions about danger that any caller is asked. */
function questions(guide: Guide): CheckEntry[] {
  return [...guide.data.checks.values()].filter(
    (check) =>
      check.phone && check.archetypes.length === 0 && check.answers.some((one) => one.danger),
  );
}

export function DangersAsked({ guide }: { readonly guide: Guide }) {
  const checks = questions(guide);
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

export function DangerStands({ guide }: { readonly guide: Guide }) {
  const ids = guide.dangers.map((reading) => reading.checkId);
  const mistaken = async (): Promise<void> => {
    for (const { body, eventId } of entriesOf(guide.state, "reading_taken")) {
      if (ids.includes(body.check_id)) await desk.takeBack(eventId);
    }
  };
  const cleared = (): Promise<boolean> =>
    desk.say("call_opened", {
      site: Object.fromEntries(ids.map((id) => [`${CLEARED}${id}`, true])),
    });
  return (
    <>
      <div class="stack tight">
        <p class="kicker">Danger</p>
        <Heading>Stop, and get out of the danger</Heading>
      </div>
      <div class="caution stack tight" role="alert">
        {ids.map((id) => (
          <strong key={id}>Reported: {checkTitle(guide.data, id)}</strong>
        ))}
        <ul>
          {guide.dangerAdvice.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
      </div>
      <ul class="answers">
        {!guide.situation.onPhone && (
          <li>
            <button type="button" class="answer" onClick={() => void cleared()}>
              <span class="label">I am on site and have dealt with it: safe to go on</span>
            </button>
          </li>
        )}
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
      <Tools guide={guide} stepId="" />
    </>
  );
}
