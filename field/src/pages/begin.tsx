/** Quick start: the caller's words, what they seem to say, the kind of system; all may stay open. */

import { useMemo, useState } from "preact/hooks";
import { desk, reported } from "../app/desk.ts";
import { callPath, go } from "../app/route.ts";
import { SystemPicture } from "../draw/system_picture.tsx";
import type { Catalog } from "../engine/catalog.ts";
import { outOfSeason } from "../engine/practice.ts";
import type { Setting } from "../trail/body.ts";
import type { Match } from "../words/symptoms.ts";
import { searchSymptoms } from "../words/symptoms.ts";
import { Heading } from "./parts.tsx";
import type { People } from "./people_fields.tsx";
import { PeopleFields } from "./people_fields.tsx";

const MOST_MATCHES = 6;
/** Matches below this share of the best one's score are not shown (assumed). */
const CLOSE = 0.6;
const OLDEST = 80;

const HEATED = [
  { id: "air-conditioner-furnace", words: "By gas: flame, flue or gas pipe at the indoor unit" },
  { id: "heat-pump-air-handler", words: "By the outdoor unit too: it runs in winter" },
  { id: "air-conditioner-air-handler", words: "By electricity inside only" },
  { id: "", words: "Nobody knows" },
] as const;

/** What is taken where nobody knows the kind of system (assumed the commonest). */
const FALLBACK = "air-conditioner-furnace";
const UNSURE = "?";

export function BeginPage() {
  const data = desk.catalog.value;
  if (data === null) {
    return (
      <main id="main" class="page">
        <Heading>Begin a call</Heading>
        <p class="tell">
          This device has never been in touch with the server, so it does not know the checks and
          repairs yet. Connect once; after that, calls can begin without signal.
        </p>
      </main>
    );
  }
  return <BeginForm data={data} />;
}

function BeginForm({ data }: { readonly data: Catalog }) {
  const [words, setWords] = useState("");
  const [said, setSaid] = useState<ReadonlySet<string>>(new Set());
  const [season, setSeason] = useState("");
  const [kind, setKind] = useState("");
  const [heated, setHeated] = useState("");
  const [location, setLocation] = useState("");
  const [fields, setFields] = useState<People>({ age: "", caller: "", address: "" });
  const [wrongAge, setWrongAge] = useState("");

  const archetype = kind === UNSURE ? heated || FALLBACK : kind || FALLBACK;
  const matches = useMemo(
    () => fitting(words, data, archetype, season),
    [words, data, archetype, season],
  );
  const locations = data.archetypes.get(archetype)?.options.find((one) => one.id === "location");

  const submit = async (event: Event): Promise<void> => {
    event.preventDefault();
    const years = readAge(fields.age);
    if (typeof years === "string") {
      setWrongAge(years);
      document.getElementById("age")?.focus();
      return;
    }
    const site: Record<string, Setting> = {
      words_matched: true,
      system_is_a_guess: kind === "" || kind === UNSURE,
      ...(season === "" ? {} : { season }),
      ...(years === null ? {} : { age_years: years }),
    };
    const callId = await desk.begin({
      complaint_words: words.trim(),
      archetype,
      site,
      ...(fields.caller.trim() === "" ? {} : { caller: fields.caller.trim() }),
      ...(fields.address.trim() === "" ? {} : { address: fields.address.trim() }),
    });
    if (location !== "") await desk.say("system_described", { settings: { location } });
    const told = matches.filter((one) => said.has(one.checkId));
    await desk.sayAll(told.map((one) => reported(one.checkId, one.answerId)));
    await desk.compile();
    go(callPath(callId));
  };

  return (
    <main id="main" class="page">
      <Heading>Begin a call</Heading>
      <p class="quiet">Fill in what is known. Nothing is required; it can be put right later.</p>
      <form class="stack" onSubmit={(event) => void submit(event)} noValidate>
        <div class="field">
          <label for="words">What is wrong, in the caller{"\u2019"}s own words</label>
          <textarea
            id="words"
            value={words}
            onInput={(event) => setWords(event.currentTarget.value)}
          />
        </div>
        {matches.length > 0 && (
          <fieldset>
            <legend>Does the caller mean any of this?</legend>
            <div class="stack tight">
              {matches.map((match) => (
                <Tick
                  key={match.checkId}
                  match={match}
                  on={said.has(match.checkId)}
                  change={(on) => setSaid(toggled(said, match.checkId, on))}
                />
              ))}
            </div>
          </fieldset>
        )}
        <Radios
          name="season"
          title="Is the trouble with cooling or with heating?"
          value={season}
          change={setSeason}
          choices={[
            ["cooling", "Cooling"],
            ["heating", "Heating"],
            ["", "Both, or not known"],
          ]}
        />
        <Kinds data={data} value={kind} change={setKind} unsure={UNSURE} />
        {kind === UNSURE && (
          <Radios
            name="heated"
            title="How does this system heat the house?"
            value={heated}
            change={setHeated}
            choices={HEATED.map(({ id, words: label }) => [id, label])}
          />
        )}
        {locations !== undefined && (
          <Radios
            name="location"
            title={locations.question}
            value={location}
            change={setLocation}
            choices={[
              ...locations.values.map((one) => [one.id, one.title] as const),
              ["", "Not known"],
            ]}
          />
        )}
        <PeopleFields
          fields={fields}
          wrongAge={wrongAge}
          change={(changed) => {
            setFields({ ...fields, ...changed });
            if ("age" in changed) setWrongAge("");
          }}
        />
        <button class="main" type="submit">
          Go on
        </button>
      </form>
    </main>
  );
}

