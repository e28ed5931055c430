/** Drawings made from what is known of the system: wiring, drain, air and refrigerant. */

import type { ComponentChild } from "preact";
import { useState } from "preact/hooks";
import { callPath, go } from "../app/route.ts";
import { AirDrawing } from "../draw/air.tsx";
import { DrainDrawing } from "../draw/drain.tsx";
import { LadderDrawing } from "../draw/ladder.tsx";
import { MoistAir } from "../draw/moist_air.tsx";
import { PressureEnthalpy } from "../draw/pressure_enthalpy.tsx";
import { TargetsPage } from "../draw/targets.tsx";
import type { CircuitState } from "../engine/circuit.ts";
import { circuitOf } from "../engine/circuit.ts";
import type { Guide } from "../engine/guide.ts";
import { capital, demandWords } from "../words/acts.ts";
import { Heading } from "./parts.tsx";

type Kind = "wiring" | "drain" | "air" | "cycle" | "moist" | "targets";

const KINDS: readonly (readonly [Kind, string])[] = [
  ["wiring", "Wiring"],
  ["drain", "Drain"],
  ["air", "Air and refrigerant"],
  ["cycle", "Refrigerant cycle"],
  ["moist", "Moist air"],
  ["targets", "Today\u2019s targets"],
];

/** What stays chosen while the person goes back and forth. */
let lastKind: Kind = "wiring";

interface Props {
  readonly guide: Guide;
  /** What to show, as the address has it; empty for what was shown last. */
  readonly shown: string;
}

export function DrawingsPage({ guide, shown }: Props) {
  const named = KINDS.find(([kind]) => kind === shown);
  if (named !== undefined) lastKind = named[0];
  const kind = lastKind;
  const choose = (chosen: string): void => go(callPath(guide.state.callId, "drawings", chosen));
  return (
    <>
      <Heading>Drawings</Heading>
      <Choice id="drawing" title="Show" value={kind} change={choose} choices={KINDS} />
      {kind === "wiring" && <Wiring guide={guide} />}
      {kind === "drain" && <DrainDrawing guide={guide} />}
      {kind === "air" && <AirDrawing guide={guide} />}
      {kind === "cycle" && <Chart guide={guide} of={PressureEnthalpy} />}
      {kind === "moist" && <Chart guide={guide} of={MoistAir} />}
      {kind === "targets" && <TargetsPage guide={guide} />}
      <p class="quiet small">
        Drawn for the way this system is built as far as known, and for the rest as is likeliest.
      </p>
    </>
  );
}

interface ChoiceProps {
  readonly id: string;
  readonly title: string;
  readonly value: string;
  readonly choices: readonly (readonly [string, string])[];
  readonly change: (value: string) => void;
}

/** One of several in a single line, so that the drawing is in sight at once. */
function Choice({ id, title, value, choices, change }: ChoiceProps) {
  return (
    <div class="choice">
      <label for={id}>{title}</label>
      <select id={id} value={value} onChange={(event) => change(event.currentTarget.value)}>
        {choices.map(([name, label]) => (
          <option value={name} key={name}>
            {label}
          </option>
        ))}
      </select>
    </div>
  );
}

interface ChartProps {
  readonly guide: Guide;
  readonly of: (props: { readonly guide: Guide; readonly state: CircuitState }) => ComponentChild;
}

function Chart({ guide, of: Drawn }: ChartProps) {
  const state = circuitOf(guide);
  if (state === null) {
    return (
      <p class="tell">There is nothing to chart: the model of this system runs no refrigerant.</p>
    );
  }
  return <Drawn guide={guide} state={state} />;
}

function Wiring({ guide }: { readonly guide: Guide }) {
  const { ladders } = guide.call;
  const usual = guide.season === "heating" ? "heat" : "cool";
  const [demand, setDemand] = useState(guide.situation.demand || usual);
  const model = ladders.find((one) => one.demand === demand) ?? ladders[0];
  if (model === undefined) {
    return <p class="tell">This call was compiled without its wiring. Load it again with signal.</p>;
  }
  return (
    <>
      <Choice
        id="demand"
        title="Thermostat"
        value={model.demand}
        change={setDemand}
        choices={ladders.map((one) => [one.demand, capital(demandWords(one.demand))] as const)}
      />
      <LadderDrawing guide={guide} model={model} key={model.demand} />
    </>
  );
}
