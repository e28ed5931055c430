/** The way of the air and of the refrigerant, with what is expected and what was measured. */

import type { Guide } from "../engine/guide.ts";
import { entriesOf } from "../trail/state.ts";
import { Zoomable } from "./zoomable.tsx";
import { readingWords } from "../words/event_words.ts";

interface Point {
  readonly x: number;
  readonly y: number;
  readonly name: string;
  readonly checks: readonly string[];
}

const POINTS: readonly Point[] = [
  { x: 36, y: 150, name: "Return and filter", checks: ["air/filter-look", "air/filter-pressure-drop", "air/return-pressure"] },
  { x: 96, y: 132, name: "Blower", checks: ["air/external-static", "motor/blower-amps-air-handler", "motor/blower-amps-furnace", "air/wheel-look"] },
  { x: 96, y: 78, name: "Indoor coil", checks: ["air/coil-look", "air/coil-pressure-drop", "air/coil-ice", "refrigerant/coil-temperature"] },
  { x: 96, y: 24, name: "Supply air", checks: ["air/cooling-split", "air/heating-rise", "air/supply-pressure", "air/air-at-registers"] },
  { x: 184, y: 62, name: "Suction line", checks: ["refrigerant/line-cold", "refrigerant/line-frosted"] },
  { x: 184, y: 112, name: "Liquid line and metering", checks: ["refrigerant/drier-temperature", "refrigerant/liquid-line-hot"] },
  { x: 262, y: 132, name: "Compressor", checks: ["compressor/amps", "compressor/volts", "capacitor/herm-microfarad"] },
  { x: 304, y: 62, name: "Outdoor coil and fan", checks: ["refrigerant/outdoor-coil-look", "refrigerant/discharge-air", "motor/fan-amps", "heat-pump/outdoor-ice"] },
];

export function AirDrawing({ guide }: { readonly guide: Guide }) {
  const furnace = guide.data.archetypes.get(guide.archetype)?.furnace === true;
  const taken = new Map(
    entriesOf(guide.state, "reading_taken").map((entry) => [entry.body.check_id, entry.body]),
  );
  const shown = POINTS.map((point) => ({
    ...point,
    rows: point.checks
      .filter((id) => guide.family.checks.has(id))
      .map((id) => {
        const body = taken.get(id);
        return {
          id,
          title: guide.data.checks.get(id)?.title ?? id,
          expected: guide.healthyReading(id),
          measured: body === undefined ? "" : readingWords(guide.data, body),
        };
      })
      .filter(({ expected, measured }) => expected !== "" || measured !== ""),
  }));
  return (
    <figure class="stack tight">
      <Zoomable>
        <svg
          viewBox="0 0 360 190"
          role="img"
          aria-label={`Air from the return through filter, blower${furnace ? ", furnace" : ""} and coil to the rooms; refrigerant between the indoor coil, the compressor and the outdoor coil. The numbers are listed below.`}
        >
          <path class="fill" d="M60 46 H132 V170 H60 Z" />
          <path class="line" d="M76 104 L96 62 L116 104" />
          <circle class="line" cx="96" cy="144" r="15" />
          {furnace && <path class="line accent" d="M96 126 c-5-4-3-8 0-12 c3 4 5 8 0 12 z" />}
          <path class="line" d="M60 160 H14 V176 M60 130 H14" />
          <path class="line" d="M60 46 V14 H20 M132 46 V14 H20" />
          <path class="faint" d="M44 124 V166" stroke-dasharray="3 2" />
          <path class="line accent" d="M14 148 h10 m-5-5 5 5-5 5 M58 30 h-12 m5-5-5 5 5 5" />
          <rect class="fill" x="226" y="40" width="116" height="126" rx="6" />
          <circle class="line" cx="262" cy="132" r="20" />
          <path class="line" d="M286 56 h40 M286 66 h40 M286 76 h40 M286 86 h40 M286 96 h40" />
          <path class="line" d="M304 34 v-14 m-24 0 h48" />
          <path class="line" d="M116 74 H248 V114" stroke-width="5" />
          <path class="line" d="M282 132 H334 V56 M286 96 H210 V120 H116" stroke-width="2.5" />
          <path class="fill" d="M140 114 l12 12 v-12 l-12 12 z" />
          {shown.map((point, i) => (
            <g key={point.name}>
              <circle cx={point.x} cy={point.y} r="12" class="accent" fill="var(--sheet)" stroke-width="3" />
              <text x={point.x} y={point.y + 5} text-anchor="middle" font-size="14" font-weight="700">
                {i + 1}
              </text>
            </g>
          ))}
        </svg>
      </Zoomable>
      <figcaption>
        <ol class="stack tight">
          {shown.map((point) => (
            <li key={point.name}>
              <strong>{point.name}</strong>
              {point.rows.length === 0 && <p class="quiet">Nothing to be measured here yet.</p>}
              <ul>
                {point.rows.map((row) => (
                  <li key={row.id}>
                    {row.title}:{" "}
                    {row.measured !== "" && (
                      <>
                        <strong>{row.measured}</strong>
                        {row.expected !== "" && "; "}
                      </>
                    )}
                    {row.expected !== "" && <span class="quiet">in order: {row.expected}</span>}
                  </li>
                ))}
              </ul>
            </li>
          ))}
        </ol>
      </figcaption>
    </figure>
  );
}
