/** Before the call is closed: what shows no symptom today, water damage, how it ended. */

import { useState } from "preact/hooks";
import { desk } from "../app/desk.ts";
import type { Guide } from "../engine/guide.ts";
import type { Latent } from "../engine/latent.ts";
import type { CallOutcome } from "../trail/body.ts";
import { entriesOf, latestResults, openedOf } from "../trail/state.ts";
import { small } from "../engine/explanation.ts";
import { placeWords } from "../words/acts.ts";
import { RESULT, stepTitle } from "../words/event_words.ts";
import { percent } from "../words/numbers.ts";
import { confirmedCauses, isWet, laterWords, leftForLater } from "../words/summary.ts";
import { Photos } from "./known.tsx";
import { Heading } from "./parts.tsx";
import { Tools } from "./step_frame.tsx";

/** Share from which a hidden defect is looked for before leaving (assumed). */
const WORTH_A_LOOK = 0.08;
const MOST_LATENT = 5;
const LOOKED = "looked_for:";
const WATER_ASKED = "water_damage_asked";

export function EndPage({ guide }: { readonly guide: Guide }) {
  const site = openedOf(guide.state).site;
  const waiting = worthLooking(guide).filter((one) => !(`${LOOKED}${one.id}` in site));
  const wet = isWet(guide) && !(WATER_ASKED in site);
  return (
    <>
      <Heading>Finish the call</Heading>
      <Proofs guide={guide} />
      {waiting.length > 0 && (
        <section class="stack" aria-label="What shows no symptom today">
          <h2>Before you leave: what shows no symptom today</h2>
          {waiting.map((one) => (
            <LookFor key={one.id} guide={guide} latent={one} />
          ))}
        </section>
      )}
      {wet && <Water />}
      <Photos />
      <Closing guide={guide} />
      <Tools guide={guide} stepId="" />
    </>
  );
}

/** The defects most worth a look before leaving. */
function worthLooking(guide: Guide): Latent[] {
  const seen = new Set(entriesOf(guide.state, "reading_taken").map(({ body }) => body.check_id));
  return guide.latents
    .filter((one) => one.foundBy.length > 0 && !one.foundBy.some((check) => seen.has(check)))
    .filter((one) => one.share >= WORTH_A_LOOK)
    .slice(0, MOST_LATENT);
}

function Proofs({ guide }: { readonly guide: Guide }) {
  const proofs = entriesOf(guide.state, "proof_done");
  const owed = [...guide.situation.unproven];
  return (
    <section class="sheet" aria-label="Proofs">
      <h2>Proofs</h2>
      {proofs.length === 0 && <p>Nothing was proven yet.</p>}
      <ul>
        {proofs.map(({ eventId, body }) => (
          <li key={eventId}>
            {stepTitle(guide.data, body.proof_id)}: <strong>{RESULT[body.result]}</strong>
          </li>
        ))}
        {owed.map((id) => (
          <li key={id}>{stepTitle(guide.data, id)}: still owed</li>
        ))}
        {leftForLater(guide).map((id) => (
          <li key={id}>{laterWords(guide, id)}, not today</li>
        ))}
      </ul>
    </section>
  );
}

function LookFor({ guide, latent }: { readonly guide: Guide; readonly latent: Latent }) {
  const fault = guide.data.faults.get(latent.id);
  const check = guide.data.checks.get(latent.foundBy[0] ?? "");
  const keep = async (said: "found" | "not" | "skip"): Promise<void> => {
    if (said === "found") {
      await desk.say("latent_found", { latent_id: latent.id, words: latent.title });
    }
    await desk.say("call_opened", { site: { [`${LOOKED}${latent.id}`]: said } });
  };
  return (
    <div class="sheet">
      <h3>
        {latent.title} <span class="quiet">({percent(latent.share)} likely)</span>
      </h3>
      {fault !== undefined && <p>{fault.plain}</p>}
      {check !== undefined && (
        <p class="quiet">
          Look: {check.ask} ({placeWords(guide.data, check.place)})
        </p>
      )}
      <div class="row">
        <button type="button" onClick={() => void keep("found")}>
          Found: {small(latent.title)}
        </button>
        <button type="button" onClick={() => void keep("not")}>
          All right here
        </button>
        <button type="button" onClick={() => void keep("skip")}>
          Not looked
        </button>
      </div>
    </div>
  );
}

function Water() {
  const [words, setWords] = useState("");
  const keep = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (words.trim() !== "") await desk.say("noted", { text: `Water damage: ${words.trim()}` });
    await desk.say("call_opened", { site: { [WATER_ASKED]: true } });
  };
  return (
    <form class="sheet" onSubmit={(event) => void keep(event)}>
      <h2>Water damage</h2>
      <p>Photograph what got wet. Keep out from under a bulging ceiling; no powered lights there.</p>
      <div class="field">
        <label for="water">What is wet or stained, how large, since when?</label>
        <textarea
          id="water"
          value={words}
          onInput={(event) => setWords(event.currentTarget.value)}
        />
      </div>
      <button type="submit">{words.trim() === "" ? "Nothing got wet" : "Keep this"}</button>
    </form>
  );
}

function Closing({ guide }: { readonly guide: Guide }) {
  const close = (outcome: CallOutcome): void => {
    void desk.say("closed", { outcome, causes: confirmedCauses(guide) });
  };
  const latest = latestResults(guide.state);
  const open = [...latest.values()].filter((result) => result !== "pass").length;
  const fixed =
    open > 0
      ? `It works, with ${open} of ${latest.size} tests not passed`
      : latest.size > 0
        ? "Fixed and proven"
        : "It works, nothing was proven";
  return (
    <section class="stack tight" aria-label="How the call ends">
      <h2>How does the call end?</h2>
      <button type="button" class="main" onClick={() => close("fixed")}>
        {fixed}
      </button>
      <button type="button" onClick={() => close("no_fault_found")}>
        Nothing was wrong
      </button>
      <button type="button" onClick={() => close("referred")}>
        Handed to somebody else
      </button>
      <button type="button" onClick={() => close("made_safe")}>
        Made safe, not repaired
      </button>
    </section>
  );
}