interface KindsProps {
  readonly data: Catalog;
  readonly value: string;
  readonly change: (kind: string) => void;
  /** The value of not knowing; left out where it cannot be chosen. */
  readonly unsure?: string;
}

/** The kinds of system with a picture each. */
export function Kinds({ data, value, change, unsure }: KindsProps) {
  return (
    <fieldset class="kinds">
      <legend>What kind of system is it?</legend>
      <div class="options kinds">
        {[...data.archetypes.values()].map((one) => (
          <label class="option" key={one.id}>
            <input
              type="radio"
              name="kind"
              checked={value === one.id}
              onChange={() => change(one.id)}
            />
            <span>
              <SystemPicture kind={one} />
              {one.title}
            </span>
          </label>
        ))}
        {unsure !== undefined && (
          <label class="option">
            <input
              type="radio"
              name="kind"
              checked={value === unsure}
              onChange={() => change(unsure)}
            />
            <span>Not known</span>
          </label>
        )}
      </div>
    </fieldset>
  );
}

interface RadiosProps {
  readonly name: string;
  readonly title: string;
  readonly value: string;
  readonly change: (value: string) => void;
  readonly choices: readonly (readonly [string, string])[];
}

export function Radios({ name, title, value, change, choices }: RadiosProps) {
  return (
    <fieldset>
      <legend>{title}</legend>
      <div class="options">
        {choices.map(([id, label]) => (
          <label class="option" key={id}>
            <input type="radio" name={name} checked={value === id} onChange={() => change(id)} />
            <span>{label}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

function Tick({
  match,
  on,
  change,
}: {
  readonly match: Match;
  readonly on: boolean;
  readonly change: (on: boolean) => void;
}) {
  return (
    <label class="option">
      <input
        type="checkbox"
        checked={on}
        onChange={(event) => change(event.currentTarget.checked)}
      />
      <span>
        {match.title}: {match.label}
      </span>
    </label>
  );
}

function toggled(said: ReadonlySet<string>, id: string, on: boolean): ReadonlySet<string> {
  const next = new Set(said);
  if (on) next.add(id);
  else next.delete(id);
  return next;
}

function fitting(words: string, data: Catalog, archetype: string, season: string): Match[] {
  if (words.trim().length < 3) return [];
  const other = outOfSeason(data, season || null);
  const found = searchSymptoms(words, data, archetype, 20).filter(
    (match) => match.answerId !== "" && !other.has(match.checkId),
  );
  const best = found[0]?.score ?? 0;
  return found.filter((match) => match.score >= CLOSE * best).slice(0, MOST_MATCHES);
}

/** The age in years; null where nothing was typed; a text where it cannot be one. */
export function readAge(text: string): number | null | string {
  const typed = text.trim().replace(",", ".");
  if (typed === "") return null;
  const years = Number(typed);
  if (Number.isNaN(years)) return `\u201c${text.trim()}\u201d is not a number of years, such as 12.`;
  if (years < 0 || years > OLDEST) return `An age is from 0 to ${OLDEST} years.`;
  return years;
}
