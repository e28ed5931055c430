/** Before leaving: what it may be, what the caller may try, what to load, time and cost. */

import { desk } from "../app/desk.ts";
import type { Guide } from "../engine/guide.ts";
import type { Item } from "../engine/loading.ts";
import type { CallOutcome } from "../trail/body.ts";
import { causeWords } from "../words/acts.ts";
import { dollars, minutes, percent } from "../words/numbers.ts";
import { KeptInMind } from "./dangers.tsx";
import { Heading, Shares } from "./parts.tsx";
import { Never } from "./steps.tsx";
import { Tools } from "./step_frame.tsx";

const MOST_TIPS = 5;
const MOST_ITEMS = 12;

export function Outlook({ guide }: { readonly guide: Guide }) {
  const { callId } = guide.state;
  const waiting = guide.state.timeline.filter((entry) => entry.kind === "step_deferred");
  const more = async (): Promise<void> => {
    for (const { eventId } of waiting) await desk.takeBack(eventId);
    await desk.say("call_opened", { site: { phone_done: false } });
  };
  const rows = [
    ...guide.causes.roots.slice(0, 5).map(({ id, probability }) => ({
      name: guide.title(id),
      share: probability,
    })),
    { name: causeWords(guide.data, "none-of-these"), share: guide.causes.other },
  ];
  return (
    <>
      <div class="stack tight">
        <p class="kicker">Before you leave</p>
        <Heading>What it may be, and what to take along</Heading>
      </div>
      <KeptInMind state={guide.state} data={guide.data} />
      <button type="button" class="main" onClick={() => void desk.say("went_to", { place: "site" })}>
        I have arrived at the house
      </button>
      <section class="sheet" aria-label="Likely causes">
        <h2>Likely causes, so far</h2>
        <Shares rows={rows} />
      </section>
      <Tips guide={guide} />
      <Load guide={guide} />
      <Range guide={guide} />
      <section class="stack tight" aria-label="Otherwise">
        <h2>Otherwise</h2>
        <button type="button" onClick={() => void more()}>
          Ask the caller more questions
        </button>
        <CloseWithout callId={callId} />
      </section>
      <Tools guide={guide} stepId="" />
    </>
  );
}

function Tips({ guide }: { readonly guide: Guide }) {
  const tips = guide.advice.slice(0, MOST_TIPS);
  if (tips.length === 0) return null;
  return (
    <section class="sheet" aria-label="What the caller may do">
      <h2>What the caller may safely do now</h2>
      <ul>
        {tips.map((tip) => (
          <li key={tip.text}>{tip.text}</li>
        ))}
      </ul>
      <Never guide={guide} />
    </section>
  );
}

function Load({ guide }: { readonly guide: Guide }) {
  const named = (kind: Item["kind"]): Item[] =>
    guide.load.filter((item) => item.kind === kind).slice(0, MOST_ITEMS);
  return (
    <section class="sheet" aria-label="Load">
      <h2>Load</h2>
      <p class="quiet small">With the chance that this call uses it.</p>
      {(["part", "tool"] as const).map((kind) => (
        <div key={kind} class="stack tight">
          <h3>{kind === "part" ? "Parts" : "Tools"}</h3>
          <ul>
            {named(kind).map((item) => (
              <li key={item.name}>
                {item.name} <span class="quiet">{percent(item.chance)}</span>
              </li>
            ))}
          </ul>
        </div>
      ))}
    </section>
  );
}

export function Range({ guide }: { readonly guide: Guide }) {
  const { ahead } = guide;
  return (
    <section class="sheet" aria-label="Time and cost">
      <h2>Time and cost to a proven fix</h2>
      <p>{spread(minutes, ahead.minutes, ahead.minutesLow, ahead.minutesHigh)}</p>
      <p>{spread(dollars, ahead.dollars, ahead.dollarsLow, ahead.dollarsHigh)}</p>
      <p class="quiet small">
        {guide.situation.onPhone ? "Driving included, at" : "At"} $
        {guide.family.dollarsPerMinute.toFixed(2)} a minute and the catalog{"\u2019"}s part prices,
        which are assumed.
        {ahead.handedOver >= 0.005 &&
          ` ${percent(ahead.handedOver)} of such calls end with work for someone else.`}
      </p>
    </section>
  );
}

/** An amount with the span of most calls like this one; one alone where they are all alike. */
function spread(write: (amount: number) => string, mean: number, low: number, high: number): string {
  if (write(low) === write(high) && write(mean) === write(low)) return `About ${write(mean)}.`;
  const beyond =
    mean > high
      ? "; a few need far more, which lifts the average above that"
      : mean < low
        ? "; a few need far less, which pulls the average below that"
        : "";
  return `About ${write(mean)} on average; 8 in 10 such calls need ${write(low)} to ${write(high)}${beyond}.`;
}

const ENDINGS: readonly (readonly [CallOutcome, string])[] = [
  ["fixed", "It works again: no visit needed"],
  ["no_fault_found", "Nothing was wrong"],
  ["referred", "Handed to somebody else"],
  ["abandoned", "The caller does not want a visit"],
];

function CloseWithout({ callId }: { readonly callId: string }) {
  return (
    <details key={callId}>
      <summary>Close the call without going</summary>
      <ul class="answers">
        {ENDINGS.map(([outcome, label]) => (
          <li key={outcome}>
            <button
              type="button"
              class="answer"
              onClick={() => void desk.say("closed", { outcome })}
            >
              <span class="label">{label}</span>
            </button>
          </li>
        ))}
      </ul>
    </details>
  );
}
