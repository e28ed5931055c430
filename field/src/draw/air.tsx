/** The way of the air and of the refrigerant, with what is expected and what was measured. */

import type { CircuitState } from "../engine/circuit.ts";
import { circuitOf, inUsualUnit } from "../engine/circuit.ts";
import { rounded } from "../engine/expected.ts";
import type { Guide } from "../engine/guide.ts";
import { readingWords } from "../words/event_words.ts";
import { plainUnits } from "../words/numbers.ts";
import { entriesOf } from "../trail/state.ts";
import { Zoomable } from "./zoomable.tsx";

interface Point {
  readonly x: number;
  readonly y: number;
  readonly name: string;
  /** What it is in heating, where that is something else. */
  readonly inHeating?: string;
  readonly checks: readonly string[];
}

/** Checks of both demands; those of the other are left out. */
const POINTS: readonly Point[] = [
  { x: 29, y: 215, name: "Return and filter", checks: ["panel/return-air", "panel/return-wet-bulb", "air/filter-look", "air/filter-pressure-drop", "air/return-pressure"] },
  { x: 89, y: 186, name: "Blower", checks: ["air/external-static", "motor/blower-amps-air-handler", "motor/blower-amps-furnace", "air/wheel-look"] },
  { x: 89, y: 114, name: "Indoor coil", checks: ["air/coil-look", "air/coil-pressure-drop", "air/coil-ice", "refrigerant/coil-temperature", "panel/condensate"] },
  { x: 42, y: 28, name: "Supply air", checks: ["panel/supply-air", "panel/heating-supply-air", "panel/supply-wet-bulb", "air/cooling-split", "air/heating-rise", "air/supply-pressure", "air/air-at-registers"] },
  { x: 188, y: 108, name: "Suction line", inHeating: "Hot gas line to the indoor coil", checks: ["panel/suction-pressure", "panel/suction-line", "panel/superheat", "refrigerant/line-cold", "refrigerant/line-frosted"] },
  { x: 188, y: 168, name: "Liquid line and metering", checks: ["panel/liquid-pressure", "panel/liquid-line", "panel/subcooling", "panel/heating-liquid-pressure", "panel/heating-liquid-line", "panel/heating-subcooling", "refrigerant/drier-temperature", "refrigerant/liquid-line-hot"] },
  { x: 284, y: 186, name: "Compressor", inHeating: "Compressor and its common suction line", checks: ["panel/heating-suction-pressure", "panel/heating-suction-line", "panel/heating-superheat", "panel/discharge-line", "panel/heating-discharge-line", "panel/compressor-amps", "panel/heating-compressor-amps", "compressor/amps", "compressor/volts", "capacitor/herm-microfarad"] },
  { x: 320, y: 114, name: "Outdoor coil and fan", checks: ["panel/outdoor-air", "panel/outdoor-leaving", "refrigerant/outdoor-coil-look", "refrigerant/discharge-air", "motor/fan-amps", "heat-pump/outdoor-ice"] },
];

interface Place {
  readonly x: number;
  readonly y: number;
  readonly of: readonly string[];
  readonly anchor: "start" | "middle" | "end";
}

const AT_THE_COIL: readonly Place[] = [
  { x: 134, y: 32, of: ["supply_air"], anchor: "start" },
  { x: 8, y: 254, of: ["return_air", "return_wet_bulb"], anchor: "start" },
  { x: 189, y: 198, of: ["liquid_pressure", "liquid_line"], anchor: "middle" },
];

/** Where the readings of the running circuit stand in the drawing, by demand. */
const PLACES: Readonly<Record<string, readonly Place[]>> = {
  cool: [
    ...AT_THE_COIL,
    { x: 189, y: 72, of: ["suction_pressure", "suction_line"], anchor: "middle" },
    { x: 354, y: 52, of: ["outdoor_leaving"], anchor: "end" },
    { x: 352, y: 254, of: ["discharge_line", "outdoor_air"], anchor: "end" },
  ],
  heat: [
    ...AT_THE_COIL,
    { x: 189, y: 88, of: ["discharge_line"], anchor: "middle" },
    { x: 354, y: 52, of: ["outdoor_air"], anchor: "end" },
    { x: 352, y: 254, of: ["suction_pressure", "suction_line"], anchor: "end" },
  ],
};

