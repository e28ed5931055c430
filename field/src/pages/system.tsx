/** What is known of the call and its system, to be put right when it is seen. */

import { useState } from "preact/hooks";
import { desk } from "../app/desk.ts";
import { callPath, go } from "../app/route.ts";
import type { Catalog } from "../engine/catalog.ts";
import type { Setting } from "../trail/body.ts";
import type { CallState } from "../trail/state.ts";
import { archetypeOf, openedOf, settingsOf } from "../trail/state.ts";
import { Kinds, Radios, readAge } from "./begin.tsx";
import { Heading } from "./parts.tsx";
import type { People } from "./people_fields.tsx";
import { PeopleFields } from "./people_fields.tsx";

const UNKNOWN = "unknown";

export function SystemPage({ state, data }: { readonly state: CallState; readonly data: Catalog }) {
  const opened = openedOf(state);
  const [kind, setKind] = useState(archetypeOf(state) ?? "");
  const [season, setSeason] = useState(String(opened.site["season"] ?? ""));
  const [settings, setSettings] = useState(settingsOf(state));
  const [fields, setFields] = useState<People>({
    age: String(opened.site["age_years"] ?? "").replace(UNKNOWN, ""),
    caller: opened.caller ?? "",
    address: opened.address ?? "",
  });
  const [wrongAge, setWrongAge] = useState("");
  const options = data.archetypes.get(kind)?.options ?? [];

  const keep = async (event: Event): Promise<void> => {
    event.preventDefault();
    const years = readAge(fields.age);
    if (typeof years === "string") {
      setWrongAge(years);
      document.getElementById("age")?.focus();
      return;
    }
    const site: Record<string, Setting> = {
      system_is_a_guess: kind === "",
      ...(season === "" ? {} : { season }),
      ...(years === null ? {} : { age_years: years }),
    };
    const told = await desk.say("call_opened", {
      caller: fields.caller.trim(),
      address: fields.address.trim(),
      site,
      ...(kind === "" ? {} : { archetype: kind }),
    });
    const known = Object.fromEntries(options.map(({ id }) => [id, settings[id] ?? UNKNOWN]));
    if (!told || !(await desk.say("system_described", { settings: known }))) return;
    void desk.compileAnew();
    go(callPath(state.callId));
  };

  return (
    <form class="stack" onSubmit={(event) => void keep(event)} noValidate>
      <Heading>The call and its system</Heading>
      <Kinds data={data} value={kind} change={setKind} />
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
      {options.map((option) => (
        <div class="field" key={option.id}>
          <label for={`option-${option.id}`}>{option.question}</label>
          <select
            id={`option-${option.id}`}
            value={String(settings[option.id] ?? UNKNOWN)}
            onChange={(event) =>
              setSettings({ ...settings, [option.id]: event.currentTarget.value })
            }
          >
            <option value={UNKNOWN}>Not known</option>
            {option.values.map((one) => (
              <option key={one.id} value={one.id}>
                {one.title}
              </option>
            ))}
          </select>
        </div>
      ))}
      <PeopleFields
        fields={fields}
        wrongAge={wrongAge}
        change={(changed) => {
          setFields({ ...fields, ...changed });
          if ("age" in changed) setWrongAge("");
        }}
      />
      <button class="main" type="submit">
        Keep this
      </button>
    </form>
  );
}
