/** Drawings made from what is known of the system: wiring, drain, air and refrigerant. */

import { useState } from "preact/hooks";
import { AirDrawing } from "../draw/air.tsx";
import { DrainDrawing } from "../draw/drain.tsx";
import { LadderDrawing } from "../draw/ladder.tsx";
import type { Guide } from "../engine/guide.ts";
import { capital, demandWords } from "../words/acts.ts";
import { Radios } from "./begin.tsx";
import { Heading } from "./parts.tsx";

type Kind = "wiring" | "drain" | "air";

const KINDS: readonly (readonly [Kind, string])[] = [
  ["wiring", "Wiring"],
  ["drain", "Drain"],
  ["air", "Air and refrigerant"],
];

/** What stays chosen while the person goes back and forth. */
let lastKind: Kind = "wiring";

export function DrawingsPage({ guide }: { readonly guide: Guide }) {
  const [kind, setKind] = useState<Kind>(lastKind);
  const choose = (chosen: string): void => {
    lastKind = chosen as Kind;
    setKind(lastKind);
  };
  return (
    <>
      <Heading>Drawings</Heading>
      <Radios name="drawing" title="What to show" value={kind} change={choose} choices={KINDS} />
      {kind === "wiring" && <Wiring guide={guide} />}
      {kind === "drain" && <DrainDrawing guide={guide} />}
      {kind === "air" && <AirDrawing guide={guide} />}
      <p class="quiet small">
        Drawn for the way this system is built as far as known, and for the rest as is likeliest.
      </p>
    </>
  );
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
      <Radios
        name="demand"
        title="While the thermostat asks for"
        value={model.demand}
        change={setDemand}
        choices={ladders.map((one) => [one.demand, capital(demandWords(one.demand))] as const)}
      />
      <LadderDrawing guide={guide} model={model} key={model.demand} />
    </>
  );
}