/** In heating the gas at the compressor's inlet is named, for it stands far from where it is in cooling. */
const HEATING_NAMES: Readonly<Record<string, string>> = {
  suction_pressure: "suction",
  suction_line: "suction line",
};

const NAMES: Readonly<Record<string, string>> = {
  supply_air: "supply",
  outdoor_leaving: "leaving",
  return_air: "dry",
  return_wet_bulb: "wet",
  discharge_line: "discharge",
  outdoor_air: "outdoors",
};

/** Which way the refrigerant goes, on the gas line and on the liquid line. */
const COOLING_ARROWS = "M222 103 l6 5 -6 5 M160 163 l-6 5 6 5";
const HEATING_ARROWS = "M160 103 l-6 5 6 5 M210 163 l6 5 -6 5";

/** Whether a check is of the demand that is drawn, or of no demand. */
function belongsTo(guide: Guide, checkId: string, circuit: CircuitState | null): boolean {
  const look = guide.family.checks.get(checkId)?.look ?? null;
  if (look === null || circuit === null || look.demand === circuit.demand) return true;
  return circuit.readings.get(look.of)?.checkId === checkId;
}

export function AirDrawing({ guide }: { readonly guide: Guide }) {
  const furnace = guide.data.archetypes.get(guide.archetype)?.furnace === true;
  const circuit = circuitOf(guide);
  const isHeating = circuit?.demand === "heat";
  const taken = new Map(
    entriesOf(guide.state, "reading_taken").map((entry) => [entry.body.check_id, entry.body]),
  );
  const shown = POINTS.map((point) => ({
    ...point,
    name: isHeating ? (point.inHeating ?? point.name) : point.name,
    rows: point.checks
      .filter((id) => guide.family.checks.has(id) && belongsTo(guide, id, circuit))
      .map((id) => {
        const body = taken.get(id);
        return {
          id,
          title: guide.data.checks.get(id)?.title ?? id,
          expected: plainUnits(guide.healthyReading(id)),
          measured: body === undefined ? "" : readingWords(guide.data, body),
        };
      })
      .filter(({ expected, measured }) => expected !== "" || measured !== ""),
  }));
  return (
    <figure class="stack tight">
      <Zoomable>
        <svg
          viewBox="0 0 360 280"
          role="img"
          aria-label={`Air from the return through filter, blower${furnace ? ", furnace" : ""} and coil to the rooms; refrigerant between the indoor coil, the compressor and the outdoor coil${circuit === null ? "" : isHeating ? ", hot gas to the indoor coil as in heating" : ", cold gas from the indoor coil as in cooling"}. The numbers are listed below.`}
        >
          <path class="fill" d="M52 62 H126 V224 H52 Z" />
          <path class="line" d="M68 138 L89 88 L110 138" />
          <circle class="line" cx="89" cy="186" r="18" />
          {furnace && <path class="line accent" d="M89 162 c-5-4-3-8 0-12 c3 4 5 8 0 12 z" />}
          <path class="line" d="M52 62 V40 H10 M126 62 V16 H10" />
          <path class="line" d="M52 194 H10 M52 236 H10 M52 224 V236" />
          <path class="faint" d="M46 194 V236" stroke-dasharray="3 2" />
          <path class="line accent" d="M6 204 h10 m-5-5 5 5-5 5 M20 28 h-12 m5-5-5 5 5 5" />
          <rect class="fill" x="252" y="76" width="100" height="148" rx="6" />
          <circle class="line" cx="284" cy="186" r="22" />
          <path class="line" d="M300 94 h40 M300 104 h40 M300 124 h40 M300 134 h40 M300 144 h40" />
          <path class="line" d="M320 70 v-12 m-24 0 h48" />
          <path class="line accent wide" d="M108 108 H268 V168" />
          <path class="line" d="M306 186 H346 V94 M300 144 H236 V168 H120 V138 H110" />
          <path class="fill" d={isHeating ? "M238 161 l14 14 v-14 l-14 14 z" : "M132 161 l14 14 v-14 l-14 14 z"} />
          <path class="line accent" d={isHeating ? HEATING_ARROWS : COOLING_ARROWS} />
          {shown.map((point, i) => (
            <g key={point.name}>
              <circle cx={point.x} cy={point.y} r="12" class="accent" fill="var(--sheet)" stroke-width="3" />
              <text x={point.x} y={point.y + 5} text-anchor="middle" font-size="14" font-weight="700">
                {i + 1}
              </text>
            </g>
          ))}
          {circuit !== null && <Values guide={guide} circuit={circuit} />}
        </svg>
      </Zoomable>
      {circuit !== null && (
        <p class="quiet small">
          {isHeating
            ? "As it runs in heating: hot gas goes to the indoor coil, liquid comes back, and the outdoor coil is cold. "
            : ""}
          In the drawing: what was read, and in brackets what a sound system shows in today{"\u2019"}s
          weather.
        </p>
      )}
      <figcaption>
        <ol class="stack tight">
          {shown.map((point) => (
            <li key={point.name}>
              <strong>{point.name}</strong>
              <Rows rows={point.rows.filter(({ measured }) => measured !== "")} />
              <Unread rows={point.rows.filter(({ measured }) => measured === "")} />
            </li>
          ))}
        </ol>
      </figcaption>
    </figure>
  );
}

