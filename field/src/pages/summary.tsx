/** The end of the call: for the homeowner, and for the file; prints. */

import { useState } from "preact/hooks";
import { desk } from "../app/desk.ts";
import type { Guide } from "../engine/guide.ts";
import { entriesOf, openedOf } from "../trail/state.ts";
import { kindTitle } from "../words/event_words.ts";
import { homeownerSummary, technicianSummary } from "../words/summary.ts";
import { Photos } from "./known.tsx";
import { Heading } from "./parts.tsx";

export function SummaryPage({ guide }: { readonly guide: Guide }) {
  const [forFile, setForFile] = useState(false);
  const opened = openedOf(guide.state);
  const closing = entriesOf(guide.state, "closed").pop();
  return (
    <>
      <Heading>Summary</Heading>
      <p class="quiet">
        {[opened.caller, opened.address].filter(Boolean).join(", ")}
        {opened.caller || opened.address ? ". " : ""}
        {kindTitle(guide.data, guide.archetype)}.{" "}
        {closing !== undefined && new Date(closing.at).toLocaleDateString()}
      </p>
      <section class="sheet" aria-label="For the homeowner">
        <h2>For the homeowner</h2>
        {homeownerSummary(guide).map((line) => (
          <p key={line}>{line}</p>
        ))}
      </section>
      <Photos />
      <section class="stack" aria-label="For the file">
        <label class="option noprint">
          <input
            type="checkbox"
            checked={forFile}
            onChange={(event) => setForFile(event.currentTarget.checked)}
          />
          <span>Show and print the part for the file as well</span>
        </label>
        {forFile && (
          <div class="sheet">
            <h2>For the file</h2>
            {technicianSummary(guide).map(({ heading, lines }) => (
              <div key={heading} class="stack tight">
                <h3>{heading}</h3>
                <ul>
                  {lines.map((line) => (
                    <li key={line}>{line}</li>
                  ))}
                </ul>
              </div>
            ))}
          </div>
        )}
      </section>
      <div class="tools noprint">
        <button type="button" onClick={() => window.print()}>
          Print
        </button>
        {closing !== undefined && (
          <button type="button" onClick={() => void desk.takeBack(closing.eventId)}>
            Open the call again
          </button>
        )}
      </div>
    </>
  );
}
