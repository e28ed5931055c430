/** The frame of a call: what is always in sight, and the way between its pages. */

import { useEffect } from "preact/hooks";
import { desk } from "../app/desk.ts";
import type { Route } from "../app/route.ts";
import { callPath } from "../app/route.ts";
import { Icon } from "../draw/icon.tsx";
import type { IconName } from "../draw/icon.tsx";
import type { Guide } from "../engine/guide.ts";
import type { CallState } from "../trail/state.ts";
import { archetypeOf, closedOf } from "../trail/state.ts";
import { eventWords } from "../words/event_words.ts";
import { DangerStands, DangersAsked, areDangersOwed, dangersNow, dangersTold } from "./dangers.tsx";
import { DrawingsPage } from "./drawings.tsx";
import { EndPage } from "./end.tsx";
import { FindPage } from "./find.tsx";
import { KnownPage } from "./known.tsx";
import { NotePage } from "./note.tsx";
import { NowPage } from "./now.tsx";
import { Heading, Shares } from "./parts.tsx";
import { SummaryPage } from "./summary.tsx";
import { SystemPage } from "./system.tsx";
import { WhyPage } from "./why.tsx";

const TABS: readonly { readonly page: string; readonly name: string; readonly icon: IconName }[] = [
  { page: "", name: "Step", icon: "step" },
  { page: "why", name: "Why", icon: "why" },
  { page: "drawings", name: "Drawings", icon: "drawing" },
  { page: "known", name: "Known", icon: "known" },
  { page: "end", name: "Finish", icon: "end" },
];

export function CallPage({ route }: { readonly route: Route }) {
  const { callId } = route;
  useEffect(() => {
    void desk.open(callId);
  }, [callId]);
  const guide = desk.guide.value;
  const step = guide?.phase === "visit" ? (guide.plan.steps[0]?.target ?? "") : "";
  useEffect(() => window.scrollTo(0, 0), [route.page, route.rest, step, guide?.phase]);
  const state = desk.state.value;
  const data = desk.catalog.value;
  if (route.page === "system" && state?.callId === callId && data !== null) {
    return (
      <main id="main" class="page">
        <SystemPage state={state} data={data} />
      </main>
    );
  }
  if (guide === null || desk.trail.value?.callId !== callId) return <Waiting callId={callId} />;
  const { state: told } = guide;
  const dangerous = dangersNow(told, guide.dangers).length > 0 || areDangersOwed(told);
  const tabless = route.page === "now" && guide.phase !== "closed" && dangerous;
  return (
    <>
      <div class={route.page === "now" && guide.phase !== "closed" ? "broad" : ""}>
        <main id="main" class="page">
          <Page route={route} guide={guide} />
        </main>
        {route.page === "now" && guide.phase !== "closed" && <Beside guide={guide} />}
      </div>
      {!tabless && <Tabs callId={callId} page={route.page} />}
    </>
  );
}

function Page({ route, guide }: { readonly route: Route; readonly guide: Guide }) {
  switch (route.page) {
    case "why":
      return <WhyPage guide={guide} />;
    case "drawings":
      return <DrawingsPage guide={guide} shown={route.rest} />;
    case "known":
      return <KnownPage guide={guide} />;
    case "find":
      return <FindPage guide={guide} checkId={route.rest} key={route.rest} />;
    case "note":
      return <NotePage guide={guide} stepId={route.rest} />;
    case "end":
      return guide.phase === "closed" ? <SummaryPage guide={guide} /> : <EndPage guide={guide} />;
    default:
      return <NowPage guide={guide} />;
  }
}

/** Where there is room for it: the causes still open and the latest of what is known. */
function Beside({ guide }: { readonly guide: Guide }) {
  const roots = guide.causes.roots.slice(0, 6);
  const known = guide.state.timeline.filter((entry) => entry.kind !== "call_opened").slice(-6);
  return (
    <aside class="beside noprint" aria-label="At a glance">
      <section class="sheet">
        <h2>Root causes still open</h2>
        <Shares
          rows={roots.map(({ id, probability }) => ({ name: guide.title(id), share: probability }))}
        />
      </section>
      {known.length > 0 && (
        <section class="sheet">
          <h2>Latest known</h2>
          <ul>
            {known.reverse().map((entry) => (
              <li key={entry.eventId}>{eventWords(guide.data, entry)}</li>
            ))}
          </ul>
        </section>
      )}
    </aside>
  );
}

function Tabs({ callId, page }: { readonly callId: string; readonly page: string }) {
  const here = page === "now" ? "" : page;
  return (
    <nav class="tabs noprint" aria-label="Pages of the call">
      <ul>
        {TABS.map((tab) => (
          <li key={tab.page}>
            <a
              href={`#/${callPath(callId, tab.page)}`}
              aria-current={tab.page === here ? "page" : undefined}
            >
              <Icon name={tab.icon} />
              {tab.name}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}

/** Until the compiled call is here: dangers, which need none, and then what is being waited for. */
function Waiting({ callId }: { readonly callId: string }) {
  const state = desk.state.value;
  const data = desk.catalog.value;
  if (state?.callId === callId && data !== null && closedOf(state) === null) {
    const dangers = dangersNow(state, dangersTold(state, data));
    if (dangers.length > 0 || areDangersOwed(state)) {
      return (
        <main id="main" class="page">
          {dangers.length > 0 ? (
            <DangerStands state={state} data={data} dangers={dangers} />
          ) : (
            <DangersAsked data={data} />
          )}
        </main>
      );
    }
  }
  return <OneMoment state={state} />;
}

/** What is being waited for and how long it may take, and a way back. */
function OneMoment({ state }: { readonly state: CallState | null }) {
  const unknown = state !== null && archetypeOf(state) === null;
  const offline = desk.server.value === "none";
  return (
    <main id="main" class="page">
      <Heading>{unknown ? "Kind of system not known" : "One moment"}</Heading>
      <p class="tell" role="status">
        {unknown
          ? "This call names no kind of system yet."
          : desk.waiting.value ||
            (offline
              ? "There is no signal, and this device does not hold what this call needs. It goes on as soon as there is signal."
              : "Opening the call")}
      </p>
      {!unknown && !offline && (
        <p class="quiet">
          A system that nobody asked about before takes the server about a minute, up to three where
          it has much else to do. What is entered stays; you may leave this page.
        </p>
      )}
      {unknown && (
        <a class="button main" href={`#/${callPath(state.callId, "system")}`}>
          Say what kind of system it is
        </a>
      )}
      <a class="button" href="#/calls">
        Back to the calls
      </a>
    </main>
  );
}
