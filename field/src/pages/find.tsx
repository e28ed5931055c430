/** Something else I noticed: search all checks and enter any reading, out of order. */

import { useState } from "preact/hooks";
import { callPath, go } from "../app/route.ts";
import { TargetsBeside } from "../draw/targets.tsx";
import type { CheckEntry } from "../engine/catalog.ts";
import { SYSTEM } from "../engine/forecast.ts";
import type { Guide } from "../engine/guide.ts";
import { placeWords } from "../words/acts.ts";
import { findChecks } from "../words/checks.ts";
import { CheckForm, Expected } from "./check_form.tsx";
import { Heading } from "./parts.tsx";
import { StepFrame } from "./step_frame.tsx";
import { ProofAgain } from "./steps.tsx";

const MOST = 12;

export function FindPage({ guide, checkId }: { readonly guide: Guide; readonly checkId: string }) {
  const check = guide.family.checks.get(checkId);
  const entry = guide.data.checks.get(checkId);
  const { callId } = guide.state;
  if (check !== undefined && entry !== undefined) {
    return (
      <StepFrame
        guide={guide}
        kicker="Something else noticed"
        title={entry.ask}
        entry={entry}
        step={null}
      >
        {entry.quantity !== "history" && <Expected guide={guide} checkId={checkId} />}
        <TargetsBeside guide={guide} checkId={checkId} />
        <CheckForm
          guide={guide}
          check={check}
          entry={entry}
          forecasts={[]}
          after={() => go(callPath(callId))}
        />
      </StepFrame>
    );
  }
  const isProof = checkId === SYSTEM || guide.proof(checkId) !== null;
  return isProof ? <ProofAgain guide={guide} proofId={checkId} /> : <Search guide={guide} />;
}

function Search({ guide }: { readonly guide: Guide }) {
  const [words, setWords] = useState("");
  const known = [...guide.family.checks.values()].filter((check) => !check.proof);
  const entries = known.flatMap((check) => guide.data.checks.get(check.id) ?? []);
  const found = findChecks(words, entries, MOST);
  return (
    <>
      <Heading>Something else I noticed</Heading>
      <div class="field">
        <label for="find">What did you look at, hear or measure?</label>
        <input
          id="find"
          type="search"
          autoComplete="off"
          value={words}
          aria-describedby="find-note"
          onInput={(event) => setWords(event.currentTarget.value)}
        />
        <span id="find-note" class="quiet small" role="status">
          {noteOf(words, found.length, entries.length)}
        </span>
      </div>
      <ul class="answers">
        {found.map((entry) => (
          <li key={entry.id}>
            <Hit guide={guide} entry={entry} />
          </li>
        ))}
      </ul>
    </>
  );
}

function noteOf(words: string, found: number, all: number): string {
  if (words.trim() === "") return `Words such as: contactor coil volts. ${all} checks are known.`;
  return found === 0 ? "No check fits these words. Try the part\u2019s name." : `${found} found`;
}

function Hit({ guide, entry }: { readonly guide: Guide; readonly entry: CheckEntry }) {
  return (
    <a class="button answer" href={`#/${callPath(guide.state.callId, "find", entry.id)}`}>
      <span class="label">{entry.title}</span>
      <span class="means">{placeWords(guide.data, entry.place)}</span>
    </a>
  );
}