interface RowOf {
  readonly id: string;
  readonly title: string;
  readonly expected: string;
  readonly measured: string;
}

function Rows({ rows }: { readonly rows: readonly RowOf[] }) {
  if (rows.length === 0) return null;
  return (
    <ul>
      {rows.map((row) => (
        <li key={row.id}>
          {row.title}: {row.measured !== "" && <strong>{row.measured}</strong>}
          {row.measured !== "" && row.expected !== "" && "; "}
          {row.expected !== "" && <span class="quiet">in order: {row.expected}</span>}
        </li>
      ))}
    </ul>
  );
}

/** What can be read here and was not, folded away so that what was read is seen first. */
function Unread({ rows }: { readonly rows: readonly RowOf[] }) {
  if (rows.length === 0) return null;
  return (
    <details>
      <summary>Not read yet ({rows.length})</summary>
      <Rows rows={rows} />
    </details>
  );
}

/** The readings of the running circuit at their places. */
function Values({ guide, circuit }: { readonly guide: Guide; readonly circuit: CircuitState }) {
  return (
    <g font-size="13">
      {(PLACES[circuit.demand] ?? []).map(({ x, y, of, anchor }) => (
        <text x={x} y={y} text-anchor={anchor} key={of.join()}>
          {of.map((name, i) => (
            <Value guide={guide} circuit={circuit} name={name} x={x} line={i} key={name} />
          ))}
        </text>
      ))}
    </g>
  );
}

function Value({
  guide,
  circuit,
  name,
  x,
  line,
}: {
  readonly guide: Guide;
  readonly circuit: CircuitState;
  readonly name: string;
  readonly x: number;
  readonly line: number;
}) {
  const reading = circuit.readings.get(name);
  if (reading === undefined) return null;
  const { checkId, measured, inOrder } = reading;
  const unit = guide.data.checks.get(checkId)?.number?.unit ?? "";
  const shown = (kept: number): string => rounded(inUsualUnit(guide.data, checkId, kept));
  const order = inOrder === null ? "" : shown(inOrder.mean);
  const named = NAMES[name] ?? (circuit.demand === "heat" ? HEATING_NAMES[name] : undefined);
  return (
    <tspan x={x} dy={line === 0 ? 0 : 17}>
      {named !== undefined && <tspan class="soft">{named} </tspan>}
      {measured !== null && <tspan font-weight="700">{`${shown(measured)} ${unit} `}</tspan>}
      {order !== "" && <tspan class="soft">{measured === null ? `(${order} ${unit})` : `(${order})`}</tspan>}
    </tspan>
  );
}
