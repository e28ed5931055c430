/**
 * The wiring as a ladder that runs downwards: every load, how the current gets to it and back,
 * what a meter shows at each point with everything in order and with the leading cause.
 */

import { useState } from "preact/hooks";
import type { LadderCircuit, LadderLine, LadderModel } from "../engine/compiled_call.ts";
import { rounded } from "../engine/expected.ts";
import { NO_FAULT } from "../engine/causes.ts";
import type { Guide } from "../engine/guide.ts";
import { percent } from "../words/numbers.ts";
import { PartSymbol, symbolOf } from "./symbol.tsx";

const OPEN = 2;
/** Above this a point is shown as having power (assumed). */
const LIVE_V = 5;
/** Two readings further apart than this are marked (assumed: beyond an ordinary meter's doubt). */
const DIFFERS_V = 1.5;
const STEP_PX = 14;

interface Props {
  readonly guide: Guide;
  readonly model: LadderModel;
}

export function LadderDrawing({ guide, model }: Props) {
  const lead = guide.causes.leading.id === NO_FAULT ? undefined : guide.causes.roots[0];
  const column = lead === undefined ? -1 : model.faults.indexOf(lead.id);
  const width = model.circuits.reduce((sum, circuit) => sum + circuit.lines.length, 0);
  let first = 0;
  return (
    <>
      <p class="quiet">
        Volts with everything in order
        {column >= 0 && lead !== undefined
          ? `, then with the likeliest cause: ${guide.title(lead.id)} (${percent(lead.probability)}).`
          : "."}{" "}
        Press a line for other causes.
      </p>
      {model.circuits.map((circuit) => {
        const start = first;
        first += circuit.lines.length;
        return (
          <Circuit
            key={circuit.title}
            guide={guide}
            model={model}
            circuit={circuit}
            start={start}
            width={width}
            row={column < 0 ? -1 : column + 1}
          />
        );
      })}
    </>
  );
}

interface CircuitProps extends Props {
  readonly circuit: LadderCircuit;
  /** Place of the circuit's first line among all lines. */
  readonly start: number;
  /** How many lines all circuits have. */
  readonly width: number;
  /** Row of the leading cause in the model's tables, or -1. */
  readonly row: number;
}

function Circuit({ guide, model, circuit, start, width, row }: CircuitProps) {
  const [touched, setTouched] = useState(-1);
  return (
    <section class="stack tight" aria-label={circuit.title}>
      <h2>
        {circuit.title}, {circuit.against}
      </h2>
      <ol class="ladder">
        {circuit.lines.map((line, i) => {
          const at = start + i;
          return (
            <li key={at}>
              <button
                type="button"
                class="rung"
                aria-expanded={touched === i}
                onClick={() => setTouched(touched === i ? -1 : i)}
              >
                <Rail lines={circuit.lines} at={i} model={model} column={at} />
                <span class="words">{wordsOf(line, model.position[at] ?? 0)}</span>
                <Volts model={model} width={width} column={at} row={row} />
              </button>
              {touched === i && <Causes guide={guide} model={model} width={width} column={at} />}
            </li>
          );
        })}
      </ol>
    </section>
  );
}

function wordsOf(line: LadderLine, position: number): string {
  const state = position === OPEN ? " (open)" : "";
  const [part = "", point = ""] = line.words.split(" > ");
  return point === "" ? `${part}${state}` : `${part}${state}; test point: ${point}`;
}

interface RailProps {
  readonly lines: readonly LadderLine[];
  readonly at: number;
  readonly model: LadderModel;
  readonly column: number;
}

/** The conductors that pass a row, and what stands on its own. */
function Rail({ lines, at, model, column }: RailProps) {
  const line = lines[at]!;
  const live = Math.abs(model.volts[column] ?? 0) > LIVE_V;
  const symbol = symbolOf(line.kind, line.part, line.branch);
  const deeper = at > 0 && lines[at - 1]!.depth < line.depth;
  return (
    <span class="rail" style={{ width: `${line.depth * STEP_PX + 30}px` }} aria-hidden="true">
      {Array.from({ length: line.depth + 1 }, (_, depth) =>
        depth === line.depth || goesOn(lines, at, depth) ? (
          <span
            key={depth}
            class={live ? "wire live" : "wire"}
            style={{ left: `${depth * STEP_PX + 13}px` }}
          />
        ) : null,
      )}
      {deeper && (
        <span class="branch" style={{ left: `${(line.depth - 1) * STEP_PX + 13}px` }} />
      )}
      <span class="on" style={{ left: `${line.depth * STEP_PX}px` }}>
        <PartSymbol name={symbol} open={model.position[column] === OPEN} live={live} />
      </span>
    </span>
  );
}

/** Whether a conductor of a lesser depth goes on below this line. */
function goesOn(lines: readonly LadderLine[], at: number, depth: number): boolean {
  for (const line of lines.slice(at + 1)) {
    if (line.depth < depth) return false;
    if (line.depth === depth) return true;
  }
  return false;
}

interface VoltsProps {
  readonly model: LadderModel;
  readonly width: number;
  readonly column: number;
  readonly row: number;
}

function Volts({ model, width, column, row }: VoltsProps) {
  const fine = model.volts[column] ?? 0;
  const wrong = row < 0 ? fine : (model.volts[row * width + column] ?? 0);
  const differs = Math.abs(fine - wrong) > DIFFERS_V;
  return (
    <span class="volts">
      <span>{rounded(fine)} V</span>
      {row >= 0 && (
        <span class={differs ? "differs" : "quiet"}>
          <span class="hidden">with the likeliest cause </span>
          {rounded(wrong)} V
        </span>
      )}
    </span>
  );
}

/** What a meter shows at the touched point under the leading causes. */
function Causes({
  guide,
  model,
  width,
  column,
}: {
  readonly guide: Guide;
  readonly model: LadderModel;
  readonly width: number;
  readonly column: number;
}) {
  const named = [...guide.causes.roots, ...guide.causes.consequences]
    .filter(({ id, probability }) => probability >= 0.01 && model.faults.includes(id))
    .slice(0, 6);
  return (
    <dl class="readings">
      <dt>Everything in order</dt>
      <dd>{rounded(model.volts[column] ?? 0)} V</dd>
      {named.map(({ id, probability }) => (
        <div class="contents" key={id}>
          <dt>
            {guide.title(id)} ({percent(probability)})
          </dt>
          <dd>{rounded(model.volts[(model.faults.indexOf(id) + 1) * width + column] ?? 0)} V</dd>
        </div>
      ))}
    </dl>
  );
}
