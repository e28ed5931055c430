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
import { actWords, demandWords, placeWords, small } from "../words/acts.ts";
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
      {step !== null && <First guide={guide} acts={step.first} />}
      {entry !== null && <Cautions guide={guide} entry={entry} />}
      {entry !== null && <ToDo entry={entry} />}
      {children}
      {entry !== null && step !== null && (
        <p class="quiet small">
          This takes about {minutes(entry.minutes)} and costs about {dollars(step.ownCost)} with
          everything it needs first.
        </p>
      )}
    </>
  );
}

/** What comes before a step; on the phone only what a caller is asked to do. */
function First({ guide, acts }: { readonly guide: Guide; readonly acts: readonly string[] }) {
  const onPhone = guide.situation.onPhone;
  const shown = onPhone ? acts.filter((act) => act.startsWith("set the thermostat")) : acts;
  if (shown.length === 0) return null;
  return (
    <section class="sheet" aria-label="First">
      <h2>{onPhone ? "First have the caller" : "First"}</h2>
      <ol>
        {shown.map((act) => (
          <li key={act}>{onPhone ? small(actWords(act)) : actWords(act)}</li>
        ))}
      </ol>
    </section>
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
      {found.map((one) => (
        <p class="caution" key={one.id}>
          <strong>Caution: {one.title}.</strong> {one.caution}
        </p>
      ))}
    </section>
  );
}

function ToDo({ entry }: { readonly entry: StepEntry }) {
  const how = "steps" in entry ? entry.steps : entry.how;
  const tool = "tool" in entry ? entry.tool : "load" in entry ? entry.load.join(", ") : "";
  if (how.length === 0 && tool === "") return null;
  return (
    <section class="sheet" aria-label="What to do">
      {how.length > 0 && (
        <>
          <h2>Do</h2>
          <ol>
            {how.map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ol>
        </>
      )}
      {tool !== "" && (
        <p>
          <strong>With:</strong> {tool}
        </p>
      )}
    </section>
  );
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
