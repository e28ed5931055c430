/** What is known: everything that was entered, with a way to take it back. */

import { desk } from "../app/desk.ts";
import { callPath } from "../app/route.ts";
import type { Catalog } from "../engine/catalog.ts";
import type { Guide } from "../engine/guide.ts";
import type { KeptPhoto } from "../keep/database.ts";
import type { CallState, Entry } from "../trail/state.ts";
import { fold, Trail } from "../trail/trail.ts";
import { eventWords, openedWords } from "../words/event_words.ts";
import { Heading, useImage } from "./parts.tsx";

export function KnownPage({ guide }: { readonly guide: Guide }) {
  const { state, data } = guide;
  const place = guide.situation.place || "site";
  return (
    <>
      <Heading>What is known</Heading>
      <div class="tools">
        <a class="button" href={`#/${callPath(state.callId, "find")}`}>
          Something else I noticed
        </a>
        <a class="button" href={`#/${callPath(state.callId, "note")}`}>
          Photo or note
        </a>
        <a class="button" href={`#/${callPath(state.callId, "system")}`}>
          The call and its system
        </a>
        {!guide.situation.onPhone && guide.phase === "visit" && (
          <button
            type="button"
            onClick={() =>
              void desk.say("power_set", { where: place, on: guide.situation.powerOff })
            }
          >
            {guide.situation.powerOff ? "I switched the power on" : "I switched the power off"}
          </button>
        )}
      </div>
      <ol class="trail">
        {[...state.timeline].reverse().filter(says).map((entry) => (
          <li key={entry.eventId}>
            <span>
              {eventWords(data, entry)}
              <br />
              <span class="quiet small">{clock(entry.at)}</span>
            </span>
            {entry.kind !== "call_opened" && (
              <button
                type="button"
                class="plain"
                aria-label={`Take back: ${eventWords(data, entry)}`}
                onClick={() => void desk.takeBack(entry.eventId)}
              >
                Take back
              </button>
            )}
          </li>
        ))}
      </ol>
      <TakenBack state={state} data={data} />
      <Unusable state={state} unused={guide.unused} />
      <Photos />
    </>
  );
}

/** Whether an entry says anything to a person; notes of the app to itself do not. */
function says(entry: Entry): boolean {
  return entry.kind !== "call_opened" || openedWords(desk.catalog.value!, entry.body) !== "";
}

function clock(utc: string): string {
  return new Date(utc).toLocaleTimeString(undefined, { hour: "numeric", minute: "2-digit" });
}

function TakenBack({ state, data }: { readonly state: CallState; readonly data: Catalog }) {
  const trail = desk.trail.value;
  if (trail === null || state.withdrawn.length === 0) return null;
  const events = trail.events.filter((event) => state.withdrawn.includes(event.id));
  const entries = fold(new Trail(trail.callId, events)).timeline;
  return (
    <details>
      <summary>Taken back ({entries.length})</summary>
      <ul class="trail">
        {entries.map((entry) => (
          <li key={entry.eventId}>
            <span class="gone">{eventWords(data, entry)}</span>
            <button type="button" onClick={() => void desk.restore(entry.eventId)}>
              Bring back
            </button>
          </li>
        ))}
      </ul>
    </details>
  );
}

function Unusable({
  state,
  unused,
}: {
  readonly state: CallState;
  readonly unused: readonly string[];
}) {
  if (state.unreadable.length + state.newer.length + unused.length === 0) return null;
  return (
    <details>
      <summary>Kept, but not used</summary>
      <ul>
        {state.unreadable.map((one) => (
          <li key={one.eventId}>{one.problem}</li>
        ))}
        {state.newer.map((id) => (
          <li key={id}>An entry that only a newer catchpan understands</li>
        ))}
        {unused.map((id) => (
          <li key={id}>{id}: this kind of system does not have it</li>
        ))}
      </ul>
    </details>
  );
}

export function Photos() {
  const photos = desk.photos.value;
  const state = desk.state.value;
  if (photos.length === 0 || state === null) return null;
  const taken = new Map(
    state.timeline.flatMap((entry) =>
      entry.kind === "photo_taken" ? [[entry.body.photo_id, entry.body.words ?? ""]] : [],
    ),
  );
  return (
    <section class="stack tight" aria-label="Photos">
      <h2>Photos</h2>
      <div class="photos">
        {photos
          .filter((photo) => taken.has(photo.photo_id))
          .map((photo) => (
            <Photo key={photo.photo_id} photo={photo} words={taken.get(photo.photo_id) ?? ""} />
          ))}
      </div>
    </section>
  );
}

function Photo({ photo, words }: { readonly photo: KeptPhoto; readonly words: string }) {
  const address = useImage(photo.image);
  return (
    <figure>
      {address !== "" && <img src={address} alt={words || "Photo without a note"} />}
      {words !== "" && <figcaption class="small">{words}</figcaption>}
    </figure>
  );
}
