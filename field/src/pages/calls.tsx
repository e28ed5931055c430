/** The first page: the calls, and a way to begin one. */

import { desk } from "../app/desk.ts";
import { callPath } from "../app/route.ts";
import type { CallLine } from "../sync/server.ts";
import { kindTitle } from "../words/event_words.ts";
import { Heading } from "./parts.tsx";

export function CallsPage() {
  const lines = desk.lines.value;
  const open = lines.filter((line) => line.status !== "closed");
  const closed = lines.filter((line) => line.status === "closed");
  return (
    <main id="main" class="page">
      <Heading>Calls</Heading>
      <a class="button main" href="#/new">
        Begin a call
      </a>
      {lines.length === 0 && (
        <p class="quiet">No call yet. Begin one: everything about it may stay unknown at first.</p>
      )}
      {!window.isSecureContext && (
        <p class="tell">
          This address is not a secure one, so the browser lets catchpan keep calls but not start
          without signal. Open the https address that the server printed.
        </p>
      )}
      <List title="Open" lines={open} />
      <List title="Closed" lines={closed} />
    </main>
  );
}

function List({ title, lines }: { readonly title: string; readonly lines: readonly CallLine[] }) {
  if (lines.length === 0) return null;
  return (
    <section class="stack tight" aria-label={title}>
      <h2>{title}</h2>
      <ul class="calls">
        {lines.map((line) => (
          <li key={line.call_id}>
            <a href={`#/${callPath(line.call_id)}`} class={line.status}>
              <strong>{line.complaint_words || "Complaint not noted"}</strong>
              <span>{[line.caller, line.address].filter(Boolean).join(", ") || "Caller not noted"}</span>
              <span class="quiet small">
                {kindOf(line)} {"\u00b7"} {when(line.last_at_utc)}
              </span>
            </a>
          </li>
        ))}
      </ul>
    </section>
  );
}

function kindOf(line: CallLine): string {
  if (line.archetype === null) return "System not known yet";
  const data = desk.catalog.value;
  return data === null ? line.archetype : kindTitle(data, line.archetype);
}

function when(utc: string): string {
  if (utc === "") return "";
  return new Date(utc).toLocaleString(undefined, {
    month: "short",
    day: "numeric",
    hour: "numeric",
    minute: "2-digit",
  });
}
