/** What every step shows around its own: where, what comes first, what to do, cautions, tools. */

import type { ComponentChildren } from "preact";
import { desk } from "../app/desk.ts";
import { callPath } from "../app/route.ts";
import { House } from "../draw/house.tsx";
import { Icon } from "../draw/icon.tsx";
import type { CheckEntry, ProofEntry, RepairEntry } from "../engine/catalog.ts";
import { cautions } from "../engine/expected.ts";
import type { Guide } from "../engine/guide.ts";
import type { Step } from "../engine/situation.ts";
import { actWords, demandWords, placeWords } from "../words/acts.ts";
import { dollars, minutes } from "../words/numbers.ts";
import { Heading } from "./parts.tsx";

export type StepEntry = CheckEntry | RepairEntry | ProofEntry;

interface Props {
  readonly guide: Guide;
  readonly kicker: string;
  readonly title: string;
  readonly entry: StepEntry | null;
  readonly step: Step | null;
  readonly children: ComponentChildren;
}

export function StepFrame({ guide, kicker, title, entry, step, children }: Props) {
  return (
    <>
      <div class="stack tight">
        <p class="kicker">{kicker}</p>
        <Heading>{title}</Heading>
        <StandsAt guide={guide} />
      </div>
      {entry !== null && !guide.situation.onPhone && <Where guide={guide} entry={entry} />}
      {entry !== null && <Cautions guide={guide} entry={entry} />}
      <ToDo guide={guide} entry={entry} acts={step?.first ?? []} />
      {children}
      {entry !== null && step !== null && (
        <p class="quiet small">
          This takes {entry.minutes < 1 ? "" : "about "}
          {minutes(entry.minutes)} and costs about {dollars(step.ownCost)} with
          everything it needs first.
        </p>
      )}
    </>
  );
}

/** Where the technician is, and whether there is power. */
function StandsAt({ guide }: { readonly guide: Guide }) {
  const { situation, data } = guide;
  if (situation.onPhone) return null;
  const called = situation.powerOff ? "" : demandWords(situation.demand);
  return (
    <p class="quiet">
      You are at: {placeWords(data, situation.place)} {"\u00b7"} power{" "}
      <strong>{situation.powerOff ? "off" : "ON"}</strong>
      {called === "" ? "" : `, ${called}`}
    </p>
  );
}

function Where({ guide, entry }: { readonly guide: Guide; readonly entry: StepEntry }) {
  const place = guide.data.places.get(entry.place);
  if (place === undefined) return null;
  const location = guide.likeliestSetting["location"] ?? "";
  return (
    <section class="sheet where" aria-label="Where">
      <House place={entry.place} location={location} title={place.title} />
      <div>
        <h2>{place.title}</h2>
        <p class="quiet">{place.where}</p>
      </div>
    </section>
  );
}

function Cautions({ guide, entry }: { readonly guide: Guide; readonly entry: StepEntry }) {
  const found = cautions(
    guide.data,
    entry,
    guide.archetype,
    guide.options["location"] ?? "",
    guide.situation.place !== entry.place,
  );
  if (found.length === 0 || guide.situation.onPhone) return null;
  return (
    <section class="stack tight" aria-label="Cautions">
      {found.map((one) =>
        isNew(`${guide.state.callId} ${one.id} ${entry.place}`, entry.id) ? (
          <p class="caution" key={one.id}>
            <strong>Caution: {one.title}.</strong> {one.caution}
          </p>
        ) : (
          <details class="caution" key={one.id}>
            <summary>Caution: {one.title}, as before</summary>
            <p>{one.caution}</p>
          </details>
        ),
      )}
    </section>
  );
}

/** The step at which each caution was told in full; told again in full when the app starts anew. */
const told = new Map<string, string>();

function isNew(caution: string, stepId: string): boolean {
  if (!told.has(caution)) told.set(caution, stepId);
  return told.get(caution) === stepId;
}

interface ToDoProps {
  readonly guide: Guide;
  readonly entry: StepEntry | null;
  readonly acts: readonly string[];
}

/** What comes first and what to do, as one list; on the phone what the caller is asked to do. */
function ToDo({ guide, entry, acts }: ToDoProps) {
  const onPhone = guide.situation.onPhone;
  const first = onPhone ? acts.filter((act) => act.startsWith("set the thermostat")) : acts;
  const how = entry === null ? [] : "steps" in entry ? entry.steps : entry.how;
  const tool = entry === null ? "" : toolOf(entry);
  if (first.length + how.length === 0 && tool === "") return null;
  return (
    <section class="sheet" aria-label="What to do">
      <h2>{onPhone ? "The caller does this" : "Do"}</h2>
      <ol>
        {first.map((act) => (
          <li key={act} class="first">
            {actWords(act)}
          </li>
        ))}
        {how.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ol>
      {tool !== "" && (
        <p>
          <strong>With:</strong> {tool}
        </p>
      )}
    </section>
  );
}

function toolOf(entry: StepEntry): string {
  return "load" in entry ? [...(entry.tools ?? []), ...entry.load].join(", ") : (entry.tool ?? "");
}

/** What can be done instead of answering. */
export function Tools({ guide, stepId }: { readonly guide: Guide; readonly stepId: string }) {
  const { callId } = guide.state;
  return (
    <section class="tools" aria-label="Instead of an answer">
      {stepId !== "" && (
        <button
          type="button"
          onClick={() => void desk.say("step_deferred", { step_id: stepId, reason: "not now" })}
        >
          <Icon name="later" />
          Can{"\u2019"}t now
        </button>
      )}
      <a class="button" href={`#/${callPath(callId, "find")}`}>
        <Icon name="search" />
        Something else
      </a>
      <a class="button" href={`#/${callPath(callId, "note", stepId)}`}>
        <Icon name="camera" />
        Photo, note
      </a>
      <button type="button" disabled={!desk.undoable} onClick={() => void desk.undo()}>
        <Icon name="undo" />
        Undo
      </button>
    </section>
  );
}
