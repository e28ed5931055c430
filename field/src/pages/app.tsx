/** The whole app: the bar at the top, and the page the address names. */

import { useEffect } from "preact/hooks";
import { desk } from "../app/desk.ts";
import { route } from "../app/route.ts";
import { Mark } from "../draw/icon.tsx";
import { openedOf } from "../trail/state.ts";
import { BeginPage } from "./begin.tsx";
import { CallPage } from "./call.tsx";
import { CallsPage } from "./calls.tsx";
import { Standing, Trouble } from "./parts.tsx";

const SIGNAL = {
  unknown: "",
  there: "In touch",
  none: "No signal",
  "not-paired": "Not let in",
} as const;

/** Pages of a call as the document's title names them. */
const PAGES: Readonly<Record<string, string>> = {
  why: "Why",
  drawings: "Drawings",
  known: "What is known",
  find: "Something else",
  note: "Photo or note",
  system: "The call and its system",
  end: "Finish",
};

export function App() {
  const here = route.value;
  const inCall = here.callId !== "";
  const guide = inCall ? desk.guide.value : null;
  const signal = desk.server.value;
  const title = inCall ? `${whose() || "Call"} \u00b7 ${PAGES[here.page] ?? "Step"} \u00b7 catchpan` : "catchpan";
  useEffect(() => {
    document.title = title;
  }, [title]);
  return (
    <div class={inCall ? "call" : ""}>
      <a class="skip" href="#main" onClick={skip}>
        To the page
      </a>
      <header class="top">
        <div class="bar">
          <a class="mark" href="#/calls" aria-label="catchpan: all calls">
            <Mark />
            {!inCall && <span>catchpan</span>}
          </a>
          <span class="whose">{inCall ? whose() : ""}</span>
          <span class={`signal ${signal}`} role="status">
            {SIGNAL[signal]}
          </span>
        </div>
        {guide !== null && <Standing guide={guide} />}
      </header>
      {desk.trouble.value !== "" && (
        <div class="page told">
          <Trouble text={desk.trouble.value} dismiss={() => (desk.trouble.value = "")} />
        </div>
      )}
      {inCall && desk.notice.value !== "" && (
        <div class="page told">
          <p class="tell" role="status">
            {desk.notice.value}
          </p>
        </div>
      )}
      {signal === "not-paired" && (
        <div class="page told">
          <p class="tell">
            This device is not let in yet: open the address that the server printed once. What is
            entered meanwhile stays on this device.
          </p>
        </div>
      )}
      <Page />
    </div>
  );
}

function Page() {
  const here = route.value;
  if (!desk.ready.value) return <main id="main" class="page" aria-busy="true" />;
  if (here.callId !== "") return <CallPage route={here} />;
  return here.page === "new" ? <BeginPage /> : <CallsPage />;
}

function skip(event: MouseEvent): void {
  event.preventDefault();
  const main = document.querySelector<HTMLElement>("main h1, main");
  main?.focus();
}

function whose(): string {
  const state = desk.state.value;
  if (state === null) return "";
  const { caller, address, complaint_words } = openedOf(state);
  return caller || address || complaint_words || "Call";
}
